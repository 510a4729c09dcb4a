//! Laboratory methods: extractants, buffers, ways to get a CEC. Named by the user, never guessed.

use super::Analyte;
use crate::chemistry::Buffer;

/// A laboratory method.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LabMethod {
    /// pH in water.
    Water,
    /// pH in 0.01 M calcium chloride.
    CalciumChloride,
    /// Potassium chloride, 1 M: pH, or extract of Ca, Mg, Al, nitrate.
    PotassiumChloride,
    /// pH in another dilute salt.
    DiluteSalt,
    /// A lime buffer.
    Buffer(Buffer),
    /// Loss on ignition.
    LossOnIgnition,
    /// Walkley-Black.
    WalkleyBlack,
    /// Dry combustion.
    DryCombustion,
    /// Neutral 1 M ammonium acetate.
    AmmoniumAcetate,
    /// Mehlich-1.
    Mehlich1,
    /// Mehlich-3 for cations; for phosphorus: read by ICP or by color, and the lab does not say which.
    Mehlich3,
    /// Mehlich-3 phosphorus read by ICP.
    Mehlich3Icp,
    /// Mehlich-3 phosphorus read by color.
    Mehlich3Color,
    /// Bray P1.
    Bray1,
    /// Bray P2.
    Bray2,
    /// Olsen bicarbonate.
    Olsen,
    /// Colwell bicarbonate.
    Colwell,
    /// Calcium acetate lactate.
    CalciumAcetateLactate,
    /// Morgan.
    Morgan,
    /// Modified Morgan.
    ModifiedMorgan,
    /// DTPA.
    Dtpa,
    /// Hot water.
    HotWater,
    /// Dilute hydrochloric acid.
    HydrochloricAcid,
    /// Monocalcium phosphate.
    MonocalciumPhosphate,
    /// Potassium chloride at 40 degrees Celsius.
    PotassiumChloride40,
    /// Ion-exchange resin.
    Resin,
    /// Calcium acetate at pH 7.
    CalciumAcetate,
    /// CEC by summation of bases and acidity.
    Summation,
    /// CEC measured at pH 7.
    MeasuredPh7,
    /// Effective CEC: bases and exchangeable aluminum.
    Effective,
    /// Conductivity of one part of soil in one of water.
    OneToOne,
    /// Conductivity of one part of soil in two of water.
    OneToTwo,
    /// Conductivity of one part of soil in five of water.
    OneToFive,
    /// Conductivity of the extract of a saturated paste.
    SaturatedPaste,
    /// Worked out by the lab from other readings.
    Calculated,
    /// The user does not know; what needs it is left out.
    Unknown,
}

const NAMES: &[(LabMethod, &[&str])] = &[
    (LabMethod::Water, &["water", "water 1:1", "water 1:2", "water 1:2.5", "water 1:5"]),
    (LabMethod::CalciumChloride, &["calcium chloride", "cacl2"]),
    (LabMethod::PotassiumChloride, &["potassium chloride", "kcl", "kcl 1 m"]),
    (LabMethod::DiluteSalt, &["dilute salt", "salt"]),
    (LabMethod::Buffer(Buffer::Smp), &["smp"]),
    (LabMethod::Buffer(Buffer::Sikora), &["sikora"]),
    (LabMethod::Buffer(Buffer::Sikora2), &["sikora-2"]),
    (LabMethod::Buffer(Buffer::MooreSikora), &["moore-sikora"]),
    (LabMethod::Buffer(Buffer::AdamsEvans), &["adams-evans"]),
    (LabMethod::Buffer(Buffer::Mehlich), &["mehlich"]),
    (LabMethod::Buffer(Buffer::Woodruff), &["woodruff"]),
    (LabMethod::LossOnIgnition, &["loss on ignition", "loi"]),
    (LabMethod::WalkleyBlack, &["walkley-black"]),
    (LabMethod::DryCombustion, &["dry combustion"]),
    (LabMethod::AmmoniumAcetate, &["ammonium acetate", "nh4oac", "ammonium acetate ph 7"]),
    (LabMethod::Mehlich1, &["mehlich-1"]),
    (LabMethod::Mehlich3, &["mehlich-3"]),
    (LabMethod::Mehlich3Icp, &["mehlich-3 icp"]),
    (LabMethod::Mehlich3Color, &["mehlich-3 color"]),
    (LabMethod::Bray1, &["bray-1", "bray p1"]),
    (LabMethod::Bray2, &["bray-2", "bray p2"]),
    (LabMethod::Olsen, &["olsen", "bicarbonate"]),
    (LabMethod::Colwell, &["colwell"]),
    (LabMethod::CalciumAcetateLactate, &["calcium acetate lactate", "cal"]),
    (LabMethod::Morgan, &["morgan"]),
    (LabMethod::ModifiedMorgan, &["modified morgan"]),
    (LabMethod::Dtpa, &["dtpa"]),
    (LabMethod::HotWater, &["hot water"]),
    (LabMethod::HydrochloricAcid, &["hydrochloric acid", "hcl"]),
    (LabMethod::MonocalciumPhosphate, &["monocalcium phosphate"]),
    (LabMethod::PotassiumChloride40, &["kcl-40", "potassium chloride 40"]),
    (LabMethod::Resin, &["resin"]),
    (LabMethod::CalciumAcetate, &["calcium acetate"]),
    (LabMethod::Summation, &["summation"]),
    (LabMethod::MeasuredPh7, &["measured ph 7", "metson"]),
    (LabMethod::Effective, &["effective"]),
    (LabMethod::OneToOne, &["1:1"]),
    (LabMethod::OneToTwo, &["1:2"]),
    (LabMethod::OneToFive, &["1:5"]),
    (LabMethod::SaturatedPaste, &["saturated paste"]),
    (LabMethod::Calculated, &["calculated"]),
    (LabMethod::Unknown, &["unknown"]),
];

