//! Ground made by hand for the tests of this module. The soils are the invented ones of the demo.

use super::{Approach, CecBasis, SharingSettings, ZoneGround};
use crate::chemistry::Exchange;

/// Ground of calcium, magnesium, potassium, sodium and acidity, meq/100 g; CEC summed, no lime, no error known.
pub(super) fn ground([ca, mg, k, na, acidity]: [f64; 5]) -> ZoneGround {
    ZoneGround {
        zone: 1,
        exchange: Exchange {
            ca_meq_100g: ca,
            mg_meq_100g: mg,
            k_meq_100g: k,
            na_meq_100g: Some(na),
            rest_meq_100g: acidity,
        },
        cec_basis: CecBasis::Summed,
        ph_water: Some(6.5),
        free_lime_percent: None,
        limy_share: Some(0.0),
        ec: None,
        error_percent: [None; 4],
        planned_lime_lb_ac: None,
    }
}

/// Heavy corner with much magnesium, no acidity.
pub(super) fn corner() -> ZoneGround {
    ground([14.0, 9.0, 0.54, 0.20, 0.0])
}

/// Sandy, acid ridge.
pub(super) fn ridge() -> ZoneGround {
    ground([2.5, 0.6, 0.17, 0.04, 1.8])
}

/// Settings that ask for targets, defaults else.
pub(super) fn asked() -> SharingSettings {
    SharingSettings { approach: Approach::SaturationTarget, ..SharingSettings::default() }
}
