//! Which column of the sheet gives which quantity, and reading a cell of it.

use std::collections::BTreeMap;

use super::Figure;
use crate::columns::{ColumnReading, DepthUnit, Found, Role};
use crate::samples::{
    Analyte, CellNumber, LabMethod, Limit, NumberForm, Reading, Row, SampleTable, depth_span, rating,
};
use crate::units::{LabUnit, Quantity, SoilBasis, soil_lb_ac};

/// A column with a measured quantity.
#[derive(Debug, Clone)]
pub(super) struct Source {
    index: usize,
    /// Header as printed.
    pub(super) header: String,
    /// `None`: the sheet does not print it.
    pub(super) unit: Option<LabUnit>,
    /// `None`: the sheet does not print it.
    pub(super) method: Option<LabMethod>,
}

/// A cell read, in the program's unit.
#[derive(Debug, Clone)]
pub(super) struct Measured {
    pub(super) figure: Figure,
    pub(super) basis: Option<SoilBasis>,
    pub(super) method: Option<LabMethod>,
}

/// Why a quantity of a row is not known.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Gap {
    /// The sheet has no such column.
    NoColumn,
    /// The cell is blank, under this header.
    Blank(String),
    /// The cell cannot be read, and what stands there.
    Unreadable(String),
    /// The column cannot be used, and why.
    Unusable(String),
}

impl Gap {
    /// In words; `name` is the quantity's.
    pub(super) fn words(&self, name: &str) -> String {
        match self {
            Gap::NoColumn => format!("the sheet has no column for {name}"),
            Gap::Blank(header) => format!("`{header}` is blank"),
            Gap::Unreadable(_) => "a cell cannot be read".to_owned(),
            Gap::Unusable(why) => why.clone(),
        }
    }
}

/// Columns by what they give.
pub(super) struct SheetColumns<'a> {
    header: &'a [String],
    numbers: &'a NumberForm,
    /// Column with the field's name.
    pub(super) name: Option<usize>,
    /// Column that tells fallow from cropped ground.
    pub(super) status: Option<usize>,
    /// Columns that say what was spread.
    pub(super) programmes: Vec<usize>,
    /// What the sheet does not print and was taken for a reason: "`CEC` is read in meq/100g: by range".
    pub(super) taken: Vec<String>,
    depth: [Option<(usize, Option<DepthUnit>)>; 2],
    sources: BTreeMap<Analyte, Source>,
}

impl<'a> SheetColumns<'a> {
    pub(super) fn of(table: &'a SampleTable, columns: &[ColumnReading], numbers: &'a NumberForm) -> Self {
        let mut found = SheetColumns {
            header: &table.header,
            numbers,
            name: None,
            status: None,
            programmes: Vec::new(),
            taken: Vec::new(),
            depth: [None; 2],
            sources: BTreeMap::new(),
        };
        let mut is_named_by_field = false;
        for column in columns.iter().filter(|column| column.index < table.header.len()) {
            match &column.role {
                Role::SampleId => {
                    // Of "Lab No" and "Field", the field's name is meant.
                    let says_field = column.column.to_lowercase().contains("field");
                    if found.name.is_none() || (says_field && !is_named_by_field) {
                        found.name = Some(column.index);
                        is_named_by_field = says_field;
                    }
                }
                Role::Status if found.status.is_none() => found.status = Some(column.index),
                Role::Programme => found.programmes.push(column.index),
                Role::DepthTop(unit) if found.depth[0].is_none() => found.depth[0] = Some((column.index, unit.value())),
                Role::DepthBottom(unit) if found.depth[1].is_none() => {
                    found.depth[1] = Some((column.index, unit.value()));
                }
                Role::Analyte { analyte, unit, method } => {
                    // One reading means 0 to 11 meq by buffer: only a header that names it will do.
                    let is_unnamed_buffer = *analyte == Analyte::BufferPh && !matches!(method, Found::Printed(..));
                    let method_told =
                        method.value().filter(|method| *method != LabMethod::Unknown && !is_unnamed_buffer);
                    let source = Source {
                        index: column.index,
                        header: column.column.clone(),
                        unit: unit.value(),
                        method: method_told,
                    };
                    // Of two columns of one quantity, the first that prints its unit.
                    match found.sources.get(analyte) {
                        Some(other) if other.unit.is_some() || source.unit.is_none() => {}
                        _ => {
                            found.sources.insert(*analyte, source);
                            found.taken.extend(taken(&column.column, *analyte, unit, method));
                        }
                    }
                }
                _ => {}
            }
        }
        found
    }

