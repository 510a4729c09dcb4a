//! [`FieldTest`]: what one row of the sheet, or the rows of one field, tell; and what they do not, with the reason.

use super::Figure;
use super::field_cec::{CecKind, FieldCec, FieldCecSource, amount_analyte, cec, exchangeable};
use super::sheet_columns::{Gap, Measured, SheetColumns};
use crate::chemistry::Cation;
use crate::columns::{Fallow, fallow};
use crate::samples::checks::calcareous_cec::CALCAREOUS_ABOVE_PH;
use crate::samples::{Analyte, LabMethod, Limit, Reading, Row};
use crate::units::SoilBasis;

/// Free lime from which extracts count lime as calcium, percent. Source: Commun. Soil Sci. Plant Anal. 1998, ammonium
/// acetate \[R abstract\].
const FREE_LIME_FROM_PERCENT: f64 = 0.5;
/// Bases that come to more than this share of the CEC do not belong to it, percent (heuristic: printing and lab error).
const MOST_BASES_PERCENT: f64 = 110.0;

/// Whether a field is cropped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ground {
    /// Cropped, or the sheet does not say.
    Cropped,
    /// Left fallow: drawn, but no measure for the others.
    Fallow,
}

/// A part of the CEC whose share is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// A base cation.
    Base(Cation),
    /// Exchangeable acidity.
    Acidity,
}

impl Part {
    /// All parts, in the order they are printed.
    pub const ALL: [Part; 5] =
        [Part::Base(Cation::Ca), Part::Base(Cation::Mg), Part::Base(Cation::K), Part::Base(Cation::Na), Part::Acidity];

    /// Position in [`Part::ALL`].
    fn index(self) -> usize {
        Part::ALL.iter().position(|part| *part == self).unwrap_or(0)
    }

    fn amount(self) -> Analyte {
        match self {
            Part::Base(cation) => amount_analyte(cation),
            Part::Acidity => Analyte::Acidity,
        }
    }

    fn share(self) -> Analyte {
        match self {
            Part::Base(Cation::Ca) => Analyte::CaSaturation,
            Part::Base(Cation::Mg) => Analyte::MgSaturation,
            Part::Base(Cation::K) => Analyte::KSaturation,
            Part::Base(Cation::Na) => Analyte::NaSaturation,
            Part::Acidity => Analyte::AciditySaturation,
        }
    }

    /// Name in a table: "Ca %".
    pub fn label(self) -> &'static str {
        match self {
            Part::Base(Cation::Ca) => "Ca %",
            Part::Base(Cation::Mg) => "Mg %",
            Part::Base(Cation::K) => "K %",
            Part::Base(Cation::Na) => "Na %",
            Part::Acidity => "acidity %",
        }
    }
}

/// Where a share comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShareSource {
    /// Printed by the lab.
    Printed,
    /// Worked out from a printed amount and the CEC.
    WorkedOut,
}

/// A share of the CEC.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// Percent of the CEC.
    pub figure: Figure,
    /// Where it comes from.
    pub source: ShareSource,
}

/// Something a row does not tell.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Missing {
    /// What: "CEC", "K %".
    pub what: &'static str,
    /// Why, in words.
    pub why: String,
}

/// What one row tells, or the rows of one field.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldTest {
    /// Name as on the sheet; "line 7" where it has none.
    pub name: String,
    /// Lines of the sheet, from 1.
    pub lines: Vec<usize>,
    /// Cropped or fallow.
    pub ground: Ground,
    /// Top and bottom of the core, in; as printed where the sheet gives no unit.
    pub depth_in: Option<[f64; 2]>,
    /// pH and what it is measured in.
    pub ph: Option<(Analyte, Figure)>,
    /// CEC.
    pub cec: Option<FieldCec>,
    /// Shares in the order of [`Part::ALL`].
    pub(super) shares: [Option<Share>; 5],
    /// Potassium as printed, in the sheet's unit.
    pub k_printed: Option<Figure>,
    /// What says that the soil has lime in it: "pH 7.8".
    pub lime_sign: Option<String>,
    /// What was spread, as printed.
    pub programme: Option<String>,
    /// What is not known.
    pub missing: Vec<Missing>,
    /// Cells that cannot be read: "line 7: `Ca` reads `abc`, which is no number".
    pub unread: Vec<String>,
    /// Other things to know about this field.
    pub remarks: Vec<String>,
}

