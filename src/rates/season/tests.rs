use super::*;
use crate::fields::HoldingClass;
use crate::rates::nitrogen_split::{NitrogenRule, set};
use crate::rates::{BelowLeast, Form, Limit, NitrogenStage, Placement, RateLimits, TripCost};

mod cases;
mod demo_table;
mod nitrogen_cases;
mod promises;

/// A season with everything it stands on.
#[derive(Debug, Clone)]
struct Season {
    passes: Vec<Pass>,
    products: Vec<Product>,
    hold: HoldSettings,
    machine: Machine,
    travel: MachineTravel,
    nitrogen: NitrogenPlan,
    order: PlacingOrder,
    crops: Vec<Option<Crop>>,
}

impl Season {
    fn rules(&self) -> SeasonRules<'_> {
        SeasonRules {
            passes: &self.passes,
            products: &self.products,
            hold: &self.hold,
            machine: &self.machine,
            travel: &self.travel,
            nitrogen: &self.nitrogen,
            order: self.order,
            crops: &self.crops,
        }
    }

    fn place(&self, zone: &ZoneToFeed) -> SeasonPlacement {
        place(&self.rules(), zone)
    }

    fn pass(&mut self, name: &str) -> &mut Pass {
        self.passes.iter_mut().find(|pass| pass.name == name).unwrap()
    }
}

fn product(short: &str, percent: &[(Supply, f64)], form: Form) -> Product {
    Product { short: short.into(), name: short.into(), percent: percent.to_vec(), form, usd_lb: None }
}

fn pass(name: &str, year: usize, products: &[&str]) -> Pass {
    Pass {
        name: name.into(),
        window: None,
        year,
        products: products.iter().map(|&short| short.to_owned()).collect(),
        placement: Placement::Tilled,
        reaches_in: 7.0,
        standing_crop: false,
        fall: false,
        holds: None,
        trip: TripCost::default(),
    }
}

/// The season of the invented demo field, field notes 3.
fn demo() -> Season {
    let dry = Form::Dry { lb_ft3: None };
    let limits = |least, most, step| Some(RateLimits { least, most, step, below_least: BelowLeast::Zero });
    Season {
        passes: vec![
            Pass { reaches_in: 6.0, ..pass("After soybean", 1, &["LIM"]) },
            pass("Before corn", 1, &["MAP", "POT", "UREA"]),
            Pass { placement: Placement::Band, reaches_in: 3.0, standing_crop: true, ..pass("Corn V6", 1, &["UAN"]) },
            Pass { holds: Some(vec![HoldingClass::Little]), ..pass("After corn", 2, &["POT"]) },
        ],
        products: vec![
            product("POT", &[(Supply::K2o, 60.0)], dry),
            product("MAP", &[(Supply::N, 11.0), (Supply::P2o5, 52.0)], dry),
            product("UREA", &[(Supply::N, 46.0)], dry),
            product("UAN", &[(Supply::N, 28.0)], Form::Liquid { lb_gal: 10.67 }),
            product("LIM", &[(Supply::Lime, 69.9)], dry),
        ],
        hold: HoldSettings {
            edges_meq_100g: [8.0, 12.0],
            k_rise_percent_of_cec: Some(2.0),
            k2o_most_lb_ac: Some(200.0),
            lime_tilled_short_ton_ac: Some(2.0),
            lime_surface_short_ton_ac: Some(1.5),
            fall_n_on_little: false,
            no_build_up_to_cec: Some(5.0),
        },
        machine: Machine {
            lb_ac: limits(50.0, 400.0, 1.0),
            short_ton_ac: limits(0.25, 3.0, 0.01),
            gal_ac: limits(5.0, 60.0, 0.5),
            n_bins: Some(3),
            // Lime at 1.36 short tons/ac over 60 ft at 12 mph takes 3,956 lb/min.
            flow_lb_min: Some(6_000.0),
            load_lb: Some(16_000.0),
            load_gal: Some(1_200.0),
            ..Machine::default()
        },
        travel: MachineTravel {
            swath_ft: Some(60.0),
            speed_mph: Some(12.0),
            change_s: Some(3.0),
            ..MachineTravel::default()
        },
        nitrogen: NitrogenPlan {
            on_little: NitrogenRule::Set(set("illinois-dryland-sand").unwrap()),
            elsewhere: NitrogenRule::Set(set("illinois-dryland-sand").unwrap()),
        },
        order: PlacingOrder::Latest,
        crops: vec![Some(Crop::Corn), Some(Crop::Soybean)],
    }
}

fn ground(zone: usize, cec: f64) -> GroundToFeed {
    GroundToFeed { zone, cec_meq_100g: Some(cec), holding: None, cec_is_overread: false }
}

fn zone(ground: GroundToFeed, needs: &[(Supply, usize, f64)]) -> ZoneToFeed {
    let needs = needs.iter().map(|&(supply, year, lb_ac)| YearNeed { year, supply, lb_ac }).collect();
    ZoneToFeed { ground, needs, credits: Vec::new() }
}

#[track_caller]
fn rate(placement: &SeasonPlacement, pass: usize, product: &str) -> f64 {
    placement.spread(pass, product).map_or(0.0, |spread| spread.rate)
}

#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found} is not within {tolerance} of {expected}");
}