    /// The column of a quantity.
    pub(super) fn source(&self, analyte: Analyte) -> Option<&Source> {
        self.sources.get(&analyte)
    }

    /// Whether the sheet prints how deep the cores went.
    pub(super) fn has_depth(&self) -> bool {
        self.depth[1].is_some()
    }

    /// Top and bottom of the core, in; where the sheet has no top, the core starts at the surface. `None`: not printed.
    pub(super) fn depth_in(&self, row: &Row) -> Option<[f64; 2]> {
        let inches = |(index, unit): (usize, Option<DepthUnit>)| {
            let factor = unit.filter(|unit| *unit != DepthUnit::Open)?.inches();
            let reading = self.numbers.reading(row.cells.get(index)?)?;
            (reading.limit == Limit::Exact && reading.value >= 0.0).then_some(reading.value * factor)
        };
        let (bottom_index, unit) = self.depth[1]?;
        let [top, bottom] = match self.depth[0] {
            Some(top) => [inches(top)?, inches(self.depth[1]?)?],
            None => {
                let factor = unit.filter(|unit| *unit != DepthUnit::Open)?.inches();
                depth_span(row.cells.get(bottom_index)?, self.numbers)?.map(|depth| depth * factor)
            }
        };
        (bottom > top && top >= 0.0).then_some([top, bottom])
    }

    /// Top and bottom as printed, where no unit says what they are: enough to tell topsoil from what lies below.
    pub(super) fn depth_as_printed(&self, row: &Row) -> Option<[f64; 2]> {
        let (bottom_index, _) = self.depth[1]?;
        let number = |index: usize| self.numbers.reading(row.cells.get(index)?).map(|reading| reading.value);
        match self.depth[0] {
            Some((top, _)) => Some([number(top)?, number(bottom_index)?]),
            None => depth_span(row.cells.get(bottom_index)?, self.numbers),
        }
    }

    /// Whether the sheet prints its pH without saying whether it is in water or in a salt.
    pub(super) fn ph_medium_is_open(&self) -> bool {
        self.source(Analyte::PhWater).is_some_and(|source| source.method.is_none())
    }

