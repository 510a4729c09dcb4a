//! The CEC of a row: the lab's own, or summed from what the sheet prints.

use super::Figure;
use super::sheet_columns::{Gap, Measured, SheetColumns};
use crate::chemistry::{Buffer, Cation};
use crate::samples::{Analyte, LabMethod, Limit, Reading, Row};
use crate::units::SoilBasis;

/// What kind of CEC a figure is; decides whether it can be put against the classes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CecKind {
    /// By mass of soil, at pH 7: measured there, or summed with all acidity.
    AtPh7,
    /// By mass of soil; the sheet does not print the method.
    MethodNotPrinted,
    /// By mass of soil, at the soil's own pH.
    Effective,
    /// By volume of soil.
    ByVolume,
    /// The sheet does not print the unit.
    UnitNotPrinted,
}

impl CecKind {
    /// Why the figure gets no class; `None` where it gets one.
    pub fn why_no_class(self) -> Option<&'static str> {
        match self {
            CecKind::AtPh7 | CecKind::MethodNotPrinted => None,
            CecKind::Effective => Some("effective CEC: the classes are made for CEC at pH 7"),
            CecKind::ByVolume => Some("CEC by volume of soil: the classes are made for CEC by mass"),
            CecKind::UnitNotPrinted => Some("the sheet prints no unit for CEC"),
        }
    }

    /// Unit as printed; empty where the sheet prints none.
    pub fn unit(self) -> &'static str {
        match self {
            CecKind::AtPh7 | CecKind::MethodNotPrinted | CecKind::Effective => SoilBasis::Mass.cec_unit(),
            CecKind::ByVolume => SoilBasis::Volume.cec_unit(),
            CecKind::UnitNotPrinted => "",
        }
    }

    /// Whether figures of two kinds can stand on one ruler. A CEC without a printed method is read as one at pH 7.
    pub fn compares_with(self, other: CecKind) -> bool {
        let plain = |kind| if kind == CecKind::MethodNotPrinted { CecKind::AtPh7 } else { kind };
        plain(self) == plain(other)
    }
}

/// Where the CEC of a row comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FieldCecSource {
    /// Printed by the lab, with its method.
    Printed(Option<PrintedMethod>),
    /// Summed here from cations and the sheet's acidity.
    SummedFromAcidity,
    /// Summed here from cations and exchangeable aluminum.
    SummedFromAluminum,
    /// Summed here from cations and the reading of a buffer the header names.
    SummedFromBuffer(&'static str),
}

/// Method of a printed CEC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PrintedMethod {
    /// Bases and acidity summed by the lab.
    Summation,
    /// Measured at pH 7.
    MeasuredPh7,
    /// At the soil's own pH.
    Effective,
}

impl FieldCecSource {
    /// Whether lime in the soil makes the figure too high: all but a measured CEC count what the extract dissolves.
    pub fn counts_lime(self) -> bool {
        self != FieldCecSource::Printed(Some(PrintedMethod::MeasuredPh7))
    }

    /// In words.
    pub fn words(self) -> String {
        match self {
            FieldCecSource::Printed(None) => "printed, method not said".to_owned(),
            FieldCecSource::Printed(Some(PrintedMethod::Summation)) => "printed, by summation".to_owned(),
            FieldCecSource::Printed(Some(PrintedMethod::MeasuredPh7)) => "printed, measured at pH 7".to_owned(),
            FieldCecSource::Printed(Some(PrintedMethod::Effective)) => "printed, effective".to_owned(),
            FieldCecSource::SummedFromAcidity => "summed from printed cations and acidity".to_owned(),
            FieldCecSource::SummedFromAluminum => "summed from printed cations and aluminum".to_owned(),
            FieldCecSource::SummedFromBuffer(buffer) => {
                format!("summed from printed cations and {buffer} buffer pH")
            }
        }
    }
}

/// The CEC of a row or a field.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldCec {
    /// meq/100 g, or meq/100 cm3, or as printed where the unit is not: see `kind`.
    pub figure: Figure,
    /// Kind.
    pub kind: CecKind,
    /// Where it comes from.
    pub source: FieldCecSource,
}

/// The CEC of a row.
///
/// # Errors
/// Why there is none, in words; cells that cannot be read are added to `unread`.
pub(super) fn cec(
    sheet: &SheetColumns<'_>,
    row: &Row,
    depth_in: Option<[f64; 2]>,
    unread: &mut Vec<String>,
) -> Result<FieldCec, String> {
    let printed = match sheet.read(row, Analyte::Cec, depth_in) {
        Ok(measured) => return Ok(printed_cec(measured)),
        Err(gap) => gap,
    };
    if let Gap::Unreadable(what) = &printed {
        unread.push(what.clone());
    }
    summed_cec(sheet, row, depth_in, unread).map_err(|why| match printed {
        Gap::NoColumn => format!("the sheet prints none, and it cannot be summed: {why}"),
        gap => gap.words("CEC"),
    })
}

fn printed_cec(measured: Measured) -> FieldCec {
    let method = match measured.method {
        Some(LabMethod::Summation) => Some(PrintedMethod::Summation),
        Some(LabMethod::MeasuredPh7) => Some(PrintedMethod::MeasuredPh7),
        Some(LabMethod::Effective) => Some(PrintedMethod::Effective),
        _ => None,
    };
    let kind = match (measured.basis, method) {
        (None, _) => CecKind::UnitNotPrinted,
        (Some(SoilBasis::Volume), _) => CecKind::ByVolume,
        (_, Some(PrintedMethod::Effective)) => CecKind::Effective,
        (_, Some(_)) => CecKind::AtPh7,
        (_, None) => CecKind::MethodNotPrinted,
    };
    FieldCec { figure: measured.figure, kind, source: FieldCecSource::Printed(method) }
}

