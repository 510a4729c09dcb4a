//! Why a number of zones was picked, as one plain sentence.

use std::fmt;

/// What the samples say of one number of zones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// Zones.
    pub count: usize,
    /// How much better than one rate they tell hidden samples, 1 = perfectly.
    pub efficiency: f64,
    /// Standard error of it.
    pub standard_error: f64,
}

/// Who picked the number of zones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pick {
    /// The samples: `count = "suggest"`.
    Samples,
    /// The user, by `zones.count`.
    Count,
    /// The user, by class breaks or drawn polygons.
    Drawn,
}

/// Why this many zones are suggested.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// Too few samples to say anything.
    TooFewSamples {
        /// Samples there are.
        n_samples: usize,
        /// Samples needed.
        least: usize,
    },
    /// The samples are alike in everything judged.
    NothingVaries,
    /// The method makes one zone only.
    NothingToPart,
    /// No number of zones leaves each a patch the machine can follow.
    NoneFitsMachine,
    /// No number of zones is above 0 by two standard errors.
    NotWorthZoning {
        /// The best of them.
        best: Told,
    },
    /// Zones the user stated are worth having.
    WorthZoning {
        /// They.
        zones: Told,
    },
    /// The best, no fewer being within its standard error.
    Best {
        /// It.
        best: Told,
    },
    /// Fewer than the best, but within its standard error.
    FewestWithinOneError {
        /// The number suggested.
        picked: Told,
        /// The best.
        best: Told,
    },
}

/// One sentence, lower case, no full stop.
impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reason::TooFewSamples { n_samples, least } => write!(
                f,
                "too few samples to tell whether zones are worth having ({n_samples}, at least {least} needed)"
            ),
            Reason::NothingVaries => {
                f.write_str("whether zones are worth having cannot be told: the samples are alike")
            }
            Reason::NoneFitsMachine => {
                f.write_str("one rate: no number of zones leaves each of them a patch the machine can follow")
            }
            Reason::NothingToPart => f.write_str("one zone is all these settings make of the field"),
            Reason::NotWorthZoning { best } => write!(
                f,
                "not worth zoning: one rate is as good (the best, {} zones: {:.2}, not above 0 by two standard errors of \
                 {:.2})",
                best.count, best.efficiency, best.standard_error
            ),
            Reason::WorthZoning { zones } => write!(
                f,
                "these {} zones tell hidden samples better than one rate ({:.2}, standard error {:.2})",
                zones.count, zones.efficiency, zones.standard_error
            ),
            Reason::Best { best } => write!(
                f,
                "{} zones: the best ({:.2}), and no fewer come within one standard error ({:.2})",
                best.count, best.efficiency, best.standard_error
            ),
            Reason::FewestWithinOneError { picked, best } => write!(
                f,
                "{} zones: the fewest within one standard error ({:.2}) of the best, {} zones ({:.2})",
                picked.count, best.standard_error, best.count, best.efficiency
            ),
        }
    }
}
