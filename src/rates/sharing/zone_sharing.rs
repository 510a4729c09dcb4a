//! [`ZoneSharing`]: one zone's shares, and what is said of them.

use super::departure::{Departure, SumRule, departures};
use super::mover::{Mover, movers};
use super::sodium::{SodiumSettings, ZoneSodium, zone_sodium};
use super::stoichiometry::{LowMagnesium, SulfurRefused, low_magnesium, sulfur_lb_ac};
use super::targets::{ShareTargets, TargetRow};
use super::zone_ground::{CecBasis, ZoneGround};
use crate::chemistry::{Cation, Exchange};
use crate::fields::HoldingClass;
use crate::units::soil_lb_ac;

/// What is shown of the need. Rates are always from sufficiency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Approach {
    /// What the soil test lacks of a guide's level; shares without targets.
    #[default]
    Sufficiency,
    /// Shares against targets, as information.
    SaturationTarget,
    /// Both.
    Both,
}

impl Approach {
    /// All.
    pub const ALL: [Approach; 3] = [Approach::Sufficiency, Approach::SaturationTarget, Approach::Both];

    /// Word of the field file.
    pub fn name(self) -> &'static str {
        match self {
            Approach::Sufficiency => "sufficiency",
            Approach::SaturationTarget => "saturation-target",
            Approach::Both => "both",
        }
    }

    /// Whether shares are set against targets.
    pub fn shows_targets(self) -> bool {
        self != Approach::Sufficiency
    }
}

/// Settings of this view.
#[derive(Debug, Clone, PartialEq)]
pub struct SharingSettings {
    /// What is shown.
    pub approach: Approach,
    /// Targets by CEC class.
    pub targets: ShareTargets,
    /// Depth of the soil amounts are for, inches.
    pub depth_in: f64,
    /// Sodium.
    pub sodium: SodiumSettings,
}

impl SharingSettings {
    /// Depth unless stated: the furrow slice of 2,000,000 lb/ac, inches.
    pub const DEPTH_IN: f64 = 7.0;

    /// Soil amounts are for, lb/ac.
    pub fn soil_lb_ac(&self) -> f64 {
        soil_lb_ac(self.depth_in)
    }
}

impl Default for SharingSettings {
    fn default() -> Self {
        SharingSettings {
            approach: Approach::default(),
            targets: ShareTargets::default(),
            depth_in: Self::DEPTH_IN,
            sodium: SodiumSettings::default(),
        }
    }
}

/// Why shares of a zone are not set against targets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoTargets {
    /// The approach does not ask for it.
    NotAsked,
    /// The CEC is not one that targets are made for.
    CecDoesNotFit(CecBasis),
    /// Lime in the soil is counted as calcium, so calcium, CEC and with it every share are misread.
    Limy,
}

/// Something to look for with one's own eyes: common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// Sticky when wet, hard when dry, packed: said of ground with much magnesium.
    StickyOrPacked,
    /// Weeds with taproots: said of ground with little calcium.
    TaprootWeeds,
}

/// Shares of a zone against targets.
#[derive(Debug, Clone, PartialEq)]
pub struct AgainstTargets {
    /// The targets of its CEC.
    pub row: TargetRow,
    /// Each cation that has a target and whose reading can be trusted.
    pub departures: Vec<Departure>,
    /// Calcium and magnesium together.
    pub sum: SumRule,
    /// What would move what.
    pub movers: Vec<Mover>,
}

/// How cations share the ground of one zone.
///
/// # Guarantees
/// - shares of `exchange` come to 100 % of its CEC
/// - nothing in it is a rate: no stage that plans rates takes it
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneSharing {
    /// Zone, from 1.
    pub zone: usize,
    /// Mean parts of its ground.
    pub exchange: Exchange,
    /// How its CEC came about.
    pub cec_basis: CecBasis,
    /// Share of it on which lime lies in the soil, 0 to 1; `None` where the sheet does not tell.
    pub limy_share: Option<f64>,
    /// Targets, or why there are none.
    pub against: Result<AgainstTargets, NoTargets>,
    /// Sodium, by itself.
    pub sodium: ZoneSodium,
    /// Magnesium so low that lime had better bring some.
    pub low_magnesium: Option<LowMagnesium>,
    /// Why sulfur cannot make it acid.
    pub sulfur_refused: Option<SulfurRefused>,
    /// What to look for.
    pub look: Vec<Look>,
}

/// Ground of which more than this share is limy is not set against targets. Source: heuristic.
const LIMY_FROM_SHARE: f64 = 0.5;
/// A meter in inches. Source: 1 in = 2.54 cm exactly (1959).
const M_PER_INCH: f64 = 0.0254;

