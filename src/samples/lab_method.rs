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
    /// Potassium chloride, 1 M: pH, or extract of Ca, Mg, Al.
    PotassiumChloride,
    /// A lime buffer.
    Buffer(Buffer),
    /// Loss on ignition.
    LossOnIgnition,
    /// Walkley-Black.
    WalkleyBlack,
    /// Neutral 1 M ammonium acetate.
    AmmoniumAcetate,
    /// Mehlich-1.
    Mehlich1,
    /// Mehlich-3 for cations.
    Mehlich3,
    /// Mehlich-3 phosphorus read by ICP.
    Mehlich3Icp,
    /// Mehlich-3 phosphorus read by color.
    Mehlich3Color,
    /// Bray P1.
    Bray1,
    /// Olsen bicarbonate.
    Olsen,
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
    /// Worked out by the lab from other readings.
    Calculated,
    /// The user does not know; what needs it is left out.
    Unknown,
}

const NAMES: &[(LabMethod, &[&str])] = &[
    (LabMethod::Water, &["water", "water 1:1", "water 1:2", "water 1:2.5", "water 1:5"]),
    (LabMethod::CalciumChloride, &["calcium chloride", "cacl2"]),
    (LabMethod::PotassiumChloride, &["potassium chloride", "kcl", "kcl 1 m"]),
    (LabMethod::Buffer(Buffer::Smp), &["smp"]),
    (LabMethod::Buffer(Buffer::Sikora), &["sikora"]),
    (LabMethod::Buffer(Buffer::Sikora2), &["sikora-2"]),
    (LabMethod::Buffer(Buffer::MooreSikora), &["moore-sikora"]),
    (LabMethod::Buffer(Buffer::AdamsEvans), &["adams-evans"]),
    (LabMethod::Buffer(Buffer::Mehlich), &["mehlich"]),
    (LabMethod::Buffer(Buffer::Woodruff), &["woodruff"]),
    (LabMethod::LossOnIgnition, &["loss on ignition", "loi"]),
    (LabMethod::WalkleyBlack, &["walkley-black"]),
    (LabMethod::AmmoniumAcetate, &["ammonium acetate", "nh4oac", "ammonium acetate ph 7"]),
    (LabMethod::Mehlich1, &["mehlich-1"]),
    (LabMethod::Mehlich3, &["mehlich-3"]),
    (LabMethod::Mehlich3Icp, &["mehlich-3 icp"]),
    (LabMethod::Mehlich3Color, &["mehlich-3 color"]),
    (LabMethod::Bray1, &["bray-1", "bray p1"]),
    (LabMethod::Olsen, &["olsen"]),
    (LabMethod::Resin, &["resin"]),
    (LabMethod::CalciumAcetate, &["calcium acetate"]),
    (LabMethod::Summation, &["summation"]),
    (LabMethod::MeasuredPh7, &["measured ph 7"]),
    (LabMethod::Effective, &["effective"]),
    (LabMethod::Calculated, &["calculated"]),
    (LabMethod::Unknown, &["unknown"]),
];

impl LabMethod {
    /// Reads a method as typed; case, spaces, hyphens and underscores do not matter.
    pub fn parse(text: &str) -> Option<Self> {
        let plain = |t: &str| t.chars().filter(|c| !matches!(c, ' ' | '-' | '_')).collect::<String>().to_lowercase();
        NAMES.iter().find(|(_, names)| names.iter().any(|name| plain(name) == plain(text))).map(|(method, _)| *method)
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
            Analyte::BufferPh => Buffer::ALL.iter().map(|buffer| M::Buffer(*buffer)).collect(),
            Analyte::OrganicMatter => vec![M::LossOnIgnition, M::WalkleyBlack],
            Analyte::P => vec![M::Bray1, M::Mehlich3Icp, M::Mehlich3Color, M::Olsen, M::Mehlich1, M::Resin],
            Analyte::K | Analyte::Ca | Analyte::Mg | Analyte::Na => {
                vec![M::AmmoniumAcetate, M::Mehlich3, M::Mehlich1, M::PotassiumChloride, M::Resin]
            }
            Analyte::Al => vec![M::PotassiumChloride],
            Analyte::Acidity => vec![M::PotassiumChloride, M::CalciumAcetate, M::Calculated],
            Analyte::Cec => vec![M::Summation, M::MeasuredPh7, M::Effective],
            _ => vec![M::Calculated],
        };
        methods.push(M::Unknown);
        methods
    }
}
