//! Sodium: when it counts as much, and the gypsum that would take it out where the ground drains. Shown, not prescribed.

use super::sodium_equations::{OsterInput, lb_ac_of_mg_ha, oster_gypsum_mg_ha};
use super::stoichiometry::gypsum_lb_ac;
use super::zone_ground::ZoneGround;
use crate::chemistry::Cation;
use crate::samples::LabMethod;
use crate::units::LB_PER_SHORT_TON;

/// Whether water gets away below: without it gypsum takes no sodium out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drainage {
    /// The ground drains, and there is water to leach with.
    Yes,
    /// It does not.
    No,
    /// Nobody has answered yet.
    Open,
}

/// The gypsum at hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GypsumAtHand {
    /// Purity, percent: 100 is pure.
    pub purity_percent: f64,
    /// How much more than stoichiometry it takes, 1.1 to 1.3.
    pub factor: f64,
    /// Bulk density of the soil, g/cm3.
    pub bulk_density_g_cm3: f64,
}

/// How sodium is judged.
#[derive(Debug, Clone, PartialEq)]
pub struct SodiumSettings {
    /// Exchangeable sodium percentage from which ground counts as sodic.
    pub from_percent: f64,
    /// Percentage to come down to.
    pub to_percent: f64,
    /// Where the threshold comes from, in words.
    pub source: String,
    /// Whether water gets away.
    pub drainage: Drainage,
    /// The gypsum; `None` = not told, so no amount of it is worked out.
    pub gypsum: Option<GypsumAtHand>,
}

impl SodiumSettings {
    /// ESP from which ground counts as sodic in the United States, percent. From memory \[M\]; Australia counts from 6
    /// \[M\].
    pub const US_FROM_PERCENT: f64 = 15.0;
    /// ESP to come down to unless stated, percent: common practice, no source.
    pub const TO_PERCENT: f64 = 5.0;
    /// Thresholds that can be stated, percent.
    pub const FROM_PERCENT_RANGE: [f64; 2] = [2.0, 40.0];
}

impl Default for SodiumSettings {
    fn default() -> Self {
        SodiumSettings {
            from_percent: Self::US_FROM_PERCENT,
            to_percent: Self::TO_PERCENT,
            source: "usage in the United States, from memory; Australia counts from 6 %".to_owned(),
            drainage: Drainage::Open,
            gypsum: None,
        }
    }
}

/// Conductivity from which soluble salts are not to be counted as exchangeable, dS/m of a saturated paste. Source: the
/// saline limit of USDA Handbook 60, from memory \[M\].
const SALTY_PASTE_DS_M: f64 = 4.0;
/// Water in a saturated paste for one part of soil. Source: heuristic; more on clay, less on sand.
const PASTE_WATER: f64 = 0.5;

/// Conductivity from which soluble salts are not to be counted as exchangeable, dS/m, by method; `None` for a method it
/// is not known for. Thinner extracts read lower in proportion to their water: 2 at 1:1, 1 at 1:2, 0.4 at 1:5 \[A\].
pub fn salty_from_ds_m(method: LabMethod) -> Option<f64> {
    let water = match method {
        LabMethod::SaturatedPaste => PASTE_WATER,
        LabMethod::OneToOne => 1.0,
        LabMethod::OneToTwo => 2.0,
        LabMethod::OneToFive => 5.0,
        _ => return None,
    };
    Some(SALTY_PASTE_DS_M * PASTE_WATER / water)
}

/// What is told of a zone's sodium.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SodiumState {
    /// The sheet has no sodium.
    NotReported,
    /// Under the threshold.
    Below,
    /// Much, but the ground is salty: sodium of the soil's water was counted too, so the lab is to be asked for SAR.
    AskSar {
        /// Conductivity, dS/m.
        ec_ds_m: f64,
        /// How it was measured.
        method: LabMethod,
    },
    /// Much, and the ground does not drain: gypsum would do nothing.
    NoDrainage,
    /// Much, and drainage is not answered.
    DrainageOpen,
    /// Much on ground that drains; the gypsum at hand is not told, or amounts are by volume of soil.
    GypsumNotTold,
    /// Much on ground that drains.
    Gypsum {
        /// Of the gypsum at hand, by the published equation, short tons/ac.
        short_ton_ac: f64,
        /// Pure gypsum by equivalents alone, short tons/ac.
        pure_short_ton_ac: f64,
    },
}

/// Sodium of a zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneSodium {
    /// Exchangeable sodium percentage; `None` where the sheet has no sodium.
    pub esp_percent: Option<f64>,
    /// What is told.
    pub state: SodiumState,
    /// Whether a conductivity stands behind it; without one, salts counted as exchangeable cannot be told apart.
    pub salts_are_known: bool,
}

/// Judges a zone's sodium. `soil` is its depth in m and its mass in lb/ac; `None` where amounts are by volume.
pub(super) fn zone_sodium(ground: &ZoneGround, settings: &SodiumSettings, soil: Option<(f64, f64)>) -> ZoneSodium {
    let esp_percent = ground.exchange.saturation_percent(Cation::Na);
    let salty_from = ground.ec.and_then(|(_, method)| salty_from_ds_m(method));
    let salty = ground.ec.zip(salty_from).filter(|((ec_ds_m, _), from)| ec_ds_m >= from).map(|(ec, _)| ec);
    let state = match (esp_percent, salty, settings.drainage) {
        (None, ..) => SodiumState::NotReported,
        (Some(esp), ..) if esp < settings.from_percent => SodiumState::Below,
        (_, Some((ec_ds_m, method)), _) => SodiumState::AskSar { ec_ds_m, method },
        (.., Drainage::No) => SodiumState::NoDrainage,
        (.., Drainage::Open) => SodiumState::DrainageOpen,
        (Some(esp), None, Drainage::Yes) => gypsum(ground.exchange.cec_meq_100g(), esp, settings, soil),
    };
    ZoneSodium { esp_percent, state, salts_are_known: salty_from.is_some() }
}

