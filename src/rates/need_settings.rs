//! How the need of each supply is found: by a guide, or as an adviser states it.

use super::guide::Guide;
use super::lime_quality::LimeLabel;
use super::need::guides;
use super::nitrogen_split::{NitrogenPlan, NitrogenRule, shares_fault};
use super::season::{Credit, PlacingOrder, SeasonRules};
use super::{Crop, CropYear, FlatProgramme, HoldSettings, Machine, MachineTravel, Pass, Product, Supply};
use crate::diagnostic::{Code, Diagnostic, Place};

/// A lime's label does not divide the guide's recommendation.
pub static LIME_LABELS: Code = Code {
    name: "lime-labels",
    checks: "that a lime's label is of the scheme its recommendation is stated in",
    why: "schemes count fineness unlike: a number of one does not divide a recommendation of another",
    example: "a New York ENV of 69.9 % under a recommendation in 100-score lime of Oregon",
    mend: "choose a lime labeled by the guide's scheme, or name the conversion you answer for in `count_as`",
};
/// Shares of nitrogen that do not fit the passes.
pub static NITROGEN_SHARES: Code = Code {
    name: "nitrogen-shares",
    checks: "that there is one share of nitrogen for each pass of its year that brings it, and that they make 1",
    why: "a share without a pass would be lost, a pass without a share would get nothing",
    example: "`shares = [0.3, 0.3, 0.4]` with two passes",
    mend: "state one share a pass, in the order driven",
};
/// Messages of these settings, for `holdground explain`.
pub static CODES: &[&Code] = &[&LIME_LABELS, &NITROGEN_SHARES];

/// A guide the field file names.
#[derive(Debug, Clone, PartialEq)]
pub struct GuideChoice {
    /// As typed: the name of a built-in guide, or the file of the user's own.
    pub name: String,
    /// Line in the field file.
    pub line: usize,
    /// The guide; `None` until the user's own file is read.
    pub guide: Option<Guide>,
}

/// How the need of a supply is found.
#[derive(Debug, Clone, PartialEq)]
pub enum NeedSource {
    /// By a guide, year by year, from the soil test.
    Guide(GuideChoice),
    /// An adviser's figures, lb/ac: one for all, or one a zone.
    Stated(Vec<f64>),
    /// Lime by a guide.
    Lime(LimeByGuide),
}

/// Lime by a guide.
#[derive(Debug, Clone, PartialEq)]
pub struct LimeByGuide {
    /// The guide.
    pub choice: GuideChoice,
    /// pH to reach.
    pub target_ph: f64,
    /// Depth of soil that is limed, inches.
    pub limed_depth_in: f64,
    /// Conversion between the scheme of the product and the basis of the guide that the user answers for.
    pub count_as: Option<String>,
}

/// What is asked for one supply.
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyNeed {
    /// The supply.
    pub supply: Supply,
    /// How it is found.
    pub source: NeedSource,
    /// Crop year of stated figures, from 1.
    pub year: usize,
    /// Who says so, for stated figures.
    pub said_by: Option<String>,
    /// Classes of its own need that its rates follow in the place of zones; `None` = they follow zones.
    pub own_classes: Option<usize>,
    /// Line in the field file.
    pub line: usize,
}

/// Settings of the rate stage.
#[derive(Debug, Clone, PartialEq)]
pub struct RateSettings {
    /// Crop years covered, in the order grown.
    pub years: Vec<CropYear>,
    /// What is asked, one entry a supply and crop year; empty = zones only.
    pub needs: Vec<SupplyNeed>,
    /// What comes from elsewhere.
    pub credits: Vec<(Credit, Option<Vec<usize>>)>,
    /// How nitrogen is split over the season.
    pub nitrogen: NitrogenPlan,
    /// Which pass a need goes to first.
    pub order: PlacingOrder,
    /// What a pass may bring.
    pub hold: HoldSettings,
    /// Products.
    pub products: Vec<Product>,
    /// Labels of the products that are lime: (short name, label).
    pub limes: Vec<(String, LimeLabel)>,
    /// Passes, in the order driven.
    pub passes: Vec<Pass>,
    /// The machine.
    pub machine: Option<Machine>,
    /// How the machine covers the ground.
    pub travel: MachineTravel,
    /// The flat programme to hold it against.
    pub compare: Option<FlatProgramme>,
    /// How labels of lime are counted, in sentences every page carries.
    pub notes: Vec<String>,
}

impl RateSettings {
    /// Crop of each year.
    pub fn crops(&self) -> Vec<Option<Crop>> {
        self.years.iter().map(|year| year.crop).collect()
    }

