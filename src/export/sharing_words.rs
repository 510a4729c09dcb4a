//! What is said of a zone's shares, in sentences for every page: information, nothing prescribed.

use crate::chemistry::Cation;
use crate::fields::HoldingClass;
use crate::rates::sharing::{
    AgainstTargets, CecBasis, Departure, Look, Mover, NoTargets, SharingSettings, SodiumState, SumRule, TargetRow,
    ZoneSharing,
};
use crate::units::{KG_HA_PER_LB_AC, LB_PER_SHORT_TON, UnitSystem, depth_text, thousands};

/// Sentences on one zone, each whole; none begins with the zone's name.
pub(super) fn zone_sentences(sharing: &ZoneSharing, settings: &SharingSettings, units: UnitSystem) -> Vec<String> {
    let mut text = Vec::new();
    if let Ok(view) = &sharing.against {
        against(&mut text, sharing, view, units);
    }
    lime_in_soil(&mut text, sharing, units);
    if let Some(low) = sharing.low_magnesium {
        let why = match (low.by_share, low.by_amount) {
            (true, true) => "under 5 % of the CEC and under 60 ppm",
            (true, false) => "under 5 % of the CEC",
            _ => "under 60 ppm",
        };
        text.push(format!(
            "Magnesium is low, {why}: where lime is due, take one with magnesium (Penn State Agronomy Guide)."
        ));
    }
    text.extend(sodium(sharing, settings, units));
    text.extend(look(&sharing.look));
    text
}

/// Why no zone is set against targets, said once; `None` where that is each zone's own matter.
pub(super) fn why_no_targets(basis: CecBasis) -> Option<&'static str> {
    match basis {
        CecBasis::Effective => Some(
            "The CEC is effective: it leaves out the acidity that shows at pH 7, so targets made for CEC at pH 7 do not fit.",
        ),
        CecBasis::Volume => {
            Some("The sheet is by volume of soil: targets and pounds an acre are by mass, so there are none.")
        }
        CecBasis::NotTold => Some("How the lab got its CEC is not told, so shares are not set against targets."),
        CecBasis::Summed | CecBasis::MeasuredPh7 => None,
    }
}

/// "Ca 68, Mg 12, K 3 to 6 %".
pub(super) fn target_text(row: &TargetRow) -> String {
    let [least, most] = row.k_percent;
    let na = row.na_most_percent.map_or(String::new(), |most| format!(", Na at most {most}"));
    format!("Ca {}, Mg {}, K {least} to {most}{na} %", row.ca_percent, row.mg_percent)
}

/// The soil amounts are for: "2,000,000 lb of soil an acre (0 to 7 in)".
pub(super) fn soil_text(settings: &SharingSettings, units: UnitSystem) -> String {
    let (soil_lb_ac, depth_in) = (settings.soil_lb_ac(), settings.depth_in);
    match units {
        UnitSystem::Us => {
            format!("{} lb of soil an acre ({})", thousands(soil_lb_ac, 0), depth_text([0.0, depth_in]))
        }
        UnitSystem::Si => {
            let kg_ha = thousands(soil_lb_ac * KG_HA_PER_LB_AC, 0);
            format!("{kg_ha} kg of soil a hectare (0 to {:.0} cm)", depth_in * 2.54)
        }
    }
}

fn against(text: &mut Vec<String>, sharing: &ZoneSharing, view: &AgainstTargets, units: UnitSystem) {
    let departures: Vec<String> = view.departures.iter().map(|departure| departure_text(departure, units)).collect();
    text.push(format!("Against {}: {}.", target_text(&view.row), departures.join(", ")));
    if sharing.is_limy() {
        text.push("Calcium is left out: lime lies in the soil, and the test counts it as calcium.".to_owned());
    }
    text.push(match view.sum {
        SumRule::NoAcidity => {
            "No acidity: the sum rule cannot be met without making the soil acid; look at magnesium alone.".to_owned()
        }
        SumRule::Acid { found_percent, most_percent } => {
            format!("Calcium and magnesium take {found_percent:.0} %; the sum rule is at most {most_percent:.0}.")
        }
    });
    text.extend(view.movers.iter().map(|mover| mover_text(mover, sharing, view, units)));
}

fn departure_text(departure: &Departure, units: UnitSystem) -> String {
    let name = name(departure.cation);
    let amounts = || format!("{:.2} meq ({})", departure.meq_100g.abs(), amount(departure.lb_ac.abs(), units));
    match departure {
        departure if departure.is_excess() => format!("{name} has {} too much", amounts()),
        departure if departure.is_lack() => format!("{name} lacks {}", amounts()),
        departure if departure.meq_100g != 0.0 => format!("{name} is off by no more than the map's error"),
        _ => format!("{name} lies within"),
    }
}

