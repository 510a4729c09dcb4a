//! `[lime]` of a guide.

use super::lime_basis::LimeBasis;
use super::lime_rule::{AcidityTarget, LimeCredit, LimeForm, LimeRule, MagnesiumLevels};
use super::lime_table::LimeTable;
use super::read_nutrient::methods;
use super::toml_walk::{Faults, Walk};
use super::{Backed, sanity};
use crate::chemistry::Buffer;
use crate::samples::Analyte;
use crate::units::SoilBasis;

/// pH a soil or a buffer may have.
const PH: [f64; 2] = [3.0, 9.0];
/// Short tons an acre a table may state.
const SHORT_TON_AC: [f64; 2] = [0.0, 100.0];

#[derive(Clone, Copy, PartialEq)]
enum FormName {
    Table,
    AcidityShare,
    AciditySteps,
}

/// The section; `None` where it is absent or has a fault that leaves it without its figures.
pub(super) fn section<'a>(root: &mut Walk<'a>, faults: &mut Faults<'_>) -> Option<LimeRule> {
    let mut walk = root.table(faults, "lime")?;
    let parse = |text: &str| match text {
        "table" => Some(FormName::Table),
        "acidity-share" => Some(FormName::AcidityShare),
        "acidity-steps" => Some(FormName::AciditySteps),
        _ => None,
    };
    let name = walk.named(faults, "rule", parse, &["table", "acidity-share", "acidity-steps"]);
    let name = walk.must(faults, "rule", name);
    let bases: Vec<&str> = LimeBasis::ALL.iter().map(|basis| basis.name()).collect();
    let basis = walk.named(faults, "basis", LimeBasis::parse, &bases);
    let basis = walk.must(faults, "basis", basis);
    let basis_tags = walk.tags(faults, "basis_tag");
    let basis_tags = walk.must(faults, "basis_tag", basis_tags);
    let depth_in = walk.number(faults, "depth_in", [1.0, 24.0]);
    let depth_in = walk.must(faults, "depth_in", depth_in);
    let depth_tags = walk.tags(faults, "depth_tag");
    let depth_tags = walk.must(faults, "depth_tag", depth_tags);
    let buffer = |text: &str| Buffer::ALL.into_iter().find(|buffer| buffer.name() == text);
    let buffers: Vec<&str> = Buffer::ALL.iter().map(|buffer| buffer.name()).collect();
    let buffers = walk.all_named(faults, "buffers", buffer, &buffers).unwrap_or_default();
    let acidity_methods = methods(&mut walk, faults, "acidity_methods", Analyte::Acidity).unwrap_or_default();
    let soil_basis = |text: &str| match text {
        "mass" => Some(SoilBasis::Mass),
        "volume" => Some(SoilBasis::Volume),
        _ => None,
    };
    let acidity_basis = walk.named(faults, "acidity_basis", soil_basis, &["mass", "volume"]);
    if name.is_some_and(|name| name != FormName::Table) {
        walk.must(faults, "acidity_basis", acidity_basis);
    }
    readings(&walk, faults, name, buffers.len(), acidity_methods.len());
    let form = match name {
        Some(FormName::Table) => table(&mut walk, faults).map(LimeForm::Table),
        Some(FormName::AcidityShare) => share(&mut walk, faults),
        Some(FormName::AciditySteps) => targets(&mut walk, faults).map(LimeForm::AciditySteps),
        None => None,
    };
    let backing = walk.backing(faults);
    let credit = walk.backed(faults, "credit", credit);
    let magnesium = walk.backed(faults, "magnesium", magnesium);
    if name.is_some() {
        walk.finish(faults);
    }
    Some(LimeRule {
        form: Backed { value: form?, backing: backing? },
        basis: basis?,
        basis_tags: basis_tags?,
        depth_in: depth_in?,
        depth_tags: depth_tags?,
        buffers,
        acidity_methods,
        acidity_basis: acidity_basis.unwrap_or(SoilBasis::Mass),
        credit,
        magnesium,
    })
}

/// A rule reads what its form can read.
fn readings(walk: &Walk<'_>, faults: &mut Faults<'_>, name: Option<FormName>, n_buffers: usize, n_acidity: usize) {
    let (key, message) = match name {
        Some(FormName::Table) if n_buffers == 0 => ("buffers", "a table reads buffer pH, but names no buffer"),
        Some(FormName::Table) if n_acidity > 0 => ("acidity_methods", "a table reads buffer pH, not an acidity"),
        Some(FormName::AcidityShare | FormName::AciditySteps) if n_buffers > 1 => {
            ("buffers", "a rule of acidity reads one buffer at most: each makes another acidity of a reading")
        }
        Some(FormName::AcidityShare | FormName::AciditySteps) if n_buffers + n_acidity == 0 => {
            ("acidity_methods", "the rule reads neither an acidity nor a buffer")
        }
        _ => return,
    };
    if faults.is_told(&walk.path_of(key)) {
        return;
    }
    walk.wrong(faults, key, message, "name what the guide reads in `buffers` or `acidity_methods`");
}

