//! Potassium and phosphorus: critical level, build-up, maintenance, draw-down.
//!
//! ```text
//! lb/ac |\  build-up
//!       | \________  maintenance: what the crop takes off (and what the guide adds)
//!       |          \  draw-down, or none
//!       |___________\______ ppm
//!          critical  maintenance to
//! ```

use super::evidence::{Backed, Backing};
use super::nutrient_need::{BuildUpChoice, CropYear, NeedState, NoNeed, NutrientNeed, SoilLevels};
use crate::rates::Crop;
use crate::samples::LabMethod;

/// CEC within this of a step is called near it, meq/100 g. Source: field notes, heuristic: less than a lab tells apart.
pub const NEAR_STEP_MEQ_100G: f64 = 0.5;

/// One step of a critical level in steps of CEC.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CriticalStep {
    /// Up to and with this CEC, meq/100 g; `None` = all above.
    pub to_cec: Option<f64>,
    /// Critical level, ppm.
    pub critical_ppm: f64,
    /// End of the maintenance range, ppm.
    pub maintenance_to_ppm: f64,
}

/// Critical level of the soil test.
#[derive(Debug, Clone, PartialEq)]
pub enum Critical {
    /// `base_ppm + per_cec_ppm * CEC`.
    Linear {
        /// ppm at CEC 0.
        base_ppm: f64,
        /// ppm more for each meq/100 g.
        per_cec_ppm: f64,
    },
    /// In steps, from low CEC to high.
    Steps(Vec<CriticalStep>),
    /// One a crop.
    ByCrop {
        /// Crop and level, ppm.
        levels: Vec<(Crop, f64)>,
        /// The most demanding crop of the rotation decides.
        highest_of_rotation: bool,
    },
}

/// How ground below the critical level is raised, lb of nutrient a year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BuildUp {
    /// `(level - test) * (lb_ppm_year + lb_ppm_year_per_cec * CEC)`.
    Linear {
        /// lb/ac a year for each ppm below the level.
        lb_ppm_year: f64,
        /// The same, more for each meq/100 g.
        lb_ppm_year_per_cec: f64,
        /// Years in which the level is reached.
        years: f64,
    },
    /// `lb_per_root * (sqrt(level) - sqrt(test)) / years`, level and test in lb/ac.
    SquareRoot {
        /// lb for each unit of the square root of lb/ac.
        lb_per_root: f64,
        /// lb/ac of the guide's soil test in one ppm.
        lb_ac_per_ppm: f64,
        /// Years in which the level is reached.
        years: f64,
    },
}

/// The rule of a guide for one nutrient.
#[derive(Debug, Clone, PartialEq)]
pub struct NutrientRule {
    /// Crops it is made for; each has its removal in the guide.
    pub crops: Vec<Crop>,
    /// Soil tests it is calibrated for.
    pub extractants: Vec<LabMethod>,
    /// Cores from the surface to a depth within this, in.
    pub depth_bottom_in: [f64; 2],
    /// Kinds of CEC it takes; none where it needs no CEC.
    pub cec_methods: Vec<LabMethod>,
    /// Critical level.
    pub critical: Backed<Critical>,
    /// Build-up.
    pub build_up: Backed<BuildUp>,
    /// Width of the maintenance range, ppm; `None` where the steps of the level have it.
    pub maintenance_ppm: Option<Backed<f64>>,
    /// Width of the draw-down range above it, ppm; `None` = nothing is drawn down.
    pub draw_down_ppm: Option<Backed<f64>>,
    /// Added to removal in each crop-year, lb/ac; `None` = nothing.
    pub added_lb_ac: Option<Backed<f64>>,
    /// Most of one crop-year by crop, lb/ac.
    pub most_lb_ac: Option<Backed<Vec<(Crop, f64)>>>,
    /// Nothing is needed above this, ppm.
    pub ceiling_ppm: Option<Backed<f64>>,
}

