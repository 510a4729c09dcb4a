//! Whether a sheet's soil test is the one a guide is calibrated for, and what it does not say.

use super::{Guide, LimeForm, NutrientRule};
use crate::rates::Supply;
use crate::samples::{Analyte, CecSource, LabMethod, SampleSet};
use crate::units::{SoilBasis, depth_text};

/// Bray phosphorus is unfit at and above this pH. Source: Univ. of Minnesota \[R\].
pub const BRAY_UNFIT_PH: f64 = 7.4;

/// How the sheet's tests were made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetTests {
    /// Method of potassium; `None` = not on the sheet.
    pub k: Option<LabMethod>,
    /// Method of phosphorus.
    pub p: Option<LabMethod>,
    /// Lime buffer.
    pub buffer: Option<LabMethod>,
    /// Method of the acidity the lab prints.
    pub acidity: Option<LabMethod>,
    /// Whether pH in water is on the sheet.
    pub has_ph_water: bool,
    /// Depth of the cores, in; `None` = not known.
    pub depth_in: Option<[f64; 2]>,
    /// By mass or by volume of soil.
    pub basis: SoilBasis,
    /// Where CEC comes from.
    pub cec: CecSource,
    /// Whether any sample has a CEC.
    pub has_cec: bool,
}

/// Which reading a lime rule takes from a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimeReading {
    /// Buffer pH.
    BufferPh,
    /// The acidity the lab prints.
    Acidity,
}

impl SheetTests {
    /// Those of a sheet.
    pub fn of(samples: &SampleSet) -> Self {
        SheetTests {
            k: samples.method(Analyte::K),
            p: samples.method(Analyte::P),
            buffer: samples.method(Analyte::BufferPh),
            acidity: samples.method(Analyte::Acidity),
            has_ph_water: samples.method(Analyte::PhWater).is_some(),
            depth_in: samples.depth_in,
            basis: samples.basis,
            cec: samples.cec_source,
            has_cec: samples.samples.iter().any(|sample| sample.exchange.is_some()),
        }
    }
}

impl Guide {
    /// Every reason why the sheet's test is not the guide's; what the user does not know is no reason (see
    /// [`Guide::lacks`]). A supply the guide has no rule for is one.
    pub fn misfits(&self, supply: Supply, tests: &SheetTests) -> Vec<String> {
        match supply {
            Supply::Lime => self.lime_misfits(tests),
            Supply::K2o | Supply::P2o5 => self.nutrient_misfits(supply, tests),
            Supply::S | Supply::N => vec![format!("the guide {} has no rule for {}", self.name, supply.name())],
        }
    }