fn table(walk: &mut Walk<'_>, faults: &mut Faults<'_>) -> Option<LimeTable> {
    let target_ph = walk.numbers(faults, "target_ph", PH);
    let target_ph = walk.must(faults, "target_ph", target_ph);
    let rows = walk.rows(faults, "rows");
    let rows = walk.must(faults, "rows", rows);
    let (target_ph, rows) = (target_ph?, rows?);
    let n_before = faults.list.len();
    if target_ph.len() < 2 || target_ph.windows(2).any(|pair| pair[0] >= pair[1]) {
        walk.wrong(
            faults,
            "target_ph",
            "`lime.target_ph` does not ascend over at least two targets",
            "list them from low to high",
        );
    }
    if rows.len() < 2 {
        walk.wrong(
            faults,
            "rows",
            "`lime.rows` has fewer than two rows",
            "give one row for each buffer pH of the guide",
        );
    }
    for (line, row) in &rows {
        let asks = format!("write the buffer pH, then {} amounts in short tons", target_ph.len());
        if row.len() != target_ph.len() + 1 {
            faults.form(
                *line,
                "lime.rows",
                format!("a row of {} numbers beside {} targets", row.len(), target_ph.len()),
                asks,
            );
        } else if !(PH[0]..=PH[1]).contains(&row[0])
            || row[1..].iter().any(|t| !(SHORT_TON_AC[0]..=SHORT_TON_AC[1]).contains(t))
        {
            let message =
                format!("the row of buffer pH {} has a number outside pH 3 to 9, or 0 to 100 short tons", row[0]);
            faults.form(*line, "lime.rows", message, asks);
        }
    }
    if faults.list.len() > n_before {
        return None;
    }
    for pair in rows.windows(2).filter(|pair| pair[0].1[0] <= pair[1].1[0]) {
        let message = format!("buffer pH {} stands below {}", pair[1].1[0], pair[0].1[0]);
        faults.form(pair[1].0, "lime.rows", message, "list rows from high buffer pH to low, each once");
    }
    sanity::table(&rows, &target_ph, faults);
    let rows = rows.into_iter().map(|(_, row)| (row[0], row[1..].to_vec())).collect();
    (faults.list.len() == n_before).then_some(LimeTable { target_ph, rows })
}

fn share(walk: &mut Walk<'_>, faults: &mut Faults<'_>) -> Option<LimeForm> {
    let reference_ph = walk.number(faults, "reference_ph", PH);
    let reference_ph = walk.must(faults, "reference_ph", reference_ph);
    let short_ton_per_meq = walk.number(faults, "short_ton_per_meq", [0.0, 10.0]);
    let short_ton_per_meq = walk.must(faults, "short_ton_per_meq", short_ton_per_meq);
    Some(LimeForm::AcidityShare { reference_ph: reference_ph?, short_ton_per_meq: short_ton_per_meq? })
}

fn targets<'a>(walk: &mut Walk<'a>, faults: &mut Faults<'_>) -> Option<Vec<AcidityTarget>> {
    let tables = walk.tables(faults, "targets");
    let mut all = Vec::new();
    for mut table in walk.must(faults, "targets", tables)? {
        let ph = table.number(faults, "ph", PH);
        let ph = table.must(faults, "ph", ph);
        let lb_per_meq = table.number(faults, "lb_per_meq", [0.0, 20_000.0]);
        let lb_per_meq = table.must(faults, "lb_per_meq", lb_per_meq);
        let from_meq = table.number(faults, "from_meq", [0.0, 100.0]);
        let lb_below = table.number(faults, "lb_below", [0.0, 40_000.0]);
        let below = from_meq.zip(lb_below);
        if table.has("from_meq") != table.has("lb_below") {
            let key = if table.has("from_meq") { "lb_below" } else { "from_meq" };
            table.must(faults, key, None::<()>);
        }
        if let (Some(lb_per_meq), Some((from_meq, lb_below))) = (lb_per_meq, below)
            && lb_below > lb_per_meq * from_meq
        {
            let message = format!(
                "{lb_below} lb below an acidity of {from_meq}, but {} lb at it: more acid ground would need less",
                lb_per_meq * from_meq
            );
            faults.rises(table.line, &table.path, message, "compare the figures with the printed guide");
        }
        table.finish(faults);
        if let (Some(ph), Some(lb_per_meq)) = (ph, lb_per_meq) {
            all.push(AcidityTarget { ph, lb_per_meq, below });
        }
    }
    if all.is_empty() {
        walk.wrong(
            faults,
            "targets",
            "`lime.targets` is without a target",
            "give `{ ph = .., lb_per_meq = .. }` for each",
        );
    }
    (!all.is_empty()).then_some(all)
}

fn credit(walk: &mut Walk<'_>, faults: &mut Faults<'_>) -> Option<LimeCredit> {
    let mut must = |key: &str, range: [f64; 2]| {
        let value = walk.number(faults, key, range);
        walk.must(faults, key, value)
    };
    let percent_month_mineral = must("percent_month_mineral", [0.0, 100.0]);
    let percent_month_organic = must("percent_month_organic", [0.0, 100.0]);
    let months = must("months", [1.0, 120.0]);
    Some(LimeCredit {
        percent_month_mineral: percent_month_mineral?,
        percent_month_organic: percent_month_organic?,
        months: months?,
    })
}

fn magnesium(walk: &mut Walk<'_>, faults: &mut Faults<'_>) -> Option<MagnesiumLevels> {
    let percent_of_cec = walk.number(faults, "percent_of_cec", [0.0, 100.0]);
    let percent_of_cec = walk.must(faults, "percent_of_cec", percent_of_cec);
    let ppm = walk.number(faults, "ppm", [0.0, 2000.0]);
    let ppm = walk.must(faults, "ppm", ppm);
    Some(MagnesiumLevels { percent_of_cec: percent_of_cec?, ppm: ppm? })
}
