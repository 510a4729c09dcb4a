//! How calcium, magnesium and potassium share the ground: information, no rate.

use super::{Told, plain};
use crate::chemistry::{Cation, NO_RATE_FROM_SHARES, SHARE_EVIDENCE};
use crate::export::figure::saturation_strip::{Strip, saturation_strips};
use crate::export::in_units::InUnits;
use crate::export::page::{Block, Line};
use crate::export::sharing_words::{soil_text, why_no_targets, zone_sentences};
use crate::rates::NeedSource;
use crate::rates::sharing::ZoneSharing;
use crate::zones::ZoneSummary;

pub(super) fn blocks(told: &Told<'_>) -> Vec<Block> {
    let (Some(first), Some(zones)) = (told.sharings.first(), told.report.zones) else { return Vec::new() };
    let settings = &told.report.field_file.sharing;
    let mut blocks = vec![plain(
        "What the ground holds are mostly calcium (Ca), magnesium (Mg), potassium (K) and sodium (Na); the rest is acidity \
         and what was not measured. Each strip is 100 % of the places.",
    )];
    // Of the zone's mean parts, as the strips below.
    let words = |zone: &ZoneSummary| {
        let of_zone = told.sharings.iter().find(|sharing| sharing.zone == zone.zone);
        of_zone.and_then(ca_mg_percent).map_or(String::new(), |percent| format!("Ca + Mg {percent:.0} %"))
    };
    let drawings =
        told.drawn.zones(("shares", "Map of what calcium and magnesium take in each zone"), zones, false, &words);
    blocks.push(Block::Figure { caption: InUnits::same("Map 2. What calcium and magnesium take"), drawings });
    let strips: Vec<Strip> = told.sharings.iter().map(strip).collect();
    let alt = InUnits::same("Strips of the shares of calcium, magnesium, potassium and sodium in each zone");
    blocks.push(Block::Figure {
        caption: InUnits::same("Shares of each zone, percent of its CEC"),
        drawings: vec![saturation_strips(&strips, alt, told.lettering)],
    });
    if settings.approach.shows_targets() {
        blocks.push(match why_no_targets(first.cec_basis) {
            Some(why) => plain(why),
            None => Block::Words(InUnits::of(|units| {
                format!(
                    "Brackets: targets you chose ({}), for information; amounts are of {}. Nothing here is prescribed.",
                    settings.targets.source(),
                    soil_text(settings, units)
                )
            })),
        });
    }
    let lines = told.sharings.iter().map(|sharing| {
        let words = InUnits::of(|units| {
            let lead = lead(sharing);
            [lead].into_iter().chain(zone_sentences(sharing, settings, units)).collect::<Vec<_>>().join(" ")
        });
        let name = InUnits::same(format!("Zone {}:", sharing.zone));
        Line { id: Some(format!("shares-zone-{}", sharing.zone)), name, words }
    });
    blocks.push(Block::Lines(lines.collect()));
    blocks.push(plain(format!(
        "Shares as a goal are contested. {} {NO_RATE_FROM_SHARES}{}",
        SHARE_EVIDENCE.join(" "),
        guides(told)
    )));
    blocks
}

fn ca_mg_percent(sharing: &ZoneSharing) -> Option<f64> {
    let percent = |cation| sharing.exchange.saturation_percent(cation);
    Some(percent(Cation::Ca)? + percent(Cation::Mg)?)
}

fn lead(sharing: &ZoneSharing) -> String {
    let percent = |cation| sharing.exchange.saturation_percent(cation);
    match (ca_mg_percent(sharing), percent(Cation::K)) {
        (Some(ca_mg), Some(k)) => format!("calcium and magnesium take {ca_mg:.0} of 100 places; potassium has {k:.1}."),
        _ => "not all shares were measured.".to_owned(),
    }
}

fn strip(sharing: &ZoneSharing) -> Strip {
    let share = |cation| sharing.exchange.saturation_percent(cation);
    let mut parts: Vec<(&'static str, f64, usize)> =
        [("Ca", Cation::Ca, 0), ("Mg", Cation::Mg, 1), ("K", Cation::K, 5), ("Na", Cation::Na, 3)]
            .into_iter()
            .filter_map(|(name, cation, color)| Some((name, share(cation)?, color)))
            .collect();
    let rest = 100.0 - sharing.exchange.base_saturation_percent();
    if rest >= 0.05 {
        parts.push(("rest", rest, 2));
    }
    let targets = sharing.against.as_ref().map_or(Vec::new(), |view| {
        let row = &view.row;
        let both = row.ca_percent + row.mg_percent;
        vec![
            ("Ca", 0.0, row.ca_percent),
            ("Mg", row.ca_percent, both),
            ("K", both + row.k_percent[0], both + row.k_percent[1]),
        ]
    });
    Strip {
        words: InUnits::same(format!("Zone {}, CEC {:.1}", sharing.zone, sharing.exchange.cec_meq_100g())),
        parts,
        targets,
    }
}

/// Where the rates come from.
fn guides(told: &Told<'_>) -> String {
    let mut names: Vec<&str> = Vec::new();
    for need in &told.report.field_file.rates.needs {
        let name = match &need.source {
            NeedSource::Guide(choice) => choice.name.as_str(),
            NeedSource::Lime(lime) => lime.choice.name.as_str(),
            NeedSource::Stated(_) => need.said_by.as_deref().unwrap_or("figures stated in the field file"),
        };
        if !names.contains(&name) {
            names.push(name);
        }
    }
    if names.is_empty() { String::new() } else { format!(" The rates come from {}.", names.join(", ")) }
}
