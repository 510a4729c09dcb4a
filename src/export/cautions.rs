//! Cautions for whoever spreads: one list for every output with rates, chosen by what the plan holds.

use crate::rates::{Form, Product, Supply};

/// A caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Caution {
    /// What a recommendation is.
    Recommendation,
    /// Local rules.
    LocalRules,
    /// Not for manure, no nutrient-management plan.
    NoNutrientPlan,
    /// Dust of dry products.
    Dust,
    /// Lime: dust, burns, what it must not be mixed with.
    Lime,
    /// More lime than the soil takes.
    Overliming,
    /// Salt and chloride.
    PotassiumChloride,
    /// Ammonia from urea.
    Urea,
    /// Nitrogen that leaches from ground that holds little.
    NitrogenOnLightGround,
    /// Phosphorus in water.
    Phosphorus,
    /// Liquids.
    Liquid,
}

/// What a plan holds, as far as it calls for a caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct PlanHolds {
    /// A dry product.
    pub dry: bool,
    /// Lime.
    pub lime: bool,
    /// Potassium chloride.
    pub potassium_chloride: bool,
    /// Urea, alone or in a solution.
    pub urea: bool,
    /// Any nitrogen.
    pub nitrogen: bool,
    /// Any phosphorus.
    pub phosphorus: bool,
    /// A liquid.
    pub liquid: bool,
    /// Ground that holds little, or whose holding is not known.
    pub light_ground: bool,
}

/// K2O from which a potash can only be the chloride, percent: pure chloride holds 63, the sulfate 54 \[A on atomic
/// masses, M\].
const CHLORIDE_FROM_K2O_PERCENT: f64 = 55.0;
/// Nitrogen of dry urea, percent: 46 (IFA \[R\]), with room for a coating or an inhibitor.
const UREA_N_PERCENT: [f64; 2] = [43.0, 47.0];
/// Nitrogen of solutions of urea and ammonium nitrate, percent: 28 to 32 \[R2\].
const SOLUTION_N_PERCENT: [f64; 2] = [27.0, 33.0];

impl PlanHolds {
    /// What two plans hold together.
    pub fn and(self, other: Self) -> Self {
        PlanHolds {
            dry: self.dry || other.dry,
            lime: self.lime || other.lime,
            potassium_chloride: self.potassium_chloride || other.potassium_chloride,
            urea: self.urea || other.urea,
            nitrogen: self.nitrogen || other.nitrogen,
            phosphorus: self.phosphorus || other.phosphorus,
            liquid: self.liquid || other.liquid,
            light_ground: self.light_ground || other.light_ground,
        }
    }

    /// By the analysis of the products, and by their names where those say more than the analysis.
    pub fn of<'a>(products: impl IntoIterator<Item = &'a Product>, light_ground: bool) -> Self {
        let mut holds = PlanHolds { light_ground, ..PlanHolds::default() };
        for product in products {
            let percent = |supply| 100.0 * product.share(supply);
            let name = product.name.to_lowercase();
            let is_liquid = matches!(product.form, Form::Liquid { .. });
            let n = percent(Supply::N);
            let urea_n = if is_liquid { SOLUTION_N_PERCENT } else { UREA_N_PERCENT };
            holds.liquid |= is_liquid;
            holds.dry |= !is_liquid;
            holds.lime |= percent(Supply::Lime) > 0.0;
            holds.potassium_chloride |= percent(Supply::K2o) >= CHLORIDE_FROM_K2O_PERCENT
                || name.contains("chloride") && percent(Supply::K2o) > 0.0
                || name.contains("muriate");
            holds.urea |= (urea_n[0]..=urea_n[1]).contains(&n) || name.contains("urea") && n > 0.0;
            holds.nitrogen |= n > 0.0;
            holds.phosphorus |= percent(Supply::P2o5) > 0.0;
        }
        holds
    }

    /// The cautions it calls for, each once, in the order they are printed.
    pub fn cautions(&self) -> Vec<Caution> {
        let called_for = [
            (Caution::Recommendation, true),
            (Caution::LocalRules, true),
            (Caution::NoNutrientPlan, self.nitrogen || self.phosphorus),
            (Caution::Dust, self.dry),
            (Caution::Lime, self.lime),
            (Caution::Overliming, self.lime && self.light_ground),
            (Caution::PotassiumChloride, self.potassium_chloride),
            (Caution::Urea, self.urea),
            (Caution::NitrogenOnLightGround, self.nitrogen && self.light_ground),
            (Caution::Phosphorus, self.phosphorus),
            (Caution::Liquid, self.liquid),
        ];
        called_for.into_iter().filter(|(_, is_called_for)| *is_called_for).map(|(caution, _)| caution).collect()
    }

    /// The same as sentences.
    pub fn sentences(&self) -> Vec<&'static str> {
        self.cautions().into_iter().map(Caution::sentence).collect()
    }

    /// The same as one paragraph.
    pub fn paragraph(&self) -> String {
        self.sentences().join(" ")
    }
}

