//! Potassium and phosphorus by a guide: one soil and the crops of all years to pounds, with the sentence why.

use super::guide::{self, BuildUpChoice, Guide, NeedState, NoNeed, NutrientNeed};
use super::{Crop, HoldSettings, Supply};

/// What a guide says of one soil over the crop years.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct YearsNeed {
    /// One a crop year.
    pub(super) years: Vec<NutrientNeed>,
    /// lb/ac over all years.
    pub(super) lb_ac: f64,
}

impl YearsNeed {
    /// Whether the soil lies below the critical level of any year.
    pub(super) fn is_below(&self) -> bool {
        self.years.iter().any(|need| need.state == NeedState::BuildUp)
    }

    /// Highest critical level of the years, ppm.
    pub(super) fn critical_ppm(&self) -> f64 {
        self.years.iter().map(|need| need.levels.critical_ppm).fold(0.0, f64::max)
    }
}

/// The guide's word on one soil, year by year. Ground up to [`HoldSettings::no_build_up_to_cec`] is kept up in potassium,
/// not built up.
pub(super) fn years_need(
    guide: &Guide,
    supply: Supply,
    test_ppm: f64,
    cec_meq_100g: Option<f64>,
    crops: &[(Crop, f64)],
    hold: &HoldSettings,
) -> Result<YearsNeed, NoNeed> {
    let rotation: Vec<Crop> = crops.iter().map(|(crop, _)| *crop).collect();
    let is_kept_up =
        supply == Supply::K2o && hold.no_build_up_to_cec.zip(cec_meq_100g).is_some_and(|(edge, cec)| cec <= edge);
    let choice = if is_kept_up { BuildUpChoice::KeepUp } else { BuildUpChoice::Raise };
    let year = |&(crop, yield_ac): &(Crop, f64)| {
        let year = guide::CropYear { crop, yield_ac, rotation: &rotation };
        guide.nutrient_need(supply, test_ppm, cec_meq_100g, &year, choice)
    };
    let years: Vec<NutrientNeed> = crops.iter().map(year).collect::<Result<_, _>>()?;
    let lb_ac = years.iter().map(|need| need.lb_ac).sum();
    Ok(YearsNeed { years, lb_ac })
}

/// Why, in words with the numbers.
pub(super) struct Why {
    /// What each crop year asks for: "corn 150 bu: 28 toward the level + 41 removed + 20".
    pub(super) years: Vec<String>,
    /// Where the soil stands.
    pub(super) soil: String,
}

/// Why, in words with the numbers.
pub(super) fn why(
    need: &YearsNeed,
    guide: &Guide,
    supply: Supply,
    test_ppm: f64,
    cec_meq_100g: Option<f64>,
    crops: &[(Crop, f64)],
) -> Why {
    let symbol = if supply == Supply::K2o { "K" } else { "P" };
    let of_year = |(one, (crop, goal)): (&NutrientNeed, &(Crop, f64))| {
        let mut parts = Vec::new();
        if one.build_up_lb_ac > 0.0 {
            parts.push(format!("{:.0} toward the level", one.build_up_lb_ac));
        }
        let upkeep = match one.added_lb_ac > 0.0 {
            true => format!("{:.0} removed + {:.0}", one.removal_lb_ac, one.added_lb_ac),
            false => format!("{:.0} removed", one.removal_lb_ac),
        };
        match one.upkeep_share {
            1.0 => parts.push(upkeep),
            0.0 => {}
            share => parts.push(format!("{:.0} % of ({upkeep})", 100.0 * share)),
        }
        let parts = if parts.is_empty() { "nothing".to_owned() } else { parts.join(" + ") };
        format!("{} {goal:.0} {}: {parts}", crop.name(), crop.yield_unit())
    };
    let years: Vec<String> = need.years.iter().zip(crops).map(of_year).collect();
    let critical_ppm = need.critical_ppm();
    let at_cec = cec_meq_100g.map_or(String::new(), |cec| format!(" at CEC {cec:.1}"));
    let state = need.years.first().map_or("", |first| first.state.name());
    let mut soil = format!("{symbol} {test_ppm:.0} ppm, level {critical_ppm:.0}{at_cec}, {state}, by {}", guide.name);
    let left_out: f64 = need.years.iter().map(|one| one.left_out_lb_ac).sum();
    if left_out > 0.0 {
        soil += &format!(
            "; {left_out:.0} lb to build up left out: ground that holds this little is kept up year by year (your setting)"
        );
    }
    let over: f64 = need.years.iter().map(|one| one.over_most_lb_ac).sum();
    if over > 0.0 {
        soil += &format!("; {over:.0} lb above the guide's most of a year left out");
    }
    Why { years, soil }
}
