//! How cations share the ground, for the run record.

use serde_json::{Map, Value, json};

use super::run_record::round;
use super::sharing_table::{note, sodium};
use super::sharing_words::{soil_text, target_text, why_no_targets, zone_sentences};
use crate::chemistry::{Cation, NO_RATE_FROM_SHARES, SHARE_EVIDENCE};
use crate::rates::sharing::{AgainstTargets, Look, Mover, SharingSettings, SodiumState, SumRule, ZoneSharing};
use crate::units::UnitSystem;

/// All zones, with the targets and the evidence; null without zones. `units` is that of the sentences.
pub fn sharing_record(sharings: &[ZoneSharing], settings: &SharingSettings, units: UnitSystem) -> Value {
    let Some(first) = sharings.first() else { return Value::Null };
    let row = |row: &crate::rates::sharing::TargetRow| json!({"up_to_cec_meq_100g": row.up_to_cec_meq_100g, "percent": target_text(row)});
    json!({
        "what": "information: nothing here is prescribed",
        "no_rate": NO_RATE_FROM_SHARES,
        "evidence": SHARE_EVIDENCE,
        "approach": settings.approach.name(),
        "soil": soil_text(settings, UnitSystem::Us),
        "soil_lb_ac": settings.soil_lb_ac(),
        "targets": settings.targets.rows().iter().map(row).collect::<Vec<_>>(),
        "targets_source": settings.targets.source(),
        "why_no_targets": why_no_targets(first.cec_basis),
        "sodium_from_percent": settings.sodium.from_percent,
        "sodium_source": settings.sodium.source,
        "zones": sharings.iter().map(|sharing| zone(sharing, settings, units)).collect::<Vec<_>>(),
    })
}

fn zone(sharing: &ZoneSharing, settings: &SharingSettings, units: UnitSystem) -> Value {
    let parts = &sharing.exchange;
    let mut meq = Map::new();
    let mut percent = Map::new();
    for cation in Cation::ALL {
        meq.insert(cation.symbol().to_owned(), parts.meq_100g(cation).map_or(Value::Null, |meq| round(meq, 4)));
        percent.insert(
            cation.symbol().to_owned(),
            parts.saturation_percent(cation).map_or(Value::Null, |percent| round(percent, 3)),
        );
    }
    meq.insert("rest".to_owned(), round(parts.rest_meq_100g, 4));
    meq.insert("CEC".to_owned(), round(parts.cec_meq_100g(), 4));
    percent.insert("rest".to_owned(), round(100.0 - parts.base_saturation_percent(), 3));
    json!({
        "zone": sharing.zone,
        "meq_100g": meq,
        "percent_of_cec": percent,
        "limy_share": sharing.limy_share.map(|share| round(share, 4)),
        "note": note(sharing),
        "against_targets": sharing.against.as_ref().ok().map(against),
        "low_magnesium": sharing.low_magnesium.map(|low| json!({"by_share": low.by_share, "by_amount": low.by_amount})),
        "sodium": sodium_json(sharing),
        "sulfur_refused": sharing.sulfur_refused.map(|refused| json!({"eaten_by_lime_lb_ac": refused.eaten_lb_ac.map(|lb| round(lb, 0))})),
        "look": sharing.look.iter().map(look).collect::<Vec<_>>(),
        "words": zone_sentences(sharing, settings, units),
    })
}

fn against(view: &AgainstTargets) -> Value {
    let departure = |departure: &crate::rates::sharing::Departure| {
        json!({
            "cation": departure.cation.symbol(),
            "target_percent": departure.target_percent,
            "off_meq_100g": round(departure.meq_100g, 4),
            "off_lb_ac": round(departure.lb_ac, 1),
            "larger_than_map_error": departure.is_told,
        })
    };
    let sum = match view.sum {
        SumRule::NoAcidity => json!({"acidity": false}),
        SumRule::Acid { found_percent, most_percent } => {
            json!({"acidity": true, "found_percent": round(found_percent, 2), "most_percent": most_percent})
        }
    };
    json!({
        "targets": target_text(&view.row),
        "departures": view.departures.iter().map(departure).collect::<Vec<_>>(),
        "ca_and_mg": sum,
        "would_move_it": view.movers.iter().map(mover).collect::<Vec<_>>(),
    })
}

fn mover(mover: &Mover) -> Value {
    match mover {
        Mover::Lime { acidity_meq_100g, planned } => json!({
            "lime_in_place_of_acidity_meq_100g": round(*acidity_meq_100g, 3),
            "planned": planned.map(|planned| json!({
                "calcium_carbonate_lb_ac": round(planned.lb_cce_ac, 0),
                "meq_100g": round(planned.meq_100g, 3),
                "ca_percent_after": round(planned.ca_percent_after, 1),
            })),
        }),
        Mover::GypsumForMagnesium { lb_ac, .. } => json!({"pure_gypsum_for_magnesium_lb_ac": round(*lb_ac, 0)}),
        Mover::NothingBoughtMovesMagnesium => json!({"no_fertilizer": "drainage, tillage, organic matter"}),
        Mover::Potash { k2o_lb_ac, field_k2o_lb_ac } => json!({
            "k2o_by_stoichiometry_lb_ac": round(*k2o_lb_ac, 0),
            "k2o_in_the_field_lb_ac": field_k2o_lb_ac.map(|lb| round(lb, 0)),
        }),
    }
}

fn sodium_json(sharing: &ZoneSharing) -> Value {
    let (at_hand, pure) = match sharing.sodium.state {
        SodiumState::Gypsum { short_ton_ac, pure_short_ton_ac } => {
            (round(short_ton_ac, 2), round(pure_short_ton_ac, 2))
        }
        _ => (Value::Null, Value::Null),
    };
    json!({
        "esp_percent": sharing.sodium.esp_percent.map(|esp| round(esp, 2)),
        "state": sodium(sharing.sodium.state),
        "salts_are_known": sharing.sodium.salts_are_known,
        "gypsum_at_hand_short_ton_ac": at_hand,
        "pure_gypsum_short_ton_ac": pure,
    })
}

fn look(look: &Look) -> &'static str {
    match look {
        Look::StickyOrPacked => "sticky or packed",
        Look::TaprootWeeds => "weeds with taproots",
    }
}
