//! What a person should know about the passes of a zone: cautions of published guides and house rules of thumb.

use super::books::Books;
use super::{CAP_NOT_FROM_CEC, LIME_WITH_NITROGEN, MUCH_AT_ONCE, NITROGEN_CAUTION, Notice, Spread};
use crate::diagnostic::Code;
use crate::fields::HoldingClass;
use crate::rates::hold_cap::told_of_cap;
use crate::rates::nitrogen_split::{CEC_STANDS_IN, NitrogenRule};
use crate::rates::{Crop, NitrogenStage, Placement, Supply};

/// Potash of one pass before soybean or on the seed row above which it is said, lb K2O/ac. Source: heuristic.
const K2O_NEAR_SEED_LB_AC: f64 = 150.0;

/// Most in a band beside the row at planting, lb/ac: crop, and N, P2O5, K2O, N and K2O together (`None` = not given).
/// Source: Michigan State Univ. Extension \[R\], bands 2 in beside and below the seed; corn on other than clayey ground.
const BAND_MOST_LB_AC: [(Crop, [Option<f64>; 4]); 2] = [
    (Crop::Corn, [Some(40.0), Some(100.0), Some(100.0), Some(100.0)]),
    (Crop::Soybean, [Some(0.0), None, Some(80.0), None]),
];

impl Books<'_> {
    pub(super) fn notices(&self, spreads: &[Spread]) -> Vec<Notice> {
        let mut notices = Vec::new();
        let mut say = |code: &'static Code, is_warning: bool, text: String| {
            let notice = Notice { code, is_warning, text };
            if !notices.contains(&notice) {
                notices.push(notice);
            }
        };
        let needs = |supply| self.needs.iter().any(|need| need.supply == supply && need.lb_ac > 0.0);
        if needs(Supply::K2o)
            && let Some(told) = told_of_cap(&self.ground, self.rules.hold)
        {
            say(&CAP_NOT_FROM_CEC, true, told);
        }
        if self.class.is_none() && (needs(Supply::K2o) || needs(Supply::N)) {
            let text = "how much this ground holds is not known: passes for some classes of ground leave it out, potash may come a year early, and nitrogen follows the rule for other ground";
            say(&CAP_NOT_FROM_CEC, true, text.to_owned());
        }
        for (index, pass) in self.rules.passes.iter().enumerate() {
            let here: Vec<&Spread> = spreads.iter().filter(|spread| spread.pass == index).collect();
            let brings = |supply: Supply| -> f64 {
                let amounts = here.iter().flat_map(|spread| &spread.brings).filter(|(of, _)| *of == supply);
                amounts.fold(0.0, |sum, (_, lb_ac)| sum + lb_ac)
            };
            let crop = self.rules.crops.get(pass.year.wrapping_sub(1)).copied().flatten();
            let is_planting = self.stage_of(index) == NitrogenStage::Planting;
            let k2o = brings(Supply::K2o);
            let near_seed = match (crop, pass.placement) {
                (_, Placement::Band) if is_planting => Some("on the seed row"),
                (Some(Crop::Soybean), _) if is_planting => Some("just before soybean"),
                _ => None,
            };
            if let Some(place) = near_seed.filter(|_| k2o > K2O_NEAR_SEED_LB_AC) {
                let text = format!(
                    "`{}` brings {k2o:.0} lb K2O {place}: above {K2O_NEAR_SEED_LB_AC:.0} its chloride and salt may hurt the stand (a rule of thumb)",
                    pass.name
                );
                say(&MUCH_AT_ONCE, true, text);
            }
            if is_planting && pass.placement == Placement::Band {
                for text in band_texts(crop, [brings(Supply::N), brings(Supply::P2o5), k2o]) {
                    say(&MUCH_AT_ONCE, true, format!("`{}`: {text}", pass.name));
                }
            }
            if brings(Supply::Lime) > 0.0 && brings(Supply::N) + brings(Supply::P2o5) > 0.0 {
                let text = format!(
                    "`{}` spreads lime with nitrogen or phosphate: ammonia is lost, phosphate tied up",
                    pass.name
                );
                say(&LIME_WITH_NITROGEN, true, text);
            }
            if brings(Supply::N) > 0.0 {
                self.nitrogen_notices(index, brings(Supply::N), &mut say);
            }
        }
        if let NitrogenRule::Set(set) = self.rules.nitrogen.rule(self.class)
            && needs(Supply::N)
        {
            for caution in &set.cautions {
                say(&NITROGEN_CAUTION, true, format!("{}: {caution}", set.name));
            }
            let water = match set.irrigated {
                Some(true) => ", irrigated",
                Some(false) => ", not irrigated",
                None => "",
            };
            say(&NITROGEN_CAUTION, false, format!("{} was made for {} in {}{water}", set.name, set.crop, set.region));
        }
        for told in &self.told_of_nitrogen {
            say(&NITROGEN_CAUTION, false, told.clone());
        }
        notices
    }

    fn nitrogen_notices(&self, pass: usize, n_lb_ac: f64, say: &mut dyn FnMut(&'static Code, bool, String)) {
        let name = &self.rules.passes[pass].name;
        match self.stage_of(pass) {
            NitrogenStage::Standing => {
                say(&NITROGEN_CAUTION, false, format!("`{name}`: no nitrogen after pollination"));
            }
            NitrogenStage::Fall if self.class == Some(HoldingClass::Little) => {
                let text = format!(
                    "`{name}` brings {n_lb_ac:.0} lb N in the fall to ground that holds little: 20 to 50 % of it is lost on coarse ground (Illinois [R])"
                );
                say(&NITROGEN_CAUTION, true, text);
            }
            _ => {}
        }
        let is_by_set = matches!(self.rules.nitrogen.rule(self.class), NitrogenRule::Set(_));
        if is_by_set || self.class == Some(HoldingClass::Little) {
            say(&NITROGEN_CAUTION, false, CEC_STANDS_IN.to_owned());
        }
    }
}

fn band_texts(crop: Option<Crop>, [n, p2o5, k2o]: [f64; 3]) -> Vec<String> {
    let Some((crop, most)) = BAND_MOST_LB_AC.into_iter().find(|(of, _)| Some(*of) == crop) else { return Vec::new() };
    let amounts = [(n, "lb N"), (p2o5, "lb P2O5"), (k2o, "lb K2O"), (n + k2o, "lb N and K2O together")];
    amounts
        .into_iter()
        .zip(most)
        .filter_map(|((lb_ac, what), most)| {
            let most = most.filter(|most| lb_ac > most + 0.5)?;
            Some(format!(
                "{lb_ac:.0} {what} in a band beside the row of {}, published most {most:.0} (Michigan State Univ. [R])",
                crop.name()
            ))
        })
        .collect()
}