/// Letters and digits in lower case.
fn plain(text: &str) -> impl Iterator<Item = char> {
    text.chars().filter(|c| !matches!(c, ' ' | '-' | '_')).flat_map(char::to_lowercase)
}

impl LabMethod {
    /// Reads a method as typed; case, spaces, hyphens and underscores do not matter.
    pub fn parse(text: &str) -> Option<Self> {
        // Without new strings: sheets name the method row by row.
        let is_same = |name: &str| plain(name).eq(plain(text));
        NAMES.iter().find(|(_, names)| names.iter().any(|name| is_same(name))).map(|(method, _)| *method)
    }

    /// The name printed.
    pub fn name(self) -> &'static str {
        NAMES.iter().find(|(method, _)| *method == self).map_or("", |(_, names)| names[0])
    }

    /// Methods that fit an analyte.
    pub fn fitting(analyte: Analyte) -> Vec<LabMethod> {
        use LabMethod as M;
        let mut methods = match analyte {
            Analyte::PhWater => vec![M::Water],
            Analyte::PhCacl2 => vec![M::CalciumChloride],
            Analyte::PhKcl => vec![M::PotassiumChloride],
            Analyte::PhSalt => vec![M::DiluteSalt],
            Analyte::BufferPh => Buffer::ALL.iter().map(|buffer| M::Buffer(*buffer)).collect(),
            Analyte::Ec => vec![M::OneToOne, M::OneToTwo, M::OneToFive, M::SaturatedPaste],
            Analyte::OrganicMatter => vec![M::LossOnIgnition, M::WalkleyBlack, M::DryCombustion],
            Analyte::NitrateN => vec![M::PotassiumChloride, M::Water],
            Analyte::P | Analyte::PSecond => vec![
                M::Bray1,
                M::Bray2,
                M::Mehlich3Icp,
                M::Mehlich3Color,
                M::Mehlich3,
                M::Olsen,
                M::Colwell,
                M::Mehlich1,
                M::Resin,
                M::CalciumAcetateLactate,
                M::Morgan,
                M::ModifiedMorgan,
            ],
            Analyte::S => vec![M::MonocalciumPhosphate, M::Mehlich3, M::PotassiumChloride40, M::ModifiedMorgan],
            Analyte::K | Analyte::KSecond | Analyte::Ca | Analyte::Mg | Analyte::Na => vec![
                M::AmmoniumAcetate,
                M::Mehlich3,
                M::Mehlich1,
                M::PotassiumChloride,
                M::Resin,
                M::CalciumAcetateLactate,
                M::CalciumChloride,
                M::Olsen,
                M::Colwell,
                M::Morgan,
                M::ModifiedMorgan,
            ],
            Analyte::Al => vec![M::PotassiumChloride],
            Analyte::AlExtractable => vec![M::Mehlich3, M::ModifiedMorgan],
            Analyte::Acidity => vec![M::PotassiumChloride, M::CalciumAcetate, M::Calculated],
            Analyte::Cec => vec![M::Summation, M::MeasuredPh7, M::Effective],
            Analyte::Zn | Analyte::Mn | Analyte::Cu | Analyte::Fe => {
                vec![M::Dtpa, M::Mehlich3, M::Mehlich1, M::HydrochloricAcid, M::ModifiedMorgan]
            }
            Analyte::B => vec![M::HotWater, M::Mehlich3, M::Mehlich1, M::Dtpa],
            _ => vec![M::Calculated],
        };
        methods.push(M::Unknown);
        methods
    }
}
