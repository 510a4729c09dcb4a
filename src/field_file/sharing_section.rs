//! `[sharing]`: shares to set the ground against, sodium and drainage; `need.approach` says whether they are shown.

use super::Answer;
use super::reader::{Reader, Section, WRONG_VALUE, choice, ranged, wrong};
use crate::rates::sharing::sodium_equations::purity_percent;
use crate::rates::sharing::{
    Approach, Drainage, GypsumAtHand, ShareTargets, SharingSettings, SodiumSettings, TargetFault, TargetRow,
};

/// Printed with targets of the field file that name no source.
const OWN_TARGETS: &str = "the user's own, no source named";
/// Factor of gypsum over stoichiometry unless stated: the least of the published 1.1 to 1.3 (Oster et al. 1999 \[R\]).
const GYPSUM_FACTOR: f64 = 1.1;
/// Bulk density unless stated, g/cm3: heuristic, common of mineral soil.
const BULK_DENSITY_G_CM3: f64 = 1.3;

/// `need.approach`; sufficiency unless stated.
pub(super) fn approach<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> Approach {
    if !root.is_table("need") {
        return Approach::default();
    }
    // What else stands in `[need]` is read, and keys nobody asks for are told, where rates are read.
    let mut need = reader.section(root, "need");
    let parse = |word: &str| Approach::ALL.into_iter().find(|approach| approach.name() == word);
    match choice(reader, &mut need, "approach", parse, &Approach::ALL.map(Approach::name)) {
        Answer::Given(approach) => approach,
        Answer::Absent => {
            reader.default_row("need.approach", Approach::default().name());
            Approach::default()
        }
        Answer::Open | Answer::Unknown => Approach::default(),
    }
}

/// `[sharing]`; what it does not state is the default.
pub(super) fn sharing<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>, approach: Approach) -> SharingSettings {
    let mut section = reader.section(root, "sharing");
    let depth_in = ranged(reader, &mut section, "depth_in", 1.0, 48.0);
    if !section.has("depth_in") {
        reader.default_row("sharing.depth_in", &SharingSettings::DEPTH_IN.to_string());
    }
    let targets = targets(reader, &mut section);
    let mut sodium = sodium(reader, &mut section);
    sodium.gypsum = gypsum(reader, &mut section);
    let parse = |word: &str| match word {
        "yes" => Some(Drainage::Yes),
        "no" => Some(Drainage::No),
        _ => None,
    };
    sodium.drainage = choice(reader, &mut section, "drainage", parse, &["yes", "no"]).given().unwrap_or(Drainage::Open);
    reader.finish(section);
    SharingSettings { approach, targets, depth_in: depth_in.unwrap_or(SharingSettings::DEPTH_IN), sodium }
}

fn targets<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> ShareTargets {
    let source = reader.text(section, "targets_source");
    let list = reader.tables(section, "targets");
    let Answer::Given(list) = list else {
        let targets = ShareTargets::default();
        if matches!(list, Answer::Absent) {
            reader.default_row("sharing.targets", targets.source());
            if source.given().is_some() {
                let message = "a source is stated, but no `targets` it could be the source of".to_owned();
                wrong(reader, section, "targets_source", message);
            }
        }
        return targets;
    };
    let line = section.line_of(reader, "targets");
    let mut lines = Vec::new();
    let mut rows = Vec::new();
    for (index, value) in list.iter().enumerate() {
        let row = reader.section_of_value(value, format!("sharing.targets[{}]", index + 1));
        lines.push(row.line);
        rows.push(target_row(reader, row));
    }
    // A row with a fault of its own leaves nothing to judge.
    let Some(rows) = rows.into_iter().collect::<Option<Vec<TargetRow>>>() else { return ShareTargets::default() };
    let source = source.given().unwrap_or_else(|| OWN_TARGETS.to_owned());
    ShareTargets::new(rows, source).unwrap_or_else(|faults| {
        for fault in faults {
            let row = fault.row();
            let line = row.and_then(|row| lines.get(row - 1).copied()).unwrap_or(line);
            let path = row.map_or("sharing.targets".to_owned(), |row| format!("sharing.targets[{row}]"));
            reader.fault(&WRONG_VALUE, line, &path, fault.to_string(), help(fault));
        }
        ShareTargets::default()
    })
}