fn gypsum(cec_meq_100g: f64, esp_percent: f64, settings: &SodiumSettings, soil: Option<(f64, f64)>) -> SodiumState {
    let Some((at_hand, (depth_m, soil_lb_ac))) = settings.gypsum.zip(soil) else { return SodiumState::GypsumNotTold };
    let input = OsterInput {
        factor: at_hand.factor,
        depth_m,
        bulk_density_g_cm3: at_hand.bulk_density_g_cm3,
        cec_meq_100g,
        esp_percent,
        to_esp_percent: settings.to_percent,
        purity_percent: at_hand.purity_percent,
    };
    let Ok(mg_ha) = oster_gypsum_mg_ha(&input) else { return SodiumState::GypsumNotTold };
    let meq_100g = cec_meq_100g * (esp_percent - settings.to_percent).max(0.0) / 100.0;
    SodiumState::Gypsum {
        short_ton_ac: lb_ac_of_mg_ha(mg_ha) / LB_PER_SHORT_TON,
        pure_short_ton_ac: gypsum_lb_ac(meq_100g, soil_lb_ac) / LB_PER_SHORT_TON,
    }
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::ground;
    use super::*;

    fn close(actual: f64, expected: f64, tolerance: f64) {
        assert!((actual - expected).abs() <= tolerance, "{actual} is not within {tolerance} of {expected}");
    }

    const SOIL: Option<(f64, f64)> = Some((0.15, 2e6));

    fn sodic(drainage: Drainage) -> SodiumSettings {
        let gypsum = GypsumAtHand { purity_percent: 90.0, factor: 1.1, bulk_density_g_cm3: 1.3 };
        SodiumSettings { drainage, gypsum: Some(gypsum), ..SodiumSettings::default() }
    }

    #[test]
    fn an_amount_needs_drainage_answered_with_yes() {
        // The inputs of agronomy check 56: CEC 25, ESP 15 at a threshold of 15, to 5.
        let zone = ground([15.0, 5.0, 0.75, 3.75, 0.5]);
        let state = |drainage| zone_sodium(&zone, &sodic(drainage), SOIL).state;
        assert_eq!(state(Drainage::No), SodiumState::NoDrainage);
        assert_eq!(state(Drainage::Open), SodiumState::DrainageOpen);
        let SodiumState::Gypsum { short_ton_ac, pure_short_ton_ac } = state(Drainage::Yes) else {
            panic!("{:?}", state(Drainage::Yes))
        };
        close(short_ton_ac, 2.29, 0.02);
        close(pure_short_ton_ac, 2.5 * 0.861, 0.01);
        // Without the gypsum's purity, or by volume of soil, there is no amount either.
        let untold = SodiumSettings { gypsum: None, ..sodic(Drainage::Yes) };
        assert_eq!(zone_sodium(&zone, &untold, SOIL).state, SodiumState::GypsumNotTold);
        assert_eq!(zone_sodium(&zone, &sodic(Drainage::Yes), None).state, SodiumState::GypsumNotTold);
    }

    #[test]
    fn salty_ground_is_asked_for_sar_and_never_given_an_amount() {
        let mut zone = ground([15.0, 5.0, 0.75, 3.75, 0.5]);
        zone.ec = Some((2.5, LabMethod::OneToOne));
        let told = zone_sodium(&zone, &sodic(Drainage::Yes), SOIL);
        assert_eq!(told.state, SodiumState::AskSar { ec_ds_m: 2.5, method: LabMethod::OneToOne });
        // The same reading of a saturated paste is not salty.
        zone.ec = Some((2.5, LabMethod::SaturatedPaste));
        let told = zone_sodium(&zone, &sodic(Drainage::Yes), SOIL);
        assert!(matches!(told.state, SodiumState::Gypsum { .. }) && told.salts_are_known);
        assert_eq!(salty_from_ds_m(LabMethod::OneToFive), Some(0.4));
        assert_eq!(salty_from_ds_m(LabMethod::Unknown), None);
    }

    #[test]
    fn the_threshold_is_a_setting() {
        // 8 %: much where Australia counts from 6 [M], not where the United States count from 15 [M].
        let zone = ground([14.0, 6.0, 0.6, 2.0, 2.4]);
        assert_eq!(zone_sodium(&zone, &SodiumSettings::default(), SOIL).state, SodiumState::Below);
        let from_6 = SodiumSettings { from_percent: 6.0, ..SodiumSettings::default() };
        assert_eq!(zone_sodium(&zone, &from_6, SOIL).state, SodiumState::DrainageOpen);
        let mut unknown = zone.clone();
        unknown.exchange.na_meq_100g = None;
        assert_eq!(zone_sodium(&unknown, &from_6, SOIL).state, SodiumState::NotReported);
    }
}