impl Caution {
    /// All.
    pub const ALL: [Caution; 11] = [
        Caution::Recommendation,
        Caution::LocalRules,
        Caution::NoNutrientPlan,
        Caution::Dust,
        Caution::Lime,
        Caution::Overliming,
        Caution::PotassiumChloride,
        Caution::Urea,
        Caution::NitrogenOnLightGround,
        Caution::Phosphorus,
        Caution::Liquid,
    ];

    /// The caution in words.
    ///
    /// # Source
    /// Recommendation: Ohio State Univ. Extension \[R\]. Local rules, no nutrient-management plan: NRCS Code 590, Wisconsin
    /// text \[R\]; label: Virginia Tech \[R\]. Dust: Royal Horticultural Society, of sulfur \[R\]. Lime: Peace Corps soils
    /// manual, copy \[R\]. Overliming: Univ. of Delaware \[R\]. Potassium chloride, 47.6 % chloride: Virginia Tech \[R\];
    /// beside the row: Michigan State Univ. \[R\]. Urea on the surface, leaf burn, wind: from memory \[M\]. Nitrogen on
    /// coarse ground, 20 to 50 % lost after fall: Univ. of Illinois \[R\]. Phosphorus: Ohio Revised Code 905.326 \[R\], 50
    /// ppm: Ohio State Univ. \[R\]. Salting out: trade table of solutions \[R2\].
    pub fn sentence(self) -> &'static str {
        match self {
            Caution::Recommendation => {
                "A recommendation for the region, soil test, depth and crop of its guide, not a guarantee; others advise \
                 otherwise from the same soil. Ask a certified adviser."
            }
            Caution::LocalRules => {
                "Local rules on setbacks from wells and water, on timing, on frozen, snow-covered or wet ground and on records \
                 govern, as does the product's label."
            }
            Caution::NoNutrientPlan => "This is no nutrient-management plan, and it is not made for manure.",
            Caution::Dust => {
                "Keep dust off skin, eyes and lungs, and do not spread where wind carries it to people, stock or water."
            }
            Caution::Lime => {
                "Burned or slaked lime burns skin and eyes: gloves, goggles, mask. Do not mix lime with urea, ammonium or \
                 phosphate fertilizer: ammonia escapes and phosphorus is tied up."
            }
            Caution::Overliming => {
                "Ground that holds little is soon limed too far: test again within a year before liming it again."
            }
            Caution::PotassiumChloride => {
                "Potassium chloride is a salt, 47.6 % chloride: with the seed it can burn it; beside the row keep to the limits of \
                 your state."
            }
            Caution::Urea => {
                "Urea left on the surface, most of all on lime, residue or warm ground, loses ammonia: work it in or spread \
                 before rain; keep it away from the seed."
            }
            Caution::NitrogenOnLightGround => {
                "CEC does not hold nitrate or urea: on ground that holds little nitrogen can leach into wells; give it in parts \
                 to the growing crop, none in the fall."
            }
            Caution::Phosphorus => {
                "Phosphorus that washes off feeds algae: none on frozen, snow-covered or soaked ground or before heavy rain; above \
                 50 ppm (Bray-1, Ohio) crops need none."
            }
            Caution::Liquid => {
                "Liquids salt out in the cold, burn leaves they are sprayed on and spill fast: stay away from wells when filling, \
                 and go by the density of the batch."
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn product(name: &str, percent: &[(Supply, f64)], form: Form) -> Product {
        Product { short: "X".into(), name: name.into(), percent: percent.to_vec(), form, usd_lb: None }
    }

    const DRY: Form = Form::Dry { lb_ft3: None };
    const LIQUID: Form = Form::Liquid { lb_gal: 10.67 };

    fn cautions(products: &[Product], light_ground: bool) -> Vec<Caution> {
        PlanHolds::of(products, light_ground).cautions()
    }

    #[test]
    fn potash_brings_salt_and_dust_and_no_more() {
        let potash = [product("Potash 0-0-60", &[(Supply::K2o, 60.0)], DRY)];
        let expected = [Caution::Recommendation, Caution::LocalRules, Caution::Dust, Caution::PotassiumChloride];
        assert_eq!(cautions(&potash, true), expected);
        // Potassium sulfate, 50 % K2O, and potassium-magnesium sulfate, 22 % (IFA [R]), hold no chloride.
        for percent in [50.0, 22.0] {
            let sulfate = [product("Sulfate of potash", &[(Supply::K2o, percent)], DRY)];
            assert!(!cautions(&sulfate, true).contains(&Caution::PotassiumChloride));
        }
        let blend = [product("Blend with muriate", &[(Supply::N, 10.0), (Supply::K2o, 30.0)], DRY)];
        assert!(cautions(&blend, false).contains(&Caution::PotassiumChloride));
    }

    #[test]
    fn nitrogen_is_told_apart_by_analysis_and_ground() {
        // Analyses: IFA table [R]; UAN 28 [R2].
        let urea = product("Urea 46-0-0", &[(Supply::N, 46.0)], DRY);
        let uan = product("UAN 28-0-0", &[(Supply::N, 28.0)], LIQUID);
        let map = product("MAP 11-52-0", &[(Supply::P2o5, 52.0), (Supply::N, 11.0)], DRY);
        let sulfate = product("Ammonium sulfate", &[(Supply::N, 21.0), (Supply::S, 24.0)], DRY);
        let is = |product: &Product, caution| cautions(std::slice::from_ref(product), true).contains(&caution);
        assert!(is(&urea, Caution::Urea) && is(&uan, Caution::Urea));
        assert!(!is(&map, Caution::Urea) && !is(&sulfate, Caution::Urea));
        assert!(is(&uan, Caution::Liquid) && !is(&uan, Caution::Dust));
        assert!(is(&map, Caution::Phosphorus) && is(&map, Caution::NoNutrientPlan));
        assert!(is(&sulfate, Caution::NitrogenOnLightGround));
        assert!(!cautions(&[sulfate], false).contains(&Caution::NitrogenOnLightGround));
    }

    #[test]
    fn lime_is_warned_of_on_light_ground_twice() {
        let lime = [product("Ag lime", &[(Supply::Lime, 69.9)], DRY)];
        assert!(
            cautions(&lime, false).contains(&Caution::Lime) && !cautions(&lime, false).contains(&Caution::Overliming)
        );
        assert!(cautions(&lime, true).contains(&Caution::Overliming));
    }

    #[test]
    fn every_list_starts_with_advice_and_local_rules_and_says_nothing_twice() {
        let all = PlanHolds {
            dry: true,
            lime: true,
            potassium_chloride: true,
            urea: true,
            nitrogen: true,
            phosphorus: true,
            liquid: true,
            light_ground: true,
        };
        assert_eq!(all.cautions(), Caution::ALL);
        for holds in [PlanHolds::default(), all] {
            assert_eq!(holds.cautions()[..2], [Caution::Recommendation, Caution::LocalRules]);
            let paragraph = holds.paragraph();
            assert!(paragraph.contains("certified adviser") && paragraph.contains("Local rules"));
            let mut sentences = holds.sentences();
            sentences.sort_unstable();
            sentences.dedup();
            assert_eq!(sentences.len(), holds.cautions().len());
        }
        for caution in Caution::ALL {
            assert!(caution.sentence().ends_with('.') && caution.sentence().len() < 240, "{caution:?}");
        }
    }
}
