//! How cations share the ground, as `tables/sharing.csv`.

use super::OutputFile;
use super::tables::{figure, table, texts};
use crate::chemistry::Cation;
use crate::rates::sharing::{AgainstTargets, Mover, NoTargets, SodiumState, SumRule, ZoneSharing};

const HEADER: [&str; 33] = [
    "zone",
    "cec_meq_100g",
    "ca_percent",
    "mg_percent",
    "k_percent",
    "na_percent",
    "rest_percent",
    "ca_mg_percent",
    "limy_ground_percent",
    "target_ca_percent",
    "target_mg_percent",
    "target_k_from_percent",
    "target_k_to_percent",
    "target_na_most_percent",
    "ca_off_meq_100g",
    "mg_off_meq_100g",
    "k_off_meq_100g",
    "na_off_meq_100g",
    "ca_off_lb_ac",
    "mg_off_lb_ac",
    "k_off_lb_ac",
    "na_off_lb_ac",
    "within_map_error",
    "sum_rule",
    "info_lime_meq_100g",
    "info_gypsum_for_mg_lb_ac",
    "info_k2o_by_stoichiometry_lb_ac",
    "info_k2o_in_field_from_lb_ac",
    "info_k2o_in_field_to_lb_ac",
    "esp_percent",
    "sodium",
    "info_gypsum_for_na_short_ton_ac",
    "note",
];

/// One row a zone. What lacks is negative, what is too much positive; `info_` columns are no rates.
pub fn sharing_table(sharings: &[ZoneSharing]) -> OutputFile {
    table("sharing", &texts(&HEADER), sharings.iter().map(row).collect())
}

fn row(sharing: &ZoneSharing) -> Vec<String> {
    let parts = &sharing.exchange;
    let view = sharing.against.as_ref().ok();
    let mut row = vec![sharing.zone.to_string(), figure(Some(parts.cec_meq_100g()), 2)];
    row.extend(Cation::ALL.map(|cation| figure(parts.saturation_percent(cation), 2)));
    row.push(figure(Some(100.0 - parts.base_saturation_percent()), 2));
    row.push(figure(Some(parts.ca_mg_percent()), 2));
    row.push(figure(sharing.limy_share.map(|share| 100.0 * share), 1));
    row.push(figure(view.map(|view| view.row.ca_percent), 1));
    row.push(figure(view.map(|view| view.row.mg_percent), 1));
    row.extend([0, 1].map(|end| figure(view.map(|view| view.row.k_percent[end]), 1)));
    row.push(figure(view.and_then(|view| view.row.na_most_percent), 1));
    let of = |cation| move |view: &AgainstTargets| view.departures.iter().find(|d| d.cation == cation).copied();
    row.extend(Cation::ALL.map(|cation| figure(view.and_then(of(cation)).map(|d| d.meq_100g), 3)));
    row.extend(Cation::ALL.map(|cation| figure(view.and_then(of(cation)).map(|d| d.lb_ac), 0)));
    row.push(view.map_or(String::new(), within_error));
    row.push(view.map_or(String::new(), |view| sum_rule(&view.sum)));
    let movers = view.map_or(&[][..], |view| &view.movers);
    row.extend(mover_figures(movers));
    row.push(figure(sharing.sodium.esp_percent, 2));
    row.push(sodium(sharing.sodium.state).to_owned());
    row.push(match sharing.sodium.state {
        SodiumState::Gypsum { short_ton_ac, .. } => figure(Some(short_ton_ac), 2),
        _ => String::new(),
    });
    row.push(note(sharing).to_owned());
    row
}

/// Cations whose departure is no larger than the map's error: "Mg K".
fn within_error(view: &AgainstTargets) -> String {
    let within = view.departures.iter().filter(|departure| departure.meq_100g != 0.0 && !departure.is_told);
    within.map(|departure| departure.cation.symbol()).collect::<Vec<_>>().join(" ")
}

fn sum_rule(sum: &SumRule) -> String {
    match sum {
        SumRule::NoAcidity => "no acidity: look at magnesium alone".to_owned(),
        SumRule::Acid { most_percent, .. } => format!("at most {most_percent}"),
    }
}

fn mover_figures(movers: &[Mover]) -> [String; 5] {
    let mut figures = [const { String::new() }; 5];
    for mover in movers {
        match *mover {
            Mover::Lime { acidity_meq_100g, planned } => {
                figures[0] = figure(Some(planned.map_or(acidity_meq_100g, |planned| planned.meq_100g)), 2);
            }
            Mover::GypsumForMagnesium { lb_ac, .. } => figures[1] = figure(Some(lb_ac), 0),
            Mover::Potash { k2o_lb_ac, field_k2o_lb_ac: [from, to] } => {
                figures[2] = figure(Some(k2o_lb_ac), 0);
                figures[3] = figure(Some(from), 0);
                figures[4] = figure(Some(to), 0);
            }
            Mover::NothingBoughtMovesMagnesium => {}
        }
    }
    figures
}

/// A word for what is told of sodium.
pub(super) fn sodium(state: SodiumState) -> &'static str {
    match state {
        SodiumState::NotReported => "",
        SodiumState::Below => "below",
        SodiumState::AskSar { .. } => "much, salty: ask for SAR",
        SodiumState::NoDrainage => "much, no drainage",
        SodiumState::DrainageOpen => "much, drainage not answered",
        SodiumState::GypsumNotTold => "much, gypsum not told",
        SodiumState::Gypsum { .. } => "much",
    }
}

/// Why there are no targets, in a few words; else that nothing is prescribed.
pub(super) fn note(sharing: &ZoneSharing) -> &'static str {
    match sharing.against {
        Ok(_) => "information, nothing prescribed",
        Err(NoTargets::NotAsked) => "shares without targets",
        Err(NoTargets::Limy) => "lime in the soil: shares not to be trusted",
        Err(NoTargets::CecDoesNotFit(_)) => "targets do not fit this CEC",
    }
}