impl FieldTest {
    /// Reads one row.
    pub(super) fn of_row(sheet: &SheetColumns<'_>, row: &Row) -> Self {
        let depth_in = sheet.depth_in(row);
        let mut unread = Vec::new();
        let mut missing = Vec::new();
        let ph = ph(sheet, row, &mut unread).map_err(|why| missing.push(Missing { what: "pH", why })).ok();
        let cec = cec(sheet, row, depth_in, &mut unread);
        let cec = cec.map_err(|why| missing.push(Missing { what: "CEC", why })).ok();
        let mut shares = [None, None, None, None, None];
        for part in Part::ALL {
            match share(sheet, row, depth_in, part, cec.as_ref(), &mut unread) {
                Ok(share) => shares[part.index()] = Some(share),
                Err(why) => missing.push(Missing { what: part.label(), why }),
            }
        }
        let programmes: Vec<String> =
            sheet.programmes.iter().filter_map(|index| sheet.programme(row, *index)).collect();
        let name = sheet.name.and_then(|index| sheet.text(row, index));
        let mut test = FieldTest {
            name: name.map(on_one_line).filter(|name| !name.is_empty()).unwrap_or_else(|| format!("line {}", row.line)),
            lines: vec![row.line],
            ground: ground(sheet, row),
            // Without a unit it only orders the rows of one field.
            depth_in: depth_in.or_else(|| sheet.depth_as_printed(row)),
            lime_sign: lime_sign(sheet, row, ph.as_ref(), &mut unread),
            ph,
            cec,
            shares,
            k_printed: sheet.as_printed(row, Analyte::K),
            programme: (!programmes.is_empty()).then(|| on_one_line(&programmes.join(", "))),
            missing,
            unread: Vec::new(),
            remarks: Vec::new(),
        };
        test.fill_acidity(sheet, row, depth_in);
        test.drop_bases_beyond_cec();
        unread.sort();
        unread.dedup();
        test.unread = unread.into_iter().map(|what| format!("line {}: {what}", row.line)).collect();
        test
    }

    /// A share of the CEC.
    pub fn share(&self, part: Part) -> Option<&Share> {
        self.shares[part.index()].as_ref()
    }

    /// Share of a base cation, percent.
    pub fn base_percent(&self, cation: Cation) -> Option<f64> {
        self.share(Part::Base(cation)).map(|share| share.figure.value)
    }

    /// Calcium and magnesium together, percent of the CEC.
    pub fn ca_mg_percent(&self) -> Option<f64> {
        Some(self.base_percent(Cation::Ca)? + self.base_percent(Cation::Mg)?)
    }

    /// Whether the soil has no exchangeable acidity; `None` where the sheet does not tell.
    pub fn is_without_acidity(&self) -> Option<bool> {
        const NEXT_TO_NONE_PERCENT: f64 = 0.5;
        self.share(Part::Acidity).map(|share| share.figure.value <= NEXT_TO_NONE_PERCENT)
    }

    /// Whether lime in the soil makes the CEC too high.
    pub fn counts_lime(&self) -> bool {
        self.lime_sign.is_some() && self.cec.as_ref().is_some_and(|cec| cec.source.counts_lime())
    }

    /// Whether a quantity, by its label, is told.
    pub(super) fn tells(&self, what: &str) -> bool {
        match what {
            "pH" => self.ph.is_some(),
            "CEC" => self.cec.is_some(),
            _ => Part::ALL.iter().any(|part| part.label() == what && self.share(*part).is_some()),
        }
    }