    /// A text cell, `None` where it is blank.
    pub(super) fn text<'r>(&self, row: &'r Row, index: usize) -> Option<&'r str> {
        row.cells.get(index).map(|text| text.trim()).filter(|text| !text.is_empty())
    }

    /// A cell that says what was spread; an amount is given its header, for a bare 120 says nothing.
    pub(super) fn programme(&self, row: &Row, index: usize) -> Option<String> {
        let text = self.text(row, index)?;
        let amount = self.numbers.reading(text).filter(|reading| reading.limit == Limit::Exact);
        Some(amount.map_or_else(|| text.to_owned(), |amount| format!("{} {}", self.header(index), amount.value)))
    }

    /// Header of a column.
    pub(super) fn header(&self, index: usize) -> &str {
        self.header.get(index).map_or("", String::as_str)
    }

    /// Reads a quantity of a row into the program's unit.
    ///
    /// # Errors
    /// Why it is not known.
    pub(super) fn read(&self, row: &Row, analyte: Analyte, depth_in: Option<[f64; 2]>) -> Result<Measured, Gap> {
        let source = self.sources.get(&analyte).ok_or(Gap::NoColumn)?;
        let cell = row.cells.get(source.index).map_or("", |cell| cell.trim());
        let unreadable = |why: &str| Gap::Unreadable(format!("`{}` reads `{cell}`, {why}", source.header));
        let quantity = analyte.quantity();
        let number = match quantity {
            Quantity::Rating if !cell.is_empty() => rating(cell).map(CellNumber::Reading),
            _ => self.numbers.cell(cell),
        };
        let reading = match number {
            None => return Err(unreadable("which is no number")),
            Some(CellNumber::OpenWord) => return Err(unreadable("and the sheet does not say what that means")),
            Some(CellNumber::Blank) => return Err(Gap::Blank(source.header.clone())),
            Some(CellNumber::Reading(reading) | CellNumber::Rated(reading)) => reading,
        };
        if reading.value < 0.0 {
            return Err(unreadable("which is below 0"));
        }
        let factor = match (source.unit, quantity) {
            (None, Quantity::Ph | Quantity::BufferPh | Quantity::Percent | Quantity::Rating) => 1.0,
            // Fields of one sheet can be put beside each other without knowing the unit.
            (None, _) if analyte == Analyte::Cec => 1.0,
            (None, _) => return Err(Gap::Unusable(format!("`{}` prints no unit", source.header))),
            (Some(unit), _) if unit.needs_depth() && depth_in.is_none() => {
                return Err(Gap::Unusable(format!(
                    "`{}` is in {}, and the sheet does not print how deep the cores went",
                    source.header,
                    unit.name()
                )));
            }
            (Some(unit), _) => {
                let soil_lb_ac = depth_in.map_or(f64::NAN, |[top, bottom]| soil_lb_ac(bottom - top));
                unit.factor(quantity, soil_lb_ac).ok_or_else(|| {
                    Gap::Unusable(format!("`{}` is in {}, which does not fit", source.header, unit.name()))
                })?
            }
        };
        let figure = if factor == 1.0 {
            Figure::printed(reading, cell)
        } else {
            Figure::of(Reading { value: reading.value * factor, limit: reading.limit })
        };
        let [least, most] = plausible(analyte, source.unit.is_some());
        if !(least..=most).contains(&figure.value) {
            return Err(unreadable(&format!("which cannot be {}", analyte.label())));
        }
        Ok(Measured { figure, basis: source.unit.and_then(LabUnit::basis), method: source.method })
    }

    /// The figure of a quantity as printed, in the unit of the sheet.
    pub(super) fn as_printed(&self, row: &Row, analyte: Analyte) -> Option<Figure> {
        let cell = row.cells.get(self.sources.get(&analyte)?.index)?;
        match self.numbers.cell(cell)? {
            CellNumber::Reading(reading) | CellNumber::Rated(reading) => {
                Some(Figure::printed(reading, cell)).filter(|figure| figure.value >= 0.0)
            }
            _ => None,
        }
    }
}

/// What of a column is not printed and was taken for a reason, where it matters to CEC and shares.
fn taken(header: &str, analyte: Analyte, unit: &Found<LabUnit>, method: &Found<LabMethod>) -> Vec<String> {
    let is_amount = matches!(analyte.quantity(), Quantity::Cation(_) | Quantity::Charge);
    let mut taken = Vec::new();
    if let (Found::Inferred(unit, why), true) = (unit, is_amount) {
        taken.push(format!("`{header}` is read in {}, which the sheet does not print: {why}", unit.name()));
    }
    if let (Found::Inferred(method, why), Analyte::Cec) = (method, analyte) {
        taken.push(format!("`{header}` is read as CEC by {}, which the sheet does not print: {why}", method.name()));
    }
    taken
}

/// What a reading can be at all, in the program's unit; beyond, a cell stands under the wrong header. The ranges are those
/// of the check on values out of range.
fn plausible(analyte: Analyte, is_unit_known: bool) -> [f64; 2] {
    use Analyte as A;
    match (analyte, analyte.quantity()) {
        (_, Quantity::Ph | Quantity::BufferPh) => [2.0, 11.0],
        // Extracts of limy soil exceed the CEC.
        (A::CaSaturation | A::MgSaturation | A::KSaturation | A::NaSaturation | A::BaseSaturation, _) => [0.0, 150.0],
        (_, Quantity::Percent | Quantity::MassPercent | Quantity::OrganicMatter) => [0.0, 100.0],
        (A::Cec, _) if is_unit_known => [0.5, 200.0],
        (A::Cec, _) => [f64::MIN_POSITIVE, 2000.0],
        _ => [0.0, f64::MAX],
    }
}