fn help(fault: TargetFault) -> &'static str {
    match fault {
        TargetFault::NoRow => "leave `targets` out for those of common practice",
        TargetFault::LastEnds { .. } => "take `up_to_cec` out of the last row",
        TargetFault::EdgesNotAscending { .. } => "write `up_to_cec` in every row but the last, rising from row to row",
        TargetFault::NoShare { .. } | TargetFault::Above100 { .. } => "shares are percent of the CEC",
        TargetFault::KUpsideDown { .. } => "write `k_percent = [3, 6]`",
    }
}

fn target_row<'a>(reader: &mut Reader<'a>, mut section: Section<'a>) -> Option<TargetRow> {
    let up_to_cec = reader.number(&mut section, "up_to_cec").given();
    let mut share = |key| {
        let answer = reader.number(&mut section, key);
        reader.required(&section, key, answer)
    };
    let (ca_percent, mg_percent) = (share("ca_percent"), share("mg_percent"));
    let k = reader.numbers(&mut section, "k_percent");
    let k = reader.required(&section, "k_percent", k);
    let k_percent = k.and_then(|k| match k[..] {
        [least, most] => Some([least, most]),
        _ => {
            let message = format!("{} figures, expected from and to, such as [3, 6]", k.len());
            wrong(reader, &section, "k_percent", message);
            None
        }
    });
    let na_most_percent = reader.number(&mut section, "na_most_percent").given();
    reader.finish(section);
    Some(TargetRow {
        up_to_cec_meq_100g: up_to_cec,
        ca_percent: ca_percent?,
        mg_percent: mg_percent?,
        k_percent: k_percent?,
        na_most_percent,
    })
}

fn sodium<'a>(reader: &mut Reader<'a>, parent: &mut Section<'a>) -> SodiumSettings {
    let mut settings = SodiumSettings::default();
    let mut section = reader.section(parent, "sodium");
    let [least, most] = SodiumSettings::FROM_PERCENT_RANGE;
    let from = ranged(reader, &mut section, "from_percent", least, most);
    let to = ranged(reader, &mut section, "to_percent", 0.0, most);
    let source = reader.text(&mut section, "source");
    if section.has("from_percent") {
        // A threshold differs from country to country, so it never stands without where it comes from.
        if let Some(source) = reader.required(&section, "source", source) {
            settings.source = source;
        }
    } else {
        reader.default_row("sharing.sodium.from_percent", &settings.from_percent.to_string());
        reader.default_row("sharing.sodium.source", &settings.source);
    }
    if !section.has("to_percent") {
        reader.default_row("sharing.sodium.to_percent", &settings.to_percent.to_string());
    }
    settings.from_percent = from.unwrap_or(settings.from_percent);
    settings.to_percent = to.unwrap_or(settings.to_percent);
    let is_told = reader.told("sharing.sodium.from_percent") || reader.told("sharing.sodium.to_percent");
    if settings.to_percent >= settings.from_percent && !is_told {
        let key = if section.has("to_percent") { "to_percent" } else { "from_percent" };
        let message = format!(
            "sodium counts as much from {} % on and is to come down to {} %, which is no less",
            settings.from_percent, settings.to_percent
        );
        wrong(reader, &section, key, message);
    }
    reader.finish(section);
    settings
}

fn gypsum<'a>(reader: &mut Reader<'a>, parent: &mut Section<'a>) -> Option<GypsumAtHand> {
    let mut section = reader.section(parent, "gypsum");
    if !section.is_there() {
        return None;
    }
    let answer = reader.number(&mut section, "purity_percent");
    let purity = reader.required(&section, "purity_percent", answer);
    let purity = purity.and_then(|purity| match purity_percent(purity) {
        Ok(purity) => Some(purity),
        Err(fault) => {
            let line = section.line_of(reader, "purity_percent");
            let help = "write percent: 90 for gypsum that is nine tenths pure";
            reader.fault(&WRONG_VALUE, line, &section.path_of("purity_percent"), fault.to_string(), help);
            None
        }
    });
    let factor = ranged(reader, &mut section, "factor", 1.0, 2.0);
    let bulk_density_g_cm3 = ranged(reader, &mut section, "bulk_density_g_cm3", 0.5, 2.0);
    let defaults = [("factor", GYPSUM_FACTOR), ("bulk_density_g_cm3", BULK_DENSITY_G_CM3)];
    for (key, value) in defaults.into_iter().filter(|(key, _)| !section.has(key)) {
        reader.default_row(&section.path_of(key), &value.to_string());
    }
    reader.finish(section);
    Some(GypsumAtHand {
        purity_percent: purity?,
        factor: factor.unwrap_or(GYPSUM_FACTOR),
        bulk_density_g_cm3: bulk_density_g_cm3.unwrap_or(BULK_DENSITY_G_CM3),
    })
}