    /// What is the same for all zones when a season is placed; `None` without products, passes and machine.
    pub fn season_rules<'a>(&'a self, crops: &'a [Option<Crop>]) -> Option<SeasonRules<'a>> {
        let machine = self.machine.as_ref().filter(|_| self.has_means_to_spread())?;
        Some(SeasonRules {
            passes: &self.passes,
            products: &self.products,
            hold: &self.hold,
            machine,
            travel: &self.travel,
            nitrogen: &self.nitrogen,
            order: self.order,
            crops,
        })
    }

    /// Names of the user's own guide files that are not read yet, each once.
    pub fn open_guides(&self) -> Vec<&str> {
        let open = guides(self).filter(|(_, choice)| choice.guide.is_none()).map(|(_, choice)| choice.name.as_str());
        let mut names: Vec<&str> = open.collect();
        names.dedup();
        names
    }

    /// Gives a guide file that was read to every need that names it.
    pub fn add_guide(&mut self, name: &str, guide: &Guide) {
        for need in &mut self.needs {
            let choice = match &mut need.source {
                NeedSource::Guide(choice) => choice,
                NeedSource::Lime(lime) => &mut lime.choice,
                NeedSource::Stated(_) => continue,
            };
            if choice.name == name {
                choice.guide = Some(guide.clone());
            }
        }
    }

    /// Settles what needs every answer: what a pound of each lime counts for, and whether shares and passes of nitrogen
    /// fit. `field_file` is named in faults.
    ///
    /// # Errors
    /// All faults at once.
    pub fn settle(&mut self, field_file: &str) -> Result<(), Vec<Diagnostic>> {
        let mut faults = self.settle_limes(field_file);
        for need in self.needs.iter().filter(|need| need.supply == Supply::N) {
            faults.extend(self.nitrogen_faults(need, field_file));
        }
        if faults.is_empty() { Ok(()) } else { Err(faults) }
    }

    fn settle_limes(&mut self, field_file: &str) -> Vec<Diagnostic> {
        let by_guide = self.needs.iter().find_map(|need| match &need.source {
            NeedSource::Lime(lime) => Some((need.line, lime.clone())),
            _ => None,
        });
        let mut faults = Vec::new();
        for (short, label) in self.limes.clone() {
            let basis = by_guide.as_ref().and_then(|(_, lime)| Some(lime.choice.guide.as_ref()?.lime.as_ref()?.basis));
            // An adviser's tons are tons of product as spread.
            let (Some(basis), Some((line, lime))) = (basis, &by_guide) else { continue };
            match label.quality().share_for(basis, lime.count_as.as_deref()) {
                Ok(counted) => {
                    self.notes.push(counted.sentence);
                    let product = self.products.iter_mut().filter(|product| product.short == short);
                    product.for_each(|product| product.percent = vec![(Supply::Lime, 100.0 * counted.share)]);
                }
                Err(reason) => {
                    let place =
                        Place::Key { file: field_file.to_owned(), line: *line, key: "need.lime.count_as".to_owned() };
                    let help = "choose a lime labeled by the guide's scheme, or answer for a conversion in words: \
                                `count_as = \"New York ENV taken as Oregon score\"`; it is printed on every page";
                    faults.push(Diagnostic::error(&LIME_LABELS, reason).at(place).with_help(help));
                }
            }
        }
        faults
    }

    fn nitrogen_faults(&self, need: &SupplyNeed, field_file: &str) -> Option<Diagnostic> {
        let NitrogenRule::Shares(shares) = &self.nitrogen.elsewhere else { return None };
        let is_n = |short: &String| {
            let product = self.products.iter().find(|product| product.short == *short);
            product.is_some_and(|product| product.bought_for() == Some(Supply::N))
        };
        let passes = self.passes.iter().filter(|pass| pass.year == need.year && pass.products.iter().any(is_n));
        let message = shares_fault(shares, passes.count()).filter(|_| !self.passes.is_empty())?;
        let place = Place::Key { file: field_file.to_owned(), line: need.line, key: "need.n.shares".to_owned() };
        Some(
            Diagnostic::error(&NITROGEN_SHARES, message)
                .at(place)
                .with_help("one share a pass that lists a product bought for nitrogen"),
        )
    }

    /// Whether products, passes and a machine are stated.
    pub fn has_means_to_spread(&self) -> bool {
        !self.products.is_empty() && !self.passes.is_empty() && self.machine.is_some()
    }

    /// The need of a supply in a crop year, if one is asked for; guides serve every year.
    pub fn need(&self, supply: Supply) -> Option<&SupplyNeed> {
        self.needs.iter().find(|need| need.supply == supply)
    }
}
