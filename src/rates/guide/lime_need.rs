//! What is known of a soil for lime, and what a guide says of it.

use super::lime_basis::LimeBasis;
use super::lime_table::OffTable;

/// Kind of soil, for what is left of earlier lime.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SoilClass {
    /// Mineral.
    Mineral,
    /// Mineral-organic or organic.
    Organic,
}

/// Lime that was spread before the cores were taken or since, and may not have shown yet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EarlierLime {
    /// Short tons an acre, in the guide's lime.
    pub short_ton_ac: f64,
    /// Months since.
    pub months_ago: f64,
    /// Kind of soil.
    pub soil: SoilClass,
}

/// What is known of the soil.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LimeSoil {
    /// pH in water.
    pub ph_water: Option<f64>,
    /// Reading of one of the rule's buffers.
    pub buffer_ph: Option<f64>,
    /// Acidity the lab printed, in the rule's unit; goes before the buffer reading.
    pub acidity_meq: Option<f64>,
    /// The buffer was not run because the soil is neutral by the lab's rule: no acidity, no lime.
    pub not_run_by_rule: bool,
    /// Lime of the last year.
    pub earlier: Option<EarlierLime>,
}

/// Why the amount is what it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimeState {
    /// The soil has the target pH.
    TargetMet,
    /// The buffer was not run, by the lab's rule.
    NotRunByRule,
    /// Worked out by the rule; the amount may still be 0.
    ByRule,
}

/// What a guide says of one soil.
#[derive(Debug, Clone, PartialEq)]
pub struct LimeNeed {
    /// Short tons an acre of the guide's lime, for the depth limed, earlier lime taken off.
    pub short_ton_ac: f64,
    /// The same for the guide's depth, before earlier lime.
    pub guide_depth_short_ton_ac: f64,
    /// Depth limed by depth of the guide.
    pub depth_factor: f64,
    /// Taken off for earlier lime, short tons an acre.
    pub credit_short_ton_ac: f64,
    /// The lime it is stated in: what a product must be turned into.
    pub basis: LimeBasis,
    /// Why.
    pub state: LimeState,
    /// The same in words, with the numbers.
    pub why: String,
    /// What a person must know beside it: a jump of the rule nearby.
    pub notes: Vec<String>,
}

/// Why a guide gives no amount of lime. Never read it as 0.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoLime {
    /// The guide has no lime rule.
    #[error("the guide has no rule for lime")]
    NoRule,
    /// No pH in water.
    #[error("there is no pH in water, so nobody knows whether the target is met")]
    NoWaterPh,
    /// Neither a buffer reading nor an acidity the rule reads.
    #[error("there is no {0}, which the guide reads")]
    NoReading(&'static str),
    /// A reading that is no pH or acidity.
    #[error("{0} is no {1}")]
    NoAmount(f64, &'static str),
    /// Outside the table.
    #[error("{0}")]
    OffTable(#[from] OffTable),
    /// The rule has no figure for the target.
    #[error("target pH {target_ph} is not among those of the guide: {given}")]
    NotThisTarget {
        /// Target asked for.
        target_ph: f64,
        /// What the guide gives.
        given: String,
    },
    /// A depth nobody limes.
    #[error("{0} in is no depth of liming: more than 0 and at most 12 in")]
    Depth(f64),
}