    /// Acidity where it is not printed as such: what a printed base saturation leaves, or, where the CEC was summed here,
    /// what the bases leave.
    fn fill_acidity(&mut self, sheet: &SheetColumns<'_>, row: &Row, depth_in: Option<[f64; 2]>) {
        if self.share(Part::Acidity).is_some() {
            return;
        }
        let from_bases = |bases: f64| Figure::worked_out((100.0 - bases).clamp(0.0, 100.0));
        let summed = self.cec.as_ref().is_some_and(|cec| {
            !matches!(cec.source, super::FieldCecSource::Printed(_)) && cec.figure.limit == Limit::Exact
        });
        let figure = match sheet.read(row, Analyte::BaseSaturation, depth_in) {
            Ok(printed) if printed.figure.limit == Limit::Exact => Some(from_bases(printed.figure.value)),
            _ if summed => {
                let shares = self.shares[..4].iter().flatten();
                (shares.clone().all(|share| share.source == ShareSource::WorkedOut) && self.ca_mg_percent().is_some())
                    .then(|| from_bases(shares.map(|share| share.figure.for_sums()).sum()))
            }
            _ => None,
        };
        if let Some(figure) = figure {
            self.shares[Part::Acidity.index()] = Some(Share { figure, source: ShareSource::WorkedOut });
            self.missing.retain(|missing| missing.what != Part::Acidity.label());
        }
    }

    /// Takes worked-out shares back where the bases come to more than the CEC can hold.
    fn drop_bases_beyond_cec(&mut self) {
        let is_worked_out =
            |share: &&Share| share.source == ShareSource::WorkedOut && share.figure.limit == Limit::Exact;
        let sum: f64 = self.shares[..4].iter().flatten().filter(is_worked_out).map(|share| share.figure.value).sum();
        if sum <= MOST_BASES_PERCENT {
            return;
        }
        let why = format!(
            "the cations come to more than {MOST_BASES_PERCENT:.0} % of the CEC: lime counted as calcium, or a wrong unit"
        );
        for part in Part::ALL {
            if self.share(part).is_some_and(|share| share.source == ShareSource::WorkedOut) {
                self.shares[part.index()] = None;
                self.missing.push(Missing { what: part.label(), why: why.clone() });
            }
        }
    }
}