fn mover_text(mover: &Mover, sharing: &ZoneSharing, view: &AgainstTargets, units: UnitSystem) -> String {
    match mover {
        Mover::Lime { acidity_meq_100g, planned: None } => format!(
            "It is acid: lime, where the pH asks for it, puts up to {acidity_meq_100g:.2} meq of calcium in the place of acidity."
        ),
        Mover::Lime { planned: Some(planned), .. } => format!(
            "The lime planned for its pH, {} as calcium carbonate, brings {:.2} meq and takes calcium to {:.0} %.",
            amount(planned.lb_cce_ac, units),
            planned.meq_100g,
            planned.ca_percent_after
        ),
        Mover::GypsumForMagnesium { lb_ac, mg_is_no_less_than_ca } => {
            let is_light = HoldingClass::of(sharing.exchange.cec_meq_100g()) != HoldingClass::Much;
            let light = if is_light { ", and on light ground takes magnesium and potassium too far" } else { "" };
            let only = match mg_is_no_less_than_ca {
                true => " Magnesium is no less than calcium here, the one case in which Michigan State University names it.",
                false => "",
            };
            format!(
                "For scale, as much calcium as the magnesium in excess: {} of pure gypsum, shown, not prescribed. It works only where \
                 water leaches the magnesium out{light}.{only}",
                amount(*lb_ac, units)
            )
        }
        Mover::NothingBoughtMovesMagnesium => {
            "No fertilizer is to be counted on to move magnesium where there is no acidity; drainage, tillage that breaks the \
             packed layer and organic matter help such ground (common practice, no source)."
                .to_owned()
        }
        Mover::Potash { k2o_lb_ac, field_k2o_lb_ac: [from, to] } => format!(
            "Potassium at {} % would take {} of K2O by stoichiometry, {} to {} as soils take it up in the field: a need only \
             where the guide finds one.",
            view.row.k_percent[0],
            amount(*k2o_lb_ac, units),
            amount(*from, units).split(' ').next().unwrap_or_default(),
            amount(*to, units)
        ),
    }
}

fn lime_in_soil(text: &mut Vec<String>, sharing: &ZoneSharing, units: UnitSystem) {
    let is_summed = sharing.cec_basis == CecBasis::Summed;
    if sharing.is_limy() && is_summed {
        text.push(
            "Lime lies in the soil, and the test counts it as calcium: calcium and CEC read too high, so no share of it is to \
             be trusted. Have its CEC measured at pH 7."
                .to_owned(),
        );
    } else if let Some(share) = sharing.limy_share.filter(|share| *share >= 0.005 && !sharing.is_limy()) {
        text.push(format!("On {:.0} % of it lime lies in the soil; calcium reads too high there.", 100.0 * share));
    }
    // Who does not ask for targets does not think of making ground acid either.
    if let Some(refused) = sharing.sulfur_refused.filter(|_| sharing.against != Err(NoTargets::NotAsked)) {
        let eaten = refused
            .eaten_lb_ac
            .map_or(String::new(), |lb| format!(", which alone would eat {} of sulfur", amount(lb, units)));
        text.push(format!("Sulfur cannot make it acid: it holds free lime{eaten}."));
    }
}

fn sodium(sharing: &ZoneSharing, settings: &SharingSettings, units: UnitSystem) -> Option<String> {
    let esp = sharing.sodium.esp_percent?;
    let from = settings.sodium.from_percent;
    let head = format!("Sodium takes {esp:.1} %, much from {from} % on ({})", settings.sodium.source);
    let salts = match sharing.sodium.salts_are_known {
        true => "",
        false => " Without a conductivity, salts in the soil's water may be counted in.",
    };
    let tail = match sharing.sodium.state {
        SodiumState::NotReported | SodiumState::Below => return None,
        SodiumState::AskSar { ec_ds_m, method } => {
            return Some(format!(
                "{head}; but it is salty (conductivity {ec_ds_m:.1} dS/m, {}), so sodium of the soil's water is counted in: \
                 ask the lab for the sodium adsorption ratio first. No amount.",
                method.name()
            ));
        }
        SodiumState::NoDrainage => "it does not drain, and gypsum takes no sodium out without leaching. No amount.".to_owned(),
        SodiumState::DrainageOpen => {
            "whether it drains is not answered (`sharing.drainage`), and without leaching gypsum takes no sodium out. No amount."
                .to_owned()
        }
        SodiumState::GypsumNotTold => {
            "the gypsum at hand is not told (`sharing.gypsum`), or the sheet is by volume. No amount.".to_owned()
        }
        SodiumState::Gypsum { short_ton_ac, pure_short_ton_ac } => format!(
            "to come down to {} %: {} of the gypsum at hand (Oster et al. 1999), {} of pure gypsum by equivalents: shown, not \
             prescribed. It needs water to leach with.",
            settings.sodium.to_percent,
            tons(short_ton_ac, units),
            tons(pure_short_ton_ac, units)
        ),
    };
    Some(format!("{head}: {tail}{salts}"))
}

fn look(look: &[Look]) -> Option<String> {
    let words: Vec<&str> = look
        .iter()
        .map(|look| match look {
            Look::StickyOrPacked => "is it sticky when wet, hard when dry, packed (said of much magnesium)?",
            Look::TaprootWeeds => "do weeds with taproots stand there (said of little calcium)?",
        })
        .collect();
    (!words.is_empty()).then(|| format!("Look in the field: {} Common practice, no source.", words.join(" ")))
}

fn name(cation: Cation) -> &'static str {
    match cation {
        Cation::Ca => "calcium",
        Cation::Mg => "magnesium",
        Cation::K => "potassium",
        Cation::Na => "sodium",
    }
}

/// Pounds an acre in the printed units, to three figures: what is shown for scale is no better known.
fn amount(lb_ac: f64, units: UnitSystem) -> String {
    let (value, unit) = match units {
        UnitSystem::Us => (lb_ac, "lb/ac"),
        UnitSystem::Si => (lb_ac * KG_HA_PER_LB_AC, "kg/ha"),
    };
    let step = if value.abs() >= 1000.0 { 10_f64.powi(value.abs().log10().floor() as i32 - 2) } else { 1.0 };
    format!("{} {unit}", thousands((value / step).round() * step, 0))
}

fn tons(short_ton_ac: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{short_ton_ac:.2} short tons/ac"),
        UnitSystem::Si => format!("{:.2} t/ha", short_ton_ac * LB_PER_SHORT_TON * KG_HA_PER_LB_AC / 1000.0),
    }
}
