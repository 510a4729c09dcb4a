//! Lime: how much of a stated lime brings the soil to a target pH.

use super::evidence::{Backed, Backing, Evidence};
use super::lime_basis::LimeBasis;
use super::lime_need::{EarlierLime, LimeNeed, LimeSoil, LimeState, NoLime, SoilClass};
use super::lime_table::LimeTable;
use crate::chemistry::Buffer;
use crate::samples::LabMethod;
use crate::units::{LB_PER_SHORT_TON, SoilBasis};

/// Near a jump of the rule within this, meq/100 g. Source: heuristic, what a lab hardly tells apart.
const NEAR_JUMP_MEQ: f64 = 0.5;

/// One target of a rule in steps of acidity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidityTarget {
    /// Target pH in water.
    pub ph: f64,
    /// lb/ac of the rule's lime for each meq.
    pub lb_per_meq: f64,
    /// Below this acidity (meq) a fixed amount, lb/ac, is given while the pH lies below the target.
    pub below: Option<(f64, f64)>,
}

/// The form of a lime rule.
#[derive(Debug, Clone, PartialEq)]
pub enum LimeForm {
    /// A table of buffer pH and target pH.
    Table(LimeTable),
    /// `short_ton_per_meq * acidity * (target - pH) / (reference - pH)`.
    AcidityShare {
        /// pH at which the buffer sees no acidity.
        reference_ph: f64,
        /// Short tons an acre for each meq at the reference pH.
        short_ton_per_meq: f64,
    },
    /// A factor on the acidity for each of a few targets.
    AciditySteps(Vec<AcidityTarget>),
}

/// How fast earlier lime is counted as done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimeCredit {
    /// Percent of it a month, on mineral soil.
    pub percent_month_mineral: f64,
    /// Percent of it a month, on mineral-organic and organic soil.
    pub percent_month_organic: f64,
    /// Lime longer ago than this is not counted, months.
    pub months: f64,
}

/// When lime that brings magnesium is to be chosen: below either level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MagnesiumLevels {
    /// Magnesium, percent of the CEC.
    pub percent_of_cec: f64,
    /// Magnesium, ppm.
    pub ppm: f64,
}

/// The lime rule of a guide.
#[derive(Debug, Clone, PartialEq)]
pub struct LimeRule {
    /// Its form with its figures.
    pub form: Backed<LimeForm>,
    /// The lime it is stated in.
    pub basis: LimeBasis,
    /// What stands behind the basis.
    pub basis_tags: Vec<Evidence>,
    /// Depth of soil it is stated for, in.
    pub depth_in: f64,
    /// What stands behind the depth.
    pub depth_tags: Vec<Evidence>,
    /// Buffers it reads.
    pub buffers: Vec<Buffer>,
    /// How an acidity it reads was measured; none where it reads none.
    pub acidity_methods: Vec<LabMethod>,
    /// Whether that acidity is per 100 g or per 100 cm3.
    pub acidity_basis: SoilBasis,
    /// How earlier lime is counted.
    pub credit: Option<Backed<LimeCredit>>,
    /// When lime is to bring magnesium.
    pub magnesium: Option<Backed<MagnesiumLevels>>,
}