    /// What the guide needs to know of the sheet and nobody has answered, as "... is" of a sentence.
    pub fn lacks(&self, supply: Supply, tests: &SheetTests) -> Vec<&'static str> {
        let unknown = Some(LabMethod::Unknown);
        let mut lacking = Vec::new();
        let rule = self.nutrient(supply);
        let method = if supply == Supply::K2o { tests.k } else { tests.p };
        if rule.is_some() && method == unknown {
            lacking.push(if supply == Supply::K2o {
                "the method of potassium is"
            } else {
                "the method of phosphorus is"
            });
        }
        if rule.is_some() && tests.depth_in.is_none() {
            lacking.push("the depth of the cores is");
        }
        if rule.is_some_and(NutrientRule::needs_cec) && tests.cec == CecSource::Lab(LabMethod::Unknown) {
            lacking.push("the method of CEC is");
        }
        if supply == Supply::Lime
            && let Some(lime) = &self.lime
            && self.lime_reading(tests).is_none()
        {
            if tests.buffer == unknown && !lime.buffers.is_empty() {
                lacking.push("the lime buffer is");
            }
            if tests.acidity == unknown && !lime.acidity_methods.is_empty() {
                lacking.push("the method of acidity is");
            }
        }
        lacking
    }

    /// Which reading of the sheet the lime rule takes; `None` where there is none of its kind.
    pub fn lime_reading(&self, tests: &SheetTests) -> Option<LimeReading> {
        let lime = self.lime.as_ref()?;
        let prints = tests.acidity.is_some_and(|method| lime.acidity_methods.contains(&method));
        if prints && tests.basis == lime.acidity_basis && !matches!(lime.form.value, LimeForm::Table(_)) {
            return Some(LimeReading::Acidity);
        }
        let reads = matches!(tests.buffer, Some(LabMethod::Buffer(buffer)) if lime.buffers.contains(&buffer));
        reads.then_some(LimeReading::BufferPh)
    }

    /// Said where a guide is used; whether the field lies in its region only a person knows.
    pub fn region_warning(&self) -> String {
        format!(
            "{} is made for {}; elsewhere its levels are not calibrated: ask the local extension service or a certified adviser",
            self.name,
            self.region.join(", ")
        )
    }

    fn nutrient_misfits(&self, supply: Supply, tests: &SheetTests) -> Vec<String> {
        let name = &self.name;
        let Some(rule) = self.nutrient(supply) else {
            return vec![format!("the guide {name} has no rule for {}", supply.name())];
        };
        let (what, method) = match supply {
            Supply::K2o => ("potassium", tests.k),
            _ => ("phosphorus", tests.p),
        };
        let wanted = listed(rule.extractants.iter().map(|method| method.name()));
        let mut reasons = Vec::new();
        match method {
            None => reasons.push(format!("the sheet has no {what}, which the guide {name} needs")),
            Some(LabMethod::Unknown) => {}
            Some(method) if rule.extractants.contains(&method) => {}
            Some(LabMethod::Mehlich3)
                if supply == Supply::P2o5 && rule.extractants.iter().any(|e| is_mehlich_3_p(*e)) =>
            {
                reasons.push(format!(
                    "phosphorus on the sheet is by mehlich-3, read by ICP or by color is not said, the guide {name} needs {wanted}"
                ));
            }
            Some(method) => {
                reasons.push(format!("{what} on the sheet is by {}, the guide {name} needs {wanted}", method.name()));
            }
        }
        let [least, most] = rule.depth_bottom_in;
        if let Some([top, bottom]) = tests.depth_in
            && !(top == 0.0 && (least..=most).contains(&bottom))
        {
            let depth = depth_text([top, bottom]);
            reasons.push(format!("cores from {depth}, the guide {name} needs 0 to {least} .. {most} in"));
        }
        if tests.basis == SoilBasis::Volume {
            reasons.push("the sheet is by volume of soil, the guide is by mass (ppm)".to_owned());
        }
        if rule.needs_cec() {
            reasons.extend(cec_misfit(rule, name, tests));
        }
        reasons
    }

    fn lime_misfits(&self, tests: &SheetTests) -> Vec<String> {
        let name = &self.name;
        let Some(lime) = &self.lime else { return vec![format!("the guide {name} has no rule for lime")] };
        let mut reasons = Vec::new();
        if !tests.has_ph_water {
            reasons.push(format!("the sheet has no pH in water, which the guide {name} needs"));
        }
        let is_unknown = |method: Option<LabMethod>| method == Some(LabMethod::Unknown);
        let may_fit = (is_unknown(tests.buffer) && !lime.buffers.is_empty())
            || (is_unknown(tests.acidity) && !lime.acidity_methods.is_empty());
        if self.lime_reading(tests).is_none() && !may_fit {
            let mut wanted: Vec<String> =
                lime.buffers.iter().map(|buffer| format!("a {} buffer reading", buffer.name())).collect();
            if !lime.acidity_methods.is_empty() {
                let methods = listed(lime.acidity_methods.iter().map(|method| method.name()));
                wanted.push(format!("an acidity the lab prints ({methods}, {})", lime.acidity_unit()));
            }
            let has: Vec<String> = [
                tests.buffer.map(|method| format!("a {} buffer reading", method.name())),
                tests.acidity.map(|method| format!("an acidity by {} in {}", method.name(), tests.basis.cec_unit())),
            ]
            .into_iter()
            .flatten()
            .collect();
            let has = if has.is_empty() { "no buffer reading and no acidity".to_owned() } else { has.join(" and ") };
            reasons.push(format!("the sheet has {has}, the guide {name} needs {}", wanted.join(" or ")));
        }
        reasons
    }
}

/// Why the sheet's CEC is not one the rule takes.
fn cec_misfit(rule: &NutrientRule, name: &str, tests: &SheetTests) -> Option<String> {
    let takes = |method: LabMethod| rule.cec_methods.contains(&method);
    match tests.cec {
        _ if !tests.has_cec => Some(format!("the sheet gives no CEC, which the guide {name} needs")),
        CecSource::Lab(LabMethod::Unknown) => None,
        CecSource::Lab(LabMethod::Effective) if !takes(LabMethod::Effective) => {
            Some(format!("the sheet's CEC is effective CEC, the guide {name} is made for CEC at pH 7"))
        }
        CecSource::Lab(method) if !takes(method) => {
            Some(format!("the sheet's CEC is by {}, which the guide {name} does not take", method.name()))
        }
        // Potassium chloride takes out the acidity of the soil as it is: with it the sum is effective CEC.
        CecSource::SummedFromAcidity
            if tests.acidity == Some(LabMethod::PotassiumChloride) && !takes(LabMethod::Effective) =>
        {
            Some(format!(
                "CEC is summed here with acidity by potassium chloride, which makes it effective CEC; the guide {name} is \
                 made for CEC at pH 7"
            ))
        }
        CecSource::SummedFromAcidity | CecSource::SummedFromBuffer(_) if !takes(LabMethod::Summation) => {
            Some(format!("CEC is summed here, which the guide {name} does not take"))
        }
        _ => None,
    }
}

fn is_mehlich_3_p(method: LabMethod) -> bool {
    matches!(method, LabMethod::Mehlich3Icp | LabMethod::Mehlich3Color)
}

fn listed<'a>(names: impl Iterator<Item = &'a str>) -> String {
    names.collect::<Vec<_>>().join(" or ")
}
