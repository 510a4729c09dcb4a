//! Published recommendation guides as data, and the rules that read them.
//!
//! A guide is one TOML file: what it is made for (region, crops, soil tests, depth), its figures, and for each group of
//! figures how far it can be trusted. Those built in lie in `data/`; a user's own file has the same form
//! (`docs/guides.md`). A [`SheetTests`] says whether a sheet fits; [`Guide::k2o`], [`Guide::p2o5`] and [`Guide::lime`]
//! say what one soil needs. Not here: zones, products, passes, and nitrogen.

mod evidence;
mod fits;
mod lime_basis;
mod lime_limits;
mod lime_need;
mod lime_rule;
mod lime_table;
#[cfg(test)]
mod lime_tests;
mod nutrient_need;
mod nutrient_rule;
#[cfg(test)]
mod nutrient_tests;
pub mod page;
mod read_guide;
mod read_lime;
mod read_nutrient;
#[cfg(test)]
mod read_tests;
mod sanity;
mod toml_walk;

use std::sync::LazyLock;

pub use evidence::{Backed, Backing, Evidence};
pub use fits::{BRAY_UNFIT_PH, LimeReading, SheetTests};
pub use lime_basis::LimeBasis;
pub use lime_limits::{
    HIGHEST_TARGET_ON_LITTLE_PH, HIGHEST_TARGET_PH, LITTLE_CEC_MEQ_100G, TargetFault, WEAKLY_BUFFERED_CEC_MEQ_100G,
    WeaklyBuffered, doubted, target_fault, weakly_buffered,
};
pub use lime_need::{EarlierLime, LimeNeed, LimeSoil, LimeState, NoLime, SoilClass};
pub use lime_rule::{AcidityTarget, LimeCredit, LimeForm, LimeRule, MagnesiumLevels, depth_factor};
pub use lime_table::{LimeTable, OffTable};
pub use nutrient_need::{BuildUpChoice, CropYear, NeedState, NoNeed, NutrientNeed, SoilLevels};
pub use nutrient_rule::{BuildUp, Critical, CriticalStep, NEAR_STEP_MEQ_100G, NutrientRule};

use super::{Crop, Supply};
use crate::diagnostic::{Code, Diagnostic, Place};

/// A guide file is not TOML.
pub static GUIDE_FILE_UNREADABLE: Code = Code {
    name: "guide-file-unreadable",
    checks: "that the file of a guide is TOML",
    why: "nothing can be read from it otherwise",
    example: "a list without its closing bracket",
    mend: "mend the line named; the form is shown in docs/guides.md",
};
/// A guide file is not of the form.
pub static GUIDE_FILE_FORM: Code = Code {
    name: "guide-file-form",
    checks: "that a guide states all a guide must, in words and ranges this version reads, and nothing else",
    why: "a figure passed over, or read in another meaning, would change the rates of every field it is used on",
    example: "`per_cec = 2.5` instead of `per_cec_ppm = 2.5`",
    mend: "correct the key or the value named; docs/guides.md shows the form",
};
/// A guide whose rates go the wrong way.
pub static GUIDE_RISES: Code = Code {
    name: "guide-rises-with-the-test",
    checks: "that no rate of a guide is below 0, and none rises where the soil test or the buffer pH does",
    why: "richer ground never needs more; where a file says so, a figure or its sign is mistyped",
    example: "a lime table whose row for buffer pH 6.5 has more than the row for 6.4",
    mend: "compare the figures named with the printed guide",
};
/// No guide of that name.
pub static NO_SUCH_GUIDE: Code = Code {
    name: "no-such-guide",
    checks: "that a guide asked for is built in, or is a file",
    why: "another guide in its place would give other rates",
    example: "`holdground guides tri-state`",
    mend: "copy a name from `holdground guides`, or name the guide's own file, which ends in .toml",
};
/// Messages of guides, for `holdground explain`.
pub static CODES: &[&Code] = &[&GUIDE_FILE_UNREADABLE, &GUIDE_FILE_FORM, &GUIDE_RISES, &NO_SUCH_GUIDE];

/// File name and text of each built-in guide, as listed.
const BUILT_IN: [(&str, &str); 6] = [
    ("tri-state-1995.toml", include_str!("data/tri-state-1995.toml")),
    ("tri-state-1995-michigan.toml", include_str!("data/tri-state-1995-michigan.toml")),
    ("tri-state-2020.toml", include_str!("data/tri-state-2020.toml")),
    ("oregon-sikora-2025.toml", include_str!("data/oregon-sikora-2025.toml")),
    ("north-carolina-mehlich.toml", include_str!("data/north-carolina-mehlich.toml")),
    ("penn-state-lime.toml", include_str!("data/penn-state-lime.toml")),
];

/// What a crop takes off the field with one unit of yield.
#[derive(Debug, Clone, PartialEq)]
pub struct Removal {
    /// The crop; its unit is [`Crop::yield_unit`].
    pub crop: Crop,
    /// lb P2O5; `None` = the guide does not say.
    pub p2o5_lb: Option<f64>,
    /// lb K2O; `None` = the guide does not say.
    pub k2o_lb: Option<f64>,
    /// What stands behind the figures.
    pub backing: Backing,
}