impl ZoneSharing {
    /// Sets one zone's ground against what the settings ask for.
    pub fn of(ground: &ZoneGround, settings: &SharingSettings) -> Self {
        let soil_lb_ac = settings.soil_lb_ac();
        let is_by_mass = ground.cec_basis != CecBasis::Volume;
        let soil = is_by_mass.then_some((settings.depth_in * M_PER_INCH, soil_lb_ac));
        let judged = can_be_judged(ground);
        let against = match judged {
            _ if !settings.approach.shows_targets() => Err(NoTargets::NotAsked),
            Err(reason) => Err(reason),
            Ok(()) => Ok(against(ground, settings, soil_lb_ac)),
        };
        let sulfur_refused = sulfur_lb_ac(ground.ph_water, ground.free_lime_percent, soil_lb_ac).err();
        ZoneSharing {
            zone: ground.zone,
            exchange: ground.exchange,
            cec_basis: ground.cec_basis,
            limy_share: ground.limy_share,
            against,
            sodium: zone_sodium(ground, &settings.sodium, soil),
            // A share of the CEC at pH 7, and ppm: neither is told by another basis.
            low_magnesium: judged.ok().and_then(|()| low_magnesium(&ground.exchange)),
            sulfur_refused,
            look: judged.map_or_else(|_| Vec::new(), |()| look(ground, &settings.targets)),
        }
    }

    /// Whether lime in the soil makes its calcium read too high.
    pub fn is_limy(&self) -> bool {
        is_limy(self.limy_share)
    }
}

fn is_limy(limy_share: Option<f64>) -> bool {
    limy_share.is_some_and(|share| share > LIMY_FROM_SHARE)
}

/// Whether shares of this ground can be set against anything.
fn can_be_judged(ground: &ZoneGround) -> Result<(), NoTargets> {
    match ground.cec_basis {
        CecBasis::Summed if is_limy(ground.limy_share) => Err(NoTargets::Limy),
        CecBasis::Summed | CecBasis::MeasuredPh7 => Ok(()),
        other => Err(NoTargets::CecDoesNotFit(other)),
    }
}

fn against(ground: &ZoneGround, settings: &SharingSettings, soil_lb_ac: f64) -> AgainstTargets {
    let row = *settings.targets.row(ground.exchange.cec_meq_100g());
    let is_limy = is_limy(ground.limy_share);
    // A measured CEC does not count lime, but calcium does.
    let departures = departures(ground, &row, is_limy.then_some(Cation::Ca), soil_lb_ac);
    let sum = SumRule::of(&ground.exchange, &row, is_limy);
    let movers = movers(ground, &departures, &sum, soil_lb_ac);
    AgainstTargets { row, departures, sum, movers }
}

