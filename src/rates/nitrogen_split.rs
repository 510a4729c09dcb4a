//! How the nitrogen of a year is split over its passes: published sets, or the user's own shares.
//!
//! The season's total is always the user's, from a local guide. CEC does not hold nitrate or urea: the class of the
//! ground by CEC stands in for its texture.

mod reader;

use std::sync::OnceLock;

use super::NitrogenStage;
use crate::fields::HoldingClass;

/// Why class by CEC decides on nitrogen at all, for every report that splits it.
pub const CEC_STANDS_IN: &str =
    "CEC does not hold nitrate or urea; how much ground holds by its CEC stands in for its texture here";

/// A published range, and the figure taken within it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Within {
    /// Least published.
    pub least: f64,
    /// Most published.
    pub most: f64,
    /// Figure taken.
    pub taken: f64,
}

/// How much nitrogen a portion brings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PortionAmount {
    /// A share of the year's nitrogen, 0 to 1.
    Share(Within),
    /// Pounds an acre, all passes of the portion together.
    LbAc(Within),
    /// What the other portions leave, evenly over the passes.
    Rest {
        /// Least and most published for one pass, lb N/ac.
        pass_lb_ac: Option<[f64; 2]>,
    },
}

/// Which passes of a stage a portion is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PortionPasses {
    /// Every one.
    Every,
    /// The first.
    First,
    /// All but the first.
    AfterFirst,
    /// The last.
    Last,
    /// All but the last.
    BeforeLast,
}

impl PortionPasses {
    const NAMES: [(PortionPasses, &'static str); 5] = [
        (PortionPasses::Every, "every"),
        (PortionPasses::First, "first"),
        (PortionPasses::AfterFirst, "after-first"),
        (PortionPasses::Last, "last"),
        (PortionPasses::BeforeLast, "before-last"),
    ];

    fn holds(self, index: usize, count: usize) -> bool {
        match self {
            PortionPasses::Every => true,
            PortionPasses::First => index == 0,
            PortionPasses::AfterFirst => index > 0,
            PortionPasses::Last => index + 1 == count,
            PortionPasses::BeforeLast => index + 1 < count,
        }
    }
}

/// A part of the year's nitrogen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Portion {
    /// When it comes.
    pub stage: NitrogenStage,
    /// In which passes of that stage.
    pub passes: PortionPasses,
    /// How much.
    pub amount: PortionAmount,
}

/// A published way to split nitrogen.
#[derive(Debug, Clone, PartialEq)]
pub struct NitrogenSet {
    /// Name in the field file.
    pub name: String,
    /// Who published it.
    pub citation: String,
    /// Evidence tag: `R` read, `R2` read in a secondary copy, `M` from memory.
    pub tag: String,
    /// Region it was made for.
    pub region: String,
    /// Crop it was made for.
    pub crop: String,
    /// Made for irrigated ground or for ground that is not; `None` = not said.
    pub irrigated: Option<bool>,
    /// Ground it was made for, with the class standing in for texture.
    pub class: HoldingClass,
    /// Least and most dressings published.
    pub applications: Option<[usize; 2]>,
    /// What else the text warns of.
    pub cautions: Vec<String>,
    /// The parts, planting first.
    pub portions: Vec<Portion>,
}

/// What one pass is to bring of the year's nitrogen.
#[derive(Debug, Clone, PartialEq)]
pub struct PassShare {
    /// N to bring, what other products carry counted in, lb N/ac.
    pub n_lb_ac: f64,
    /// Most published for the pass, lb N/ac.
    pub most_lb_ac: Option<f64>,
}

/// A pass that may bring nitrogen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NitrogenPass {
    /// When it comes.
    pub stage: NitrogenStage,
    /// Whether nitrogen can be bought for it.
    pub is_open: bool,
}

/// How a year's nitrogen is split on ground of one kind.
#[derive(Debug, Clone, PartialEq)]
pub enum NitrogenRule {
    /// No rule: passes before or at planting first, then in the standing crop, then in the fall, as far as each can.
    AsCapacityAllows,
    /// A published set.
    Set(&'static NitrogenSet),
    /// The user's own: one share for each pass of the year whose list has a product bought for nitrogen, in order;
    /// together 1.
    Shares(Vec<f64>),
}

/// How nitrogen is split over the field. For the whole field by one rule, both are the same.
#[derive(Debug, Clone, PartialEq)]
pub struct NitrogenPlan {
    /// On ground that holds little.
    pub on_little: NitrogenRule,
    /// On all other ground, and where it is not known how much it holds.
    pub elsewhere: NitrogenRule,
}

impl NitrogenPlan {
    /// No rule anywhere.
    pub const NO_RULE: NitrogenPlan =
        NitrogenPlan { on_little: NitrogenRule::AsCapacityAllows, elsewhere: NitrogenRule::AsCapacityAllows };

    /// Rule for ground of a class.
    pub fn rule(&self, class: Option<HoldingClass>) -> &NitrogenRule {
        if class == Some(HoldingClass::Little) { &self.on_little } else { &self.elsewhere }
    }
}

/// All published sets, by name.
pub fn sets() -> &'static [NitrogenSet] {
    static SETS: OnceLock<Vec<NitrogenSet>> = OnceLock::new();
    SETS.get_or_init(|| {
        let texts = [
            ("georgia-dryland", include_str!("nitrogen_sets/georgia-dryland.toml")),
            ("georgia-irrigated-sand", include_str!("nitrogen_sets/georgia-irrigated-sand.toml")),
            ("illinois-dryland-sand", include_str!("nitrogen_sets/illinois-dryland-sand.toml")),
            ("illinois-irrigated-sand", include_str!("nitrogen_sets/illinois-irrigated-sand.toml")),
            ("minnesota-coarse", include_str!("nitrogen_sets/minnesota-coarse.toml")),
        ];
        texts
            .into_iter()
            .map(|(name, text)| reader::read(name, text).unwrap_or_else(|what| panic!("nitrogen set {name}: {what}")))
            .collect()
    })
}

