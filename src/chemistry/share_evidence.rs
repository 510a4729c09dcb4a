//! What is published about shares of the CEC as a goal: the one home of the sentences that stand beside every share.

/// Published evidence, two sentences.
///
/// # Source
/// McLean, Hartwig, Eckert and Triplett 1983, Agron. J. 75:635-639 \[R\]: six crop years on one silt loam, soil Ca/Mg 2.3
/// to 26.8. Kopittke and Menzies 2007, Soil Sci. Soc. Am. J. 71:259-265 \[R, abstract\].
pub const SHARE_EVIDENCE: [&str; 2] = [
    "A six-year field trial (McLean et al. 1983, Agron. J. 75:635-639) had its five best and its five worst treatments at \
     much the same ratios of calcium, magnesium and potassium.",
    "A review (Kopittke and Menzies 2007, SSSAJ 71:259-265) found no support for ratios as a goal: within the usual range \
     they do not, as a rule, make ground more or less fertile.",
];

/// What follows from it in every result with rates.
pub const NO_RATE_FROM_SHARES: &str = "No rate here comes from a ratio.";