/// A name without line breaks and other marks that move a terminal's pen.
fn on_one_line(text: &str) -> String {
    let blank = |c: char| if c.is_control() { ' ' } else { c };
    text.chars().map(blank).collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The soil pH: in water where the sheet has it.
fn ph(sheet: &SheetColumns<'_>, row: &Row, unread: &mut Vec<String>) -> Result<(Analyte, Figure), String> {
    let mut first_gap = None;
    for medium in [Analyte::PhWater, Analyte::PhCacl2, Analyte::PhKcl, Analyte::PhSalt] {
        match sheet.read(row, medium, None) {
            Ok(measured) => return Ok((medium, measured.figure)),
            Err(Gap::NoColumn) => {}
            Err(gap) => {
                if let Gap::Unreadable(what) = &gap {
                    unread.push(what.clone());
                }
                first_gap.get_or_insert(gap);
            }
        }
    }
    Err(first_gap.unwrap_or(Gap::NoColumn).words("pH"))
}

/// A share of the CEC: printed, or worked out.
fn share(
    sheet: &SheetColumns<'_>,
    row: &Row,
    depth_in: Option<[f64; 2]>,
    part: Part,
    cec: Option<&FieldCec>,
    unread: &mut Vec<String>,
) -> Result<Share, String> {
    let of_cec = |measured| if part == Part::Acidity { acidity_of_cec(measured, cec) } else { Ok(measured) };
    let printed = match sheet.read(row, part.share(), depth_in).and_then(of_cec) {
        Ok(measured) => return Ok(Share { figure: measured.figure, source: ShareSource::Printed }),
        Err(gap) => gap,
    };
    let amount = sheet.read(row, part.amount(), depth_in).and_then(exchangeable).and_then(of_cec);
    for gap in [Some(&printed), amount.as_ref().err()].into_iter().flatten() {
        if let Gap::Unreadable(what) = gap {
            unread.push(what.clone());
        }
    }
    let amount = match (amount, printed) {
        (Ok(amount), _) => amount,
        (Err(Gap::NoColumn), printed) => return Err(printed.words(part.amount().label())),
        (Err(gap), _) => return Err(gap.words(part.amount().label())),
    };
    let cec = cec.ok_or("there is no CEC to set it against")?;
    if cec.kind == CecKind::UnitNotPrinted {
        return Err("the sheet prints no unit for CEC".to_owned());
    }
    if (cec.kind == CecKind::ByVolume) != (amount.basis == Some(SoilBasis::Volume)) {
        return Err("amount and CEC are not both by mass, or both by volume".to_owned());
    }
    if cec.figure.limit != Limit::Exact {
        return Err("the CEC is printed as a limit".to_owned());
    }
    let percent = 100.0 * amount.figure.value / cec.figure.value;
    let figure = Figure::of(Reading { value: percent, limit: amount.figure.limit });
    Ok(Share { figure, source: ShareSource::WorkedOut })
}

/// Acidity that belongs to the CEC.
///
/// # Errors
/// Potassium chloride takes out what a soil gives at its own pH; a CEC at pH 7 has places for more.
fn acidity_of_cec(measured: Measured, cec: Option<&FieldCec>) -> Result<Measured, Gap> {
    let is_part = |cec: &FieldCec| cec.source == FieldCecSource::SummedFromAcidity || cec.kind == CecKind::Effective;
    if measured.method == Some(LabMethod::PotassiumChloride) && !cec.is_some_and(is_part) {
        return Err(Gap::Unusable("acidity by potassium chloride is only a part of the acidity at pH 7".to_owned()));
    }
    Ok(measured)
}

/// What says that lime lies in the soil.
fn lime_sign(
    sheet: &SheetColumns<'_>,
    row: &Row,
    ph: Option<&(Analyte, Figure)>,
    unread: &mut Vec<String>,
) -> Option<String> {
    let mut told = |analyte, from: f64| match sheet.read(row, analyte, None) {
        Ok(measured) => {
            (measured.figure.limit != Limit::Below && measured.figure.value >= from).then_some(measured.figure)
        }
        Err(gap) => {
            if let Gap::Unreadable(what) = gap {
                unread.push(what);
            }
            None
        }
    };
    let free_lime = told(Analyte::FreeLime, FREE_LIME_FROM_PERCENT);
    let excess_lime = told(Analyte::ExcessLime, 1.0);
    match (ph, free_lime) {
        // In salt solutions pH reads lower than in water, so the edge for water holds for them too.
        (Some((_, ph)), _) if ph.value > CALCAREOUS_ABOVE_PH => Some(format!("pH {}", ph.text(1))),
        (_, Some(free_lime)) => Some(format!("free lime {} %", free_lime.text(1))),
        _ => excess_lime.map(|_| "excess lime".to_owned()),
    }
}

/// Whether a row's ground lies fallow, by the words of its status.
fn ground(sheet: &SheetColumns<'_>, row: &Row) -> Ground {
    let Some(index) = sheet.status else { return Ground::Cropped };
    let Some(status) = sheet.text(row, index).map(str::to_lowercase) else { return Ground::Cropped };
    let asks_fallow = fallow(sheet.header(index)) != Fallow::Unsaid;
    let says_yes = matches!(status.as_str(), "yes" | "y" | "x" | "true" | "1" | "oui" | "ja" | "si" | "s\u{ed}");
    if fallow(&status) == Fallow::Plain || (asks_fallow && says_yes) { Ground::Fallow } else { Ground::Cropped }
}