fn look(ground: &ZoneGround, targets: &ShareTargets) -> Vec<Look> {
    let cec = ground.exchange.cec_meq_100g();
    // Sand is neither sticky nor packed, and holds little of everything.
    if HoldingClass::of(cec) == HoldingClass::Little {
        return Vec::new();
    }
    let row = targets.row(cec);
    let percent = |cation| ground.exchange.saturation_percent(cation).map(f64::round);
    let mut look = Vec::new();
    if percent(Cation::Mg).is_some_and(|mg| mg > row.mg_percent) {
        look.push(Look::StickyOrPacked);
    }
    if !is_limy(ground.limy_share) && percent(Cation::Ca).is_some_and(|ca| ca < row.ca_percent) {
        look.push(Look::TaprootWeeds);
    }
    look
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::hand_made::{asked, corner, ground, ridge};
    use super::super::stoichiometry::gypsum_lb_ac;
    use super::*;

    fn close(actual: f64, expected: f64, tolerance: f64) {
        assert!((actual - expected).abs() <= tolerance, "{actual} is not within {tolerance} of {expected}");
    }

    fn departure(view: &AgainstTargets, cation: Cation) -> Departure {
        *view.departures.iter().find(|departure| departure.cation == cation).unwrap()
    }

    #[test]
    fn the_magnesium_corner_of_the_field_notes() {
        // Field notes 3 [A]: Ca 14.00, Mg 9.00, K 0.54, Na 0.20, no acidity, CEC 23.74; Mg excess 6.15 meq = 1,476 lb/ac;
        // gypsum with as much calcium about 10,600 lb/ac: shown, not prescribed.
        let sharing = ZoneSharing::of(&corner(), &asked());
        let view = sharing.against.clone().unwrap();
        let mg = departure(&view, Cation::Mg);
        close(mg.meq_100g, 6.15, 0.005);
        close(mg.lb_ac, 1476.0, 1.0);
        assert_eq!(view.sum, SumRule::NoAcidity);
        let Mover::GypsumForMagnesium { lb_ac, mg_is_no_less_than_ca } = view.movers[1] else { panic!("{view:?}") };
        close(lb_ac, 10_600.0, 10.0);
        assert!(!mg_is_no_less_than_ca);
        assert_eq!(view.movers[0], Mover::NothingBoughtMovesMagnesium);
        // Potassium 2.3 % lacks 0.17 meq of 3 %: 163 lb K2O by stoichiometry, 340 to 680 in the field (notes 22).
        let Mover::Potash { k2o_lb_ac, field_k2o_lb_ac } = view.movers[2] else { panic!("{view:?}") };
        close(k2o_lb_ac, 163.0, 3.0);
        close(field_k2o_lb_ac[0], 340.0, 10.0);
        close(field_k2o_lb_ac[1], 680.0, 15.0);
        assert_eq!(sharing.look, [Look::StickyOrPacked, Look::TaprootWeeds]);
    }

    #[test]
    fn on_the_acid_ridge_lime_already_moves_calcium() {
        // Field notes 3 [A]: Ca 48.9, Mg 11.7, K 3.3, acidity 35.2 % of CEC 5.11; lime 0.65 short tons.
        let mut zone = ridge();
        zone.planned_lime_lb_ac = Some(1300.0);
        let sharing = ZoneSharing::of(&zone, &asked());
        let view = sharing.against.clone().unwrap();
        let SumRule::Acid { found_percent, most_percent } = view.sum else { panic!("{view:?}") };
        close(found_percent, 60.7, 0.1);
        assert_eq!(most_percent, 80.0);
        let Mover::Lime { acidity_meq_100g, planned: Some(planned) } = view.movers[0] else { panic!("{view:?}") };
        close(acidity_meq_100g, 1.80, 1e-9);
        // 1 short ton of calcium carbonate is 2 meq, so 0.65 are 1.3; calcium comes to (2.50 + 1.30) of 5.11.
        close(planned.meq_100g, 1.3, 0.005);
        close(planned.ca_percent_after, 74.4, 0.1);
        // Lime beyond the acidity moves no share.
        zone.planned_lime_lb_ac = Some(9000.0);
        let view = ZoneSharing::of(&zone, &asked()).against.unwrap();
        let Mover::Lime { planned: Some(planned), .. } = view.movers[0] else { panic!("{view:?}") };
        close(planned.ca_percent_after, 100.0 * 4.30 / 5.11, 0.01);
        // K 3.3 % lies inside 3 to 6: nothing to buy, not even as information.
        assert!(!view.movers.iter().any(|mover| matches!(mover, Mover::Potash { .. })));
    }

    #[test]
    fn limy_ground_is_not_judged_unless_its_cec_is_measured() {
        // agronomy check 8 [R2]: Ca 4639 ppm at CEC 29.0, pH 7.7: 80 % of a summed CEC that counts lime.
        let mut zone = ground([23.2, 4.5, 0.9, 0.4, 0.0]);
        (zone.limy_share, zone.ph_water) = (Some(1.0), Some(7.7));
        let sharing = ZoneSharing::of(&zone, &asked());
        assert_eq!(sharing.against, Err(NoTargets::Limy));
        assert!(sharing.look.is_empty() && sharing.low_magnesium.is_none());
        assert!(sharing.sulfur_refused.is_some());
        zone.cec_basis = CecBasis::MeasuredPh7;
        zone.exchange.rest_meq_100g = -6.0;
        let view = ZoneSharing::of(&zone, &asked()).against.unwrap();
        assert!(view.departures.iter().all(|departure| departure.cation != Cation::Ca));
        assert_eq!(view.sum, SumRule::NoAcidity);
        // Half of the ground or less leaves it judged.
        (zone.cec_basis, zone.limy_share) = (CecBasis::Summed, Some(0.5));
        assert!(ZoneSharing::of(&zone, &asked()).against.is_ok());
    }

    #[test]
    fn effective_cec_and_cec_by_volume_have_no_targets() {
        for basis in [CecBasis::Effective, CecBasis::Volume, CecBasis::NotTold] {
            let sharing = ZoneSharing::of(&ZoneGround { cec_basis: basis, ..corner() }, &asked());
            assert_eq!(sharing.against, Err(NoTargets::CecDoesNotFit(basis)));
            assert!(sharing.look.is_empty());
        }
    }

    #[test]
    fn by_sufficiency_shares_stand_without_targets() {
        let sharing = ZoneSharing::of(&corner(), &SharingSettings::default());
        assert_eq!(sharing.against, Err(NoTargets::NotAsked));
        close(sharing.exchange.saturation_percent(Cation::Mg).unwrap(), 37.9, 0.05);
        let both = SharingSettings { approach: Approach::Both, ..SharingSettings::default() };
        assert!(ZoneSharing::of(&corner(), &both).against.is_ok());
    }

    #[test]
    fn a_departure_within_its_error_moves_nothing() {
        // The silt loam of the field notes: Mg 12.7 % against 12, off by 0.7.
        let mut zone = ground([9.5, 1.875, 0.33, 0.06, 3.0]);
        let told = |zone: &ZoneGround| {
            let view = ZoneSharing::of(zone, &asked()).against.unwrap();
            (departure(&view, Cation::Mg).is_told, view.movers.len())
        };
        assert_eq!(told(&zone), (true, 3));
        zone.error_percent = [None, Some(0.8), None, None];
        assert_eq!(told(&zone), (false, 2));
    }

    #[test]
    fn row_9_shares_and_departures_of_a_constructed_soil() {
        // agronomy check 9, A(R2): Ca 1500, Mg 180, K 150, Na 25 ppm, acidity 4.8: CEC 14.29, K 2.69 %, Na 0.76 %.
        let zone = ground([7.5, 1.5, 150.0 / 390.0, 25.0 / 230.0, 4.8]);
        close(zone.exchange.cec_meq_100g(), 14.29, 0.01);
        let sharing = ZoneSharing::of(&zone, &asked());
        close(sharing.sodium.esp_percent.unwrap(), 0.76, 0.1);
        let view = sharing.against.unwrap();
        // 68 % of 14.29 are 9.72, 12 % are 1.715, 3 % are 0.4288 [A].
        close(departure(&view, Cation::Ca).meq_100g, 7.5 - 9.72, 0.005);
        close(departure(&view, Cation::Mg).meq_100g, 1.5 - 1.715, 0.005);
        close(departure(&view, Cation::K).meq_100g, 150.0 / 390.0 - 0.4288, 0.0005);
    }

    proptest! {
        #[test]
        fn shares_close_and_departures_sum(
            ca in 0.1..30.0_f64, mg in 0.05..12.0_f64, k in 0.01..3.0_f64, na in 0.0..4.0_f64, acid in 0.0..12.0_f64,
        ) {
            let zone = ground([ca, mg, k, na, acid]);
            let sharing = ZoneSharing::of(&zone, &asked());
            let parts = sharing.exchange;
            let cec = parts.cec_meq_100g();
            let shares: f64 = Cation::ALL.iter().filter_map(|cation| parts.saturation_percent(*cation)).sum();
            prop_assert!((shares + 100.0 * parts.rest_meq_100g / cec - 100.0).abs() < 1e-9);
            let view = sharing.against.unwrap();
            // What calcium and magnesium lack or have too much comes to what their sum lacks of the rule.
            let both = departure(&view, Cation::Ca).meq_100g + departure(&view, Cation::Mg).meq_100g;
            let rule = (parts.ca_mg_percent() - view.row.ca_mg_percent()) / 100.0 * cec;
            prop_assert!((both - rule).abs() < 1e-9);
            // Taking a departure away puts the share on its target.
            for found in &view.departures {
                let left = 100.0 * (parts.meq_100g(found.cation).unwrap() - found.meq_100g) / cec;
                let [from, to] = found.target_percent;
                prop_assert!(left > from - 1e-9 && left < to + 1e-9);
            }
            // The equivalents are the same in gypsum as in magnesium.
            for mover in &view.movers {
                if let Mover::GypsumForMagnesium { lb_ac, .. } = mover {
                    let excess = departure(&view, Cation::Mg).meq_100g;
                    prop_assert!((lb_ac - gypsum_lb_ac(excess, 2e6)).abs() < 1e-9 && excess > 0.0);
                }
            }
        }

        #[test]
        fn pounds_scale_with_the_soil_and_shares_do_not(
            ca in 0.1..30.0_f64, mg in 0.05..12.0_f64, k in 0.01..3.0_f64, acid in 0.0..12.0_f64, depth_in in 8.0..24.0_f64,
        ) {
            let zone = ground([ca, mg, k, 0.1, acid]);
            let [shallow, deep] = [7.0, depth_in]
                .map(|depth_in| ZoneSharing::of(&zone, &SharingSettings { depth_in, ..asked() }).against.unwrap());
            let times = depth_in * 0.3e6 / 2e6;
            for (a, b) in shallow.departures.iter().zip(&deep.departures) {
                prop_assert_eq!(a.meq_100g, b.meq_100g);
                prop_assert!((a.lb_ac * times - b.lb_ac).abs() <= 1e-9 * b.lb_ac.abs().max(1.0));
            }
            for (a, b) in shallow.movers.iter().zip(&deep.movers) {
                if let (Mover::GypsumForMagnesium { lb_ac: a, .. }, Mover::GypsumForMagnesium { lb_ac: b, .. }) = (a, b) {
                    prop_assert!((a * times - b).abs() <= 1e-9 * b.max(1.0));
                }
            }
        }
    }
}