/// A published set by name.
pub fn set(name: &str) -> Option<&'static NitrogenSet> {
    sets().iter().find(|set| set.name == name)
}

impl NitrogenSet {
    /// What each pass of a year is to bring of `n_lb_ac`, passes in the order driven; then what a person should know.
    ///
    /// A portion without a pass of its own goes to later stages, or to other passes of its stage; never to an earlier
    /// stage. Passes that are not open, and fall passes, get nothing.
    ///
    /// # Guarantees
    /// Never negative; together never more than `n_lb_ac`; the portion of no pass falls as `n_lb_ac` grows.
    pub fn split(&self, n_lb_ac: f64, passes: &[NitrogenPass]) -> (Vec<PassShare>, Vec<String>) {
        let mut shares = vec![PassShare { n_lb_ac: 0.0, most_lb_ac: None }; passes.len()];
        let of_stage = |stage| -> Vec<usize> {
            (0..passes.len()).filter(|&pass| passes[pass].is_open && passes[pass].stage == stage).collect()
        };
        let members = |portion: &Portion| -> Vec<usize> {
            let all = of_stage(portion.stage);
            let keep = |(index, _): &(usize, &usize)| portion.passes.holds(*index, all.len());
            all.iter().enumerate().filter(keep).map(|(_, pass)| *pass).collect()
        };
        let (mut left, mut homeless, mut rest_passes) = (n_lb_ac, 0.0, Vec::new());
        for portion in &self.portions {
            let own = members(portion);
            let amount = match portion.amount {
                PortionAmount::Share(within) => (within.taken * n_lb_ac).min(left),
                PortionAmount::LbAc(within) => within.taken.min(left),
                PortionAmount::Rest { pass_lb_ac } => {
                    for pass in own {
                        shares[pass].most_lb_ac = pass_lb_ac.map(|[_, most]| most);
                        rest_passes.push(pass);
                    }
                    continue;
                }
            };
            left -= amount;
            if own.is_empty() {
                homeless += amount;
            }
            for pass in &own {
                shares[*pass].n_lb_ac += amount / own.len() as f64;
            }
        }
        // What has no pass of its own joins the rest; without passes for the rest, the last stage takes it.
        if rest_passes.is_empty() {
            rest_passes = of_stage(NitrogenStage::Standing);
        }
        for pass in &rest_passes {
            shares[*pass].n_lb_ac += (left + homeless) / rest_passes.len() as f64;
        }
        let told = self.told_of_split(n_lb_ac, passes, &shares);
        (shares, told)
    }

    fn told_of_split(&self, n_lb_ac: f64, passes: &[NitrogenPass], shares: &[PassShare]) -> Vec<String> {
        let mut told = vec![format!("nitrogen is split by {} ({} [{}])", self.name, self.citation, self.tag)];
        let open = |stage| passes.iter().filter(|pass| pass.is_open && pass.stage == stage).count();
        if open(NitrogenStage::Planting) == 0 && open(NitrogenStage::Standing) > 0 {
            told.push(format!("no pass at planting brings nitrogen: the part of {} for it comes later", self.name));
        }
        if open(NitrogenStage::Standing) == 0 {
            told.push(format!("no pass in the standing crop brings nitrogen, and {} needs one", self.name));
        }
        let n_passes = shares.iter().filter(|share| share.n_lb_ac > 0.0).count();
        if let Some([least, most]) = self.applications.filter(|[least, most]| !(*least..=*most).contains(&n_passes)) {
            told.push(format!("{} asks for {least} to {most} dressings, this year has {n_passes}", self.name));
        }
        for portion in &self.portions {
            if let PortionAmount::Rest { pass_lb_ac: Some([least, most]) } = portion.amount {
                let standing = shares.iter().filter(|share| share.most_lb_ac == Some(most) && share.n_lb_ac > 0.0);
                if standing.clone().any(|share| share.n_lb_ac < least - 1e-9) {
                    told.push(format!(
                        "{} asks for {least:.0} to {most:.0} lb N a pass in the standing crop; {n_lb_ac:.0} lb over {n_passes} passes gives less: leave one out",
                        self.name
                    ));
                    break;
                }
            }
        }
        told
    }
}

/// Why the user's own shares do not fit; `None` when they do. `n_passes` is the number of passes of the year whose list
/// has a product bought for nitrogen.
pub fn shares_fault(shares: &[f64], n_passes: usize) -> Option<String> {
    let sum: f64 = shares.iter().sum();
    if shares.len() != n_passes {
        Some(format!("{} shares of nitrogen, but {n_passes} passes of the year list a product for it", shares.len()))
    } else if shares.iter().any(|share| !(0.0..=1.0).contains(share)) || (sum - 1.0).abs() > 0.005 {
        Some(format!("shares of nitrogen lie between 0 and 1 and make 1 together, found {sum:.2}"))
    } else {
        None
    }
}

#[cfg(test)]
mod tests;