impl LimeRule {
    /// Lime for one soil.
    ///
    /// # Units
    /// `target_ph` pH in water; `limed_depth_in` depth the lime is worked into, in: the amount scales with it (agronomy
    /// check 48, E-2567 \[R\]: 4 of 8 in is half the rate).
    ///
    /// # Guarantees
    /// Never negative; never rises with buffer pH or pH, nor falls with acidity, the target of a table or the depth; 0
    /// where the soil has its target.
    ///
    /// # Errors
    /// [`NoLime`]: outside what the guide gives there is no number.
    pub fn need(&self, soil: &LimeSoil, target_ph: f64, limed_depth_in: f64) -> Result<LimeNeed, NoLime> {
        if !(limed_depth_in > 0.0 && limed_depth_in <= 12.0) {
            return Err(NoLime::Depth(limed_depth_in));
        }
        let ph = ph_or_none(soil.ph_water.ok_or(NoLime::NoWaterPh)?)?;
        let mut need = LimeNeed {
            short_ton_ac: 0.0,
            guide_depth_short_ton_ac: 0.0,
            depth_factor: depth_factor(limed_depth_in, self.depth_in),
            credit_short_ton_ac: 0.0,
            basis: self.basis,
            state: LimeState::ByRule,
            why: String::new(),
            notes: Vec::new(),
        };
        if ph >= target_ph {
            need.state = LimeState::TargetMet;
            need.why = format!("no lime: pH {ph:.1} is at its target {target_ph}");
            return Ok(need);
        }
        if soil.not_run_by_rule {
            need.state = LimeState::NotRunByRule;
            need.why = format!("no lime: at pH {ph:.1} the lab, by its rule, runs no buffer");
            return Ok(need);
        }
        let (amount, reading) = self.amount(soil, ph, target_ph, &mut need.notes)?;
        need.guide_depth_short_ton_ac = amount;
        let scaled = amount * need.depth_factor;
        need.credit_short_ton_ac = self.credit_short_ton_ac(soil.earlier.as_ref()).min(scaled);
        need.short_ton_ac = scaled - need.credit_short_ton_ac;
        need.why = format!(
            "{:.2} short tons of {} to pH {target_ph}: {reading}, {amount:.2} for {} in",
            need.short_ton_ac,
            self.basis.words(),
            self.depth_in
        );
        if limed_depth_in != self.depth_in {
            need.why += &format!(", times {limed_depth_in}/{}", self.depth_in);
        }
        if need.credit_short_ton_ac > 0.0 {
            need.why += &format!(", less {:.2} still to come of earlier lime", need.credit_short_ton_ac);
        }
        Ok(need)
    }

    /// Short tons an acre at the guide's depth, and what was read.
    fn amount(
        &self,
        soil: &LimeSoil,
        ph: f64,
        target_ph: f64,
        notes: &mut Vec<String>,
    ) -> Result<(f64, String), NoLime> {
        match &self.form.value {
            LimeForm::Table(table) => {
                let buffer_ph = ph_or_none(soil.buffer_ph.ok_or(NoLime::NoReading("buffer pH"))?)?;
                Ok((table.short_ton_ac(buffer_ph, target_ph)?, format!("buffer pH {buffer_ph:.2}")))
            }
            LimeForm::AcidityShare { reference_ph, short_ton_per_meq } => {
                if target_ph > *reference_ph {
                    let given = format!("up to {reference_ph}, where its buffer sees no acidity");
                    return Err(NoLime::NotThisTarget { target_ph, given });
                }
                let acidity = self.acidity_meq(soil)?;
                let share = (target_ph - ph) / (reference_ph - ph);
                let amount = short_ton_per_meq * acidity * share;
                Ok((amount, format!("acidity {acidity:.2} {}, of it {share:.2}", self.acidity_unit())))
            }
            LimeForm::AciditySteps(targets) => {
                let target = targets.iter().find(|target| target.ph == target_ph).ok_or_else(|| {
                    let given: Vec<String> = targets.iter().map(|target| format!("{:.1}", target.ph)).collect();
                    NoLime::NotThisTarget { target_ph, given: given.join(", ") }
                })?;
                let acidity = self.acidity_meq(soil)?;
                notes.extend(target.jump_note(acidity));
                let lb_ac = target.lb_ac(acidity);
                Ok((lb_ac / LB_PER_SHORT_TON, format!("acidity {acidity:.1} {}", self.acidity_unit())))
            }
        }
    }

    /// Acidity the rule works with.
    fn acidity_meq(&self, soil: &LimeSoil) -> Result<f64, NoLime> {
        if let Some(acidity) = soil.acidity_meq.filter(|_| !self.acidity_methods.is_empty()) {
            let is_amount = acidity.is_finite() && acidity >= 0.0;
            return if is_amount { Ok(acidity) } else { Err(NoLime::NoAmount(acidity, "acidity")) };
        }
        // A rule of acidity reads one buffer at most: looked at when the guide is read.
        match (self.buffers.first(), soil.buffer_ph) {
            (Some(buffer), Some(buffer_ph)) => Ok(buffer.acidity_meq_100g(ph_or_none(buffer_ph)?)),
            (Some(_), None) => Err(NoLime::NoReading("acidity or buffer pH")),
            (None, _) => Err(NoLime::NoReading("acidity")),
        }
    }