impl NutrientRule {
    /// Whether the critical level or the build-up depends on the CEC.
    pub fn needs_cec(&self) -> bool {
        let level = !matches!(self.critical.value, Critical::ByCrop { .. });
        let is_flat = matches!(self.critical.value, Critical::Linear { per_cec_ppm: 0.0, .. });
        let by_cec =
            matches!(self.build_up.value, BuildUp::Linear { lb_ppm_year_per_cec, .. } if lb_ppm_year_per_cec != 0.0);
        (level && !is_flat) || by_cec
    }

    /// The levels of this ground; `cec_meq_100g` may be anything where the rule needs none.
    ///
    /// # Errors
    /// [`NoNeed::NotForCrop`], [`NoNeed::NoCec`], [`NoNeed::NoAmount`].
    pub fn levels(&self, cec_meq_100g: Option<f64>, crop: Crop, rotation: &[Crop]) -> Result<SoilLevels, NoNeed> {
        let cec = self.cec(cec_meq_100g)?;
        if !self.crops.contains(&crop) {
            return Err(NoNeed::NotForCrop(crop));
        }
        let width = self.maintenance_ppm.as_ref().map_or(0.0, |width| width.value);
        let (critical_ppm, maintenance_to_ppm) = match &self.critical.value {
            Critical::Linear { base_ppm, per_cec_ppm } => {
                let level = base_ppm + per_cec_ppm * cec;
                (level, level + width)
            }
            Critical::Steps(steps) => {
                let step =
                    steps.iter().find(|step| step.to_cec.is_none_or(|to| cec <= to)).unwrap_or(&steps[steps.len() - 1]);
                (step.critical_ppm, step.maintenance_to_ppm)
            }
            Critical::ByCrop { levels, highest_of_rotation } => {
                let others: &[Crop] = if *highest_of_rotation { rotation } else { &[] };
                let counts = |of: Crop| of == crop || others.contains(&of);
                let level = levels.iter().filter(|(of, _)| counts(*of)).map(|(_, ppm)| *ppm).fold(0.0, f64::max);
                (level, level + width)
            }
        };
        let drawn_to = maintenance_to_ppm + self.draw_down_ppm.as_ref().map_or(0.0, |width| width.value);
        let ceiling = self.ceiling_ppm.as_ref().map_or(f64::INFINITY, |ceiling| ceiling.value);
        Ok(SoilLevels {
            critical_ppm,
            maintenance_to_ppm: maintenance_to_ppm.min(ceiling),
            none_from_ppm: drawn_to.min(ceiling),
        })
    }

    /// A step of the critical level within [`NEAR_STEP_MEQ_100G`] of a CEC, meq/100 g.
    pub fn near_step(&self, cec_meq_100g: f64) -> Option<f64> {
        let Critical::Steps(steps) = &self.critical.value else { return None };
        let edges = steps.iter().filter_map(|step| step.to_cec);
        edges.into_iter().find(|edge| (cec_meq_100g - edge).abs() <= NEAR_STEP_MEQ_100G)
    }

