//! The columns of one sheet while they are being understood: header, numbers and reading side by side.

use super::by_name::role_by_name;
use super::header_sense::HeaderSense;
use super::values::ColumnValues;
use super::{ColumnReading, Found, Role};
use crate::chemistry::Cation;
use crate::samples::{Analyte, LabMethod, NumberForm, SampleTable};
use crate::units::{LabUnit, Quantity};

/// Soil behind pounds an acre and kilograms a hectare where sums are tested: the furrow slice of most sheets. Source:
/// agronomy texts \[R2\].
pub(super) const TESTED_SOIL_LB_AC: f64 = crate::units::FURROW_SLICE_LB_AC;

/// The exchangeable cations and their analytes.
pub(super) const CATIONS: [(Cation, Analyte); 4] =
    [(Cation::Ca, Analyte::Ca), (Cation::Mg, Analyte::Mg), (Cation::K, Analyte::K), (Cation::Na, Analyte::Na)];

/// A sheet being understood. All lists have one entry a column.
pub(super) struct SheetReading<'a> {
    /// The sheet.
    pub(super) table: &'a SampleTable,
    /// What each header says by itself.
    pub(super) senses: Vec<HeaderSense>,
    /// The numbers below; of measurements, places and depths only.
    pub(super) values: Vec<ColumnValues>,
    /// What each column is, so far.
    pub(super) readings: Vec<ColumnReading>,
}

impl<'a> SheetReading<'a> {
    /// Reads every header by itself, and the numbers.
    pub(super) fn by_name(table: &'a SampleTable, numbers: &NumberForm) -> Self {
        let senses: Vec<HeaderSense> = table.header.iter().map(|header| HeaderSense::of(header)).collect();
        let named = table.header.iter().zip(&senses).enumerate();
        let readings: Vec<ColumnReading> = named
            .map(|(index, (column, sense))| {
                let (role, why) = role_by_name(sense);
                ColumnReading { column: column.clone(), index, role, why }
            })
            .collect();
        let holds_numbers = |role: &Role| {
            matches!(
                role,
                Role::Analyte { .. }
                    | Role::Longitude
                    | Role::Latitude
                    | Role::Easting
                    | Role::Northing
                    | Role::DepthTop(_)
                    | Role::DepthBottom(_)
            )
        };
        let values = readings
            .iter()
            .map(|reading| match holds_numbers(&reading.role) {
                true => ColumnValues::of(table, reading.index, numbers),
                false => ColumnValues::none(),
            })
            .collect();
        SheetReading { table, senses, values, readings }
    }

    /// Columns of an analyte, in the order of the sheet.
    pub(super) fn columns_of(&self, analyte: Analyte) -> Vec<usize> {
        (0..self.readings.len()).filter(|column| self.analyte(*column) == Some(analyte)).collect()
    }

    /// The first column of an analyte.
    pub(super) fn first_of(&self, analyte: Analyte) -> Option<usize> {
        self.columns_of(analyte).first().copied()
    }

    /// Analyte of a column.
    pub(super) fn analyte(&self, column: usize) -> Option<Analyte> {
        match self.readings[column].role {
            Role::Analyte { analyte, .. } => Some(analyte),
            _ => None,
        }
    }

    /// Unit of a column, where it is settled.
    pub(super) fn unit(&self, column: usize) -> Option<LabUnit> {
        match &self.readings[column].role {
            Role::Analyte { unit, .. } => unit.value(),
            _ => None,
        }
    }

    /// Method of a column, where it is settled.
    pub(super) fn method(&self, column: usize) -> Option<LabMethod> {
        match &self.readings[column].role {
            Role::Analyte { method, .. } => method.value(),
            _ => None,
        }
    }

    /// Whether nothing was printed that could be the unit.
    pub(super) fn lacks_unit(&self, column: usize) -> bool {
        let is_open = matches!(&self.readings[column].role, Role::Analyte { unit: Found::NotPrinted, .. });
        is_open && self.senses[column].unit.is_none()
    }

    /// Whether the unit is an amount of charge.
    pub(super) fn is_charge(&self, column: usize) -> bool {
        self.unit(column).is_some_and(is_charge)
    }

    /// Header of a column, as printed.
    pub(super) fn header(&self, column: usize) -> &'a str {
        self.table.header.get(column).map_or("", String::as_str)
    }

    /// Charge of a cation, acidity or CEC in a row, meq/100 g (by volume cmolc/dm3); as printed where the unit is open.
    pub(super) fn charge(&self, column: usize, row: usize) -> Option<f64> {
        let value = self.values[column].at(row)?;
        let Some(unit) = self.unit(column) else { return Some(value) };
        Some(value * unit.factor(self.analyte(column)?.quantity(), TESTED_SOIL_LB_AC)?)
    }

    /// Rows looked at.
    pub(super) fn n_rows(&self) -> usize {
        self.values.iter().map(|values| values.numbers.len()).max().unwrap_or(0)
    }

    /// Leaves a column aside.
    pub(super) fn set_aside(&mut self, column: usize, reason: impl Into<String>, why: &str) {
        let reading = &mut self.readings[column];
        reading.role = Role::LeftAside(reason.into());
        reading.why = why.to_owned();
    }

    /// Adds to the reason of a column.
    pub(super) fn tell(&mut self, column: usize, note: &str) {
        let why = &mut self.readings[column].why;
        why.push_str("; ");
        why.push_str(note);
    }

    /// Settles a unit that is not printed, where it fits.
    pub(super) fn infer_unit(&mut self, column: usize, new: LabUnit, reason: &str) {
        if let Role::Analyte { analyte, unit, .. } = &mut self.readings[column].role
            && new.factor(analyte.quantity(), TESTED_SOIL_LB_AC).is_some()
        {
            *unit = Found::Inferred(new, reason.to_owned());
        }
    }

    /// Settles a method that is not printed.
    pub(super) fn infer_method(&mut self, column: usize, new: LabMethod, reason: &str) {
        if let Role::Analyte { method, .. } = &mut self.readings[column].role {
            *method = Found::Inferred(new, reason.to_owned());
        }
    }

    /// Makes a column another analyte.
    pub(super) fn set_analyte(&mut self, column: usize, new: Analyte) {
        if let Role::Analyte { analyte, .. } = &mut self.readings[column].role {
            *analyte = new;
        }
    }
}

/// Whether a unit is an amount of charge.
pub(super) fn is_charge(unit: LabUnit) -> bool {
    unit.factor(Quantity::Charge, TESTED_SOIL_LB_AC).is_some()
}