/// A recommendation guide, read and looked over.
///
/// # Guarantees
/// Every crop of `k` and `p` has its removal; no rate is below 0 or rises with the soil test or the buffer pH.
#[derive(Debug, Clone, PartialEq)]
pub struct Guide {
    /// Name in the field file.
    pub name: String,
    /// Title.
    pub title: String,
    /// Authors.
    pub authors: String,
    /// Year; `None` = not on the pages seen.
    pub year: Option<u32>,
    /// Publisher.
    pub publisher: String,
    /// How it is cited on pages.
    pub citation: String,
    /// States it is made for.
    pub region: Vec<String>,
    /// What a reader must know beside the figures.
    pub notes: Vec<String>,
    /// Potassium.
    pub k: Option<NutrientRule>,
    /// Phosphorus.
    pub p: Option<NutrientRule>,
    /// What crops take off.
    pub removal: Vec<Removal>,
    /// Lime.
    pub lime: Option<LimeRule>,
}

static GUIDES: LazyLock<Vec<Guide>> = LazyLock::new(|| {
    let read = |(file, text): &(&str, &str)| match read_guide::read(file, text) {
        Ok(guide) => guide,
        Err(faults) => unreachable!("the built-in guide {file} does not read: {faults:?}"),
    };
    BUILT_IN.iter().map(read).collect()
});

impl Guide {
    /// Guides that come with the program, as listed.
    pub fn built_in() -> &'static [Guide] {
        &GUIDES
    }

    /// A built-in guide by name.
    pub fn find(name: &str) -> Option<&'static Guide> {
        Self::built_in().iter().find(|guide| guide.name == name)
    }

    /// Reads a user's own guide. `file` is its name as typed.
    ///
    /// # Errors
    /// All faults at once, each with its line and how to mend it. A name of a built-in guide is one: on paper nobody
    /// could tell the two apart.
    pub fn parse(file: &str, text: &str) -> Result<Guide, Vec<Diagnostic>> {
        let guide = read_guide::read(file, text)?;
        if Self::find(&guide.name).is_some() {
            let line = 1 + text.lines().position(|line| line.trim_start().starts_with("name")).unwrap_or(0);
            let place = Place::Key { file: file.to_owned(), line, key: "name".to_owned() };
            let fault =
                Diagnostic::error(&GUIDE_FILE_FORM, format!("`{}` is the name of a built-in guide", guide.name));
            return Err(vec![fault.at(place).with_help("give your guide a name of its own")]);
        }
        Ok(guide)
    }

    /// The fault to print where a name is no built-in guide.
    pub fn no_such(name: &str) -> Diagnostic {
        let names: Vec<&str> = Self::built_in().iter().map(|guide| guide.name.as_str()).collect();
        Diagnostic::error(&NO_SUCH_GUIDE, format!("`{name}` is not a built-in guide; these are: {}", names.join(", ")))
            .with_help("copy one of the names, or name your own guide's file, which ends in .toml")
    }

    /// The rule for potassium or phosphorus.
    pub fn nutrient(&self, supply: Supply) -> Option<&NutrientRule> {
        match supply {
            Supply::K2o => self.k.as_ref(),
            Supply::P2o5 => self.p.as_ref(),
            Supply::Lime | Supply::S | Supply::N => None,
        }
    }

    /// Whether the guide rates a supply.
    pub fn rates(&self, supply: Supply) -> bool {
        self.nutrient(supply).is_some() || (supply == Supply::Lime && self.lime.is_some())
    }

    /// lb of P2O5 or K2O in one unit of a crop's yield; `None` where the guide does not say.
    pub fn removal_lb_unit(&self, supply: Supply, crop: Crop) -> Option<f64> {
        let removal = self.removal.iter().find(|removal| removal.crop == crop)?;
        match supply {
            Supply::K2o => removal.k2o_lb,
            Supply::P2o5 => removal.p2o5_lb,
            Supply::Lime | Supply::S | Supply::N => None,
        }
    }

    /// K2O for one crop-year. `k_ppm` by one of the rule's extractants; `cec_meq_100g` where the rule needs it.
    ///
    /// # Errors
    /// [`NoNeed`]
    pub fn k2o(
        &self,
        k_ppm: f64,
        cec_meq_100g: Option<f64>,
        year: &CropYear<'_>,
        choice: BuildUpChoice,
    ) -> Result<NutrientNeed, NoNeed> {
        self.nutrient_need(Supply::K2o, k_ppm, cec_meq_100g, year, choice)
    }

    /// P2O5 for one crop-year. `p_ppm` by one of the rule's extractants.
    ///
    /// # Errors
    /// [`NoNeed`]
    pub fn p2o5(&self, p_ppm: f64, year: &CropYear<'_>, choice: BuildUpChoice) -> Result<NutrientNeed, NoNeed> {
        self.nutrient_need(Supply::P2o5, p_ppm, None, year, choice)
    }

    /// K2O or P2O5 for one crop-year: see [`Guide::k2o`].
    ///
    /// # Errors
    /// [`NoNeed`]
    pub fn nutrient_need(
        &self,
        supply: Supply,
        test_ppm: f64,
        cec_meq_100g: Option<f64>,
        year: &CropYear<'_>,
        choice: BuildUpChoice,
    ) -> Result<NutrientNeed, NoNeed> {
        let rule = self.nutrient(supply).ok_or(NoNeed::NoRule)?;
        let removal = self.removal_lb_unit(supply, year.crop).ok_or(NoNeed::NotForCrop(year.crop))?;
        rule.need(removal, test_ppm, cec_meq_100g, year, choice)
    }

    /// Lime for one soil: see [`LimeRule::need`]. Whether a plan may have the target is [`target_fault`]'s.
    ///
    /// # Errors
    /// [`NoLime`]
    pub fn lime(&self, soil: &LimeSoil, target_ph: f64, limed_depth_in: f64) -> Result<LimeNeed, NoLime> {
        self.lime.as_ref().ok_or(NoLime::NoRule)?.need(soil, target_ph, limed_depth_in)
    }
}