/// What takes the places the bases leave.
struct Rest {
    figure: Figure,
    basis: SoilBasis,
    kind: CecKind,
    source: FieldCecSource,
}

fn summed_cec(
    sheet: &SheetColumns<'_>,
    row: &Row,
    depth_in: Option<[f64; 2]>,
    unread: &mut Vec<String>,
) -> Result<FieldCec, String> {
    let mut read = |analyte: Analyte| {
        let measured = sheet.read(row, analyte, depth_in);
        if let Err(Gap::Unreadable(what)) = &measured {
            unread.push(what.clone());
        }
        measured
    };
    let mut parts: Vec<Figure> = Vec::new();
    let mut bases = Vec::new();
    for cation in Cation::ALL {
        let analyte = amount_analyte(cation);
        match read(analyte).and_then(exchangeable) {
            Ok(measured) => {
                bases.push(measured.basis.unwrap_or(SoilBasis::Mass));
                parts.push(measured.figure);
            }
            // Sodium is a small part and many sheets leave it out; the others are not.
            Err(Gap::NoColumn | Gap::Blank(_)) if cation == Cation::Na => {}
            Err(gap) => return Err(gap.words(analyte.label())),
        }
    }
    let rest = rest(sheet, &mut read)?;
    if bases.iter().any(|basis| *basis != rest.basis) {
        return Err("cations and acidity are not both by mass, or both by volume".to_owned());
    }
    parts.push(rest.figure);
    let value: f64 = parts.iter().map(Figure::for_sums).sum();
    let is_open_above = parts.iter().any(|part| part.limit == Limit::Above);
    let limit = if is_open_above { Limit::Above } else { Limit::Exact };
    if value <= 0.0 {
        return Err("cations and acidity come to nothing".to_owned());
    }
    let kind = if rest.basis == SoilBasis::Volume { CecKind::ByVolume } else { rest.kind };
    Ok(FieldCec { figure: Figure::of(Reading { value, limit }), kind, source: rest.source })
}

fn rest(sheet: &SheetColumns<'_>, read: &mut impl FnMut(Analyte) -> Result<Measured, Gap>) -> Result<Rest, String> {
    let acidity = read(Analyte::Acidity);
    if let Ok(measured) = acidity {
        let kind = match measured.method {
            Some(LabMethod::PotassiumChloride) => CecKind::Effective,
            Some(_) => CecKind::AtPh7,
            None => CecKind::MethodNotPrinted,
        };
        let basis = measured.basis.unwrap_or(SoilBasis::Mass);
        return Ok(Rest { figure: measured.figure, basis, kind, source: FieldCecSource::SummedFromAcidity });
    }
    let buffer_method = sheet.source(Analyte::BufferPh).map(|source| source.method);
    let buffer = match buffer_method {
        Some(Some(LabMethod::Buffer(buffer))) => match read(Analyte::BufferPh) {
            Ok(measured) => {
                let acidity = buffer.acidity_meq_100g(measured.figure.value);
                let basis = if buffer == Buffer::Mehlich { SoilBasis::Volume } else { SoilBasis::Mass };
                return Ok(Rest {
                    figure: Figure::worked_out(acidity),
                    basis,
                    kind: CecKind::AtPh7,
                    source: FieldCecSource::SummedFromBuffer(buffer.name()),
                });
            }
            Err(Gap::Blank(header)) => Some(format!("`{header}` is blank, and blank is not taken for no acidity")),
            Err(gap) => Some(gap.words("buffer pH")),
        },
        Some(_) => Some("the header does not name the buffer, and one reading means 0 to 11 meq by buffer".to_owned()),
        None => None,
    };
    if let Ok(measured) = read(Analyte::Al) {
        let basis = measured.basis.unwrap_or(SoilBasis::Mass);
        let (kind, source) = (CecKind::Effective, FieldCecSource::SummedFromAluminum);
        return Ok(Rest { figure: measured.figure, basis, kind, source });
    }
    Err(buffer.unwrap_or_else(|| match acidity {
        Err(Gap::NoColumn) => "no acidity and no buffer pH on the sheet".to_owned(),
        Err(gap) => gap.words("acidity"),
        Ok(_) => String::new(),
    }))
}

/// The analyte with the amount of a cation.
pub(super) fn amount_analyte(cation: Cation) -> Analyte {
    match cation {
        Cation::Ca => Analyte::Ca,
        Cation::Mg => Analyte::Mg,
        Cation::K => Analyte::K,
        Cation::Na => Analyte::Na,
    }
}

/// An amount that stands for all a cation holds of the exchange sites.
///
/// # Errors
/// The extractant takes out less: water, weak salts, lactate and bicarbonate (from memory \[M\]).
pub(super) fn exchangeable(measured: Measured) -> Result<Measured, Gap> {
    use LabMethod as M;
    match measured.method {
        Some(method @ (M::CalciumAcetateLactate | M::CalciumChloride | M::Olsen | M::Colwell)) => {
            Err(Gap::Unusable(format!("{} does not take out all a cation holds of the CEC", method.name())))
        }
        _ => Ok(measured),
    }
}