    /// Nutrient for one crop-year.
    ///
    /// # Units
    /// `test_ppm` ppm by one of `extractants`; `cec_meq_100g` meq/100 g, `None` = not known; `removal_lb_unit` lb of
    /// nutrient in one unit of yield.
    ///
    /// # Guarantees
    /// Never negative; never rises with `test_ppm` (looked at when the guide is read).
    ///
    /// # Errors
    /// [`NoNeed`]: never a guessed figure.
    pub(super) fn need(
        &self,
        removal_lb_unit: f64,
        test_ppm: f64,
        cec_meq_100g: Option<f64>,
        year: &CropYear<'_>,
        choice: BuildUpChoice,
    ) -> Result<NutrientNeed, NoNeed> {
        for amount in [test_ppm, year.yield_ac] {
            amount_or_none(amount)?;
        }
        let levels = self.levels(cec_meq_100g, year.crop, year.rotation)?;
        let cec = self.cec(cec_meq_100g)?;
        let SoilLevels { critical_ppm, maintenance_to_ppm, none_from_ppm } = levels;
        // Where nothing is drawn down, the end of the maintenance range already needs nothing.
        let (state, upkeep_share) = if test_ppm >= none_from_ppm {
            (NeedState::None, 0.0)
        } else if test_ppm < critical_ppm {
            (NeedState::BuildUp, 1.0)
        } else if test_ppm <= maintenance_to_ppm {
            (NeedState::Maintenance, 1.0)
        } else {
            let width = self.draw_down_ppm.as_ref().map_or(0.0, |width| width.value);
            (NeedState::DrawDown, 1.0 - (test_ppm - maintenance_to_ppm) / width)
        };
        let raise = if state == NeedState::BuildUp { self.build_up_lb_ac(critical_ppm, test_ppm, cec) } else { 0.0 };
        let (build_up_lb_ac, left_out_lb_ac) = match choice {
            BuildUpChoice::Raise => (raise, 0.0),
            BuildUpChoice::KeepUp => (0.0, raise),
        };
        let removal_lb_ac = year.yield_ac * removal_lb_unit;
        let added_lb_ac = self.added_lb_ac.as_ref().map_or(0.0, |added| added.value);
        let whole_lb_ac = build_up_lb_ac + upkeep_share * (removal_lb_ac + added_lb_ac);
        let mosts = self.most_lb_ac.iter().flat_map(|most| &most.value);
        let most = mosts.filter(|(crop, _)| *crop == year.crop).map(|(_, most)| *most).fold(f64::INFINITY, f64::min);
        let lb_ac = whole_lb_ac.min(most);
        Ok(NutrientNeed {
            lb_ac,
            build_up_lb_ac,
            left_out_lb_ac,
            removal_lb_ac,
            added_lb_ac,
            upkeep_share,
            over_most_lb_ac: whole_lb_ac - lb_ac,
            levels,
            state,
            near_step_cec: cec_meq_100g.and_then(|cec| self.near_step(cec)),
        })
    }

    /// What raises the ground, lb/ac a year.
    fn build_up_lb_ac(&self, critical_ppm: f64, test_ppm: f64, cec_meq_100g: f64) -> f64 {
        match self.build_up.value {
            BuildUp::Linear { lb_ppm_year, lb_ppm_year_per_cec, .. } => {
                (critical_ppm - test_ppm) * (lb_ppm_year + lb_ppm_year_per_cec * cec_meq_100g)
            }
            BuildUp::SquareRoot { lb_per_root, lb_ac_per_ppm, years } => {
                let root = |ppm: f64| (ppm * lb_ac_per_ppm).sqrt();
                lb_per_root * (root(critical_ppm) - root(test_ppm)) / years
            }
        }
    }

    /// The CEC the rule works with; 0 where it needs none.
    fn cec(&self, cec_meq_100g: Option<f64>) -> Result<f64, NoNeed> {
        if !self.needs_cec() {
            return Ok(0.0);
        }
        amount_or_none(cec_meq_100g.ok_or(NoNeed::NoCec)?)
    }

    /// What stands behind every group of figures, in the order of print.
    pub fn backings(&self) -> Vec<&Backing> {
        let mut all = vec![&self.critical.backing, &self.build_up.backing];
        all.extend(
            [&self.maintenance_ppm, &self.draw_down_ppm, &self.added_lb_ac, &self.ceiling_ppm]
                .into_iter()
                .flatten()
                .map(|group| &group.backing),
        );
        all.extend(self.most_lb_ac.as_ref().map(|group| &group.backing));
        all
    }
}

fn amount_or_none(amount: f64) -> Result<f64, NoNeed> {
    if amount.is_finite() && amount >= 0.0 { Ok(amount) } else { Err(NoNeed::NoAmount(amount)) }
}