    /// Unit of the acidity.
    pub fn acidity_unit(&self) -> &'static str {
        self.acidity_basis.cec_unit()
    }

    /// What of earlier lime is still to come, short tons an acre; 0 for a guide that counts none.
    ///
    /// # Source
    /// NCDA&CS \[R\]: 8 % a month is done on mineral soil, 16 % on mineral-organic and organic soil; lime of the last year.
    pub fn credit_short_ton_ac(&self, earlier: Option<&EarlierLime>) -> f64 {
        let Some((credit, earlier)) = self.credit.as_ref().map(|credit| credit.value).zip(earlier) else { return 0.0 };
        let percent_month = match earlier.soil {
            SoilClass::Mineral => credit.percent_month_mineral,
            SoilClass::Organic => credit.percent_month_organic,
        };
        if !(0.0..=credit.months).contains(&earlier.months_ago) {
            return 0.0;
        }
        earlier.short_ton_ac.max(0.0) * (1.0 - percent_month / 100.0 * earlier.months_ago).max(0.0)
    }

    /// Whether lime is to bring magnesium, in words; `None` where it need not, or the guide does not say.
    ///
    /// # Source
    /// Penn State \[R\]: magnesium below 5 % of the CEC, or below about 200 lb MgO an acre = 60 ppm; either is enough.
    pub fn wants_magnesium(&self, mg_ppm: Option<f64>, mg_percent_of_cec: Option<f64>) -> Option<String> {
        let levels = self.magnesium.as_ref()?.value;
        let low_ppm = mg_ppm.filter(|ppm| *ppm < levels.ppm);
        let low_share = mg_percent_of_cec.filter(|percent| *percent < levels.percent_of_cec);
        let mut reasons = Vec::new();
        reasons.extend(low_ppm.map(|ppm| format!("Mg {ppm:.0} ppm, below {}", levels.ppm)));
        reasons
            .extend(low_share.map(|percent| format!("Mg {percent:.1} % of the CEC, below {}", levels.percent_of_cec)));
        (!reasons.is_empty()).then(|| format!("choose lime that brings magnesium: {}", reasons.join("; ")))
    }

    /// What stands behind every group of figures, in the order of print.
    pub fn backings(&self) -> Vec<Backing> {
        let tagged = |tags: &Vec<Evidence>| Backing { tags: tags.clone(), source: None };
        let mut all = vec![self.form.backing.clone(), tagged(&self.basis_tags), tagged(&self.depth_tags)];
        all.extend(self.credit.as_ref().map(|group| group.backing.clone()));
        all.extend(self.magnesium.as_ref().map(|group| group.backing.clone()));
        all
    }
}

impl AcidityTarget {
    /// lb/ac of the rule's lime, at a pH below the target.
    fn lb_ac(&self, acidity_meq: f64) -> f64 {
        match self.below {
            Some((from_meq, fixed_lb_ac)) if acidity_meq < from_meq => fixed_lb_ac,
            _ => self.lb_per_meq * acidity_meq,
        }
    }

    /// The jump of the rule, where this acidity lies near it.
    fn jump_note(&self, acidity_meq: f64) -> Option<String> {
        let (from_meq, fixed_lb_ac) = self.below?;
        let is_near = (acidity_meq - from_meq).abs() <= NEAR_JUMP_MEQ;
        is_near.then(|| {
            format!(
                "the guide jumps from {fixed_lb_ac:.0} to {:.0} lb/ac at an acidity of {from_meq:.1}; this soil has {acidity_meq:.1}",
                self.lb_per_meq * from_meq
            )
        })
    }
}

/// Share of a rate for one depth that another depth takes.
///
/// # Check values
/// 4 of 8 in is 0.5 (E-2567 \[R\]); 3 of 8 in is 0.375, printed 0.38 (Ohio State \[R2\]).
pub fn depth_factor(limed_depth_in: f64, guide_depth_in: f64) -> f64 {
    limed_depth_in / guide_depth_in
}

fn ph_or_none(ph: f64) -> Result<f64, NoLime> {
    if (2.0..=12.0).contains(&ph) { Ok(ph) } else { Err(NoLime::NoAmount(ph, "pH")) }
}
