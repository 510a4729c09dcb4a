//! What the headers of a lab sheet mean: analyte, unit, method, name, place, depth, or nothing this program uses.
//!
//! [`SampleTable`] -> one [`ColumnReading`] a column, each with the reason. Nothing that matters is guessed: a method or
//! unit the sheet does not print stays open, unless the sheet's own numbers prove it.
//!
//! A header is cut to plain words (`header_words`), its unit (`unit_words`) and its methods (`method_words`) are taken
//! out, and what is left is looked up (`analyte_names`, `sheet_names`, `leave_aside`). Then the numbers settle what names
//! cannot: places, units by range and by the sheet's own sums, repeated columns.

mod analyte_names;
mod by_name;
mod carried_units;
mod cec_method;
mod cell_notes;
mod column_reading;
mod fallow;
mod header_sense;
mod header_words;
mod leave_aside;
mod method_words;
mod name;
mod places;
mod repeats;
mod sheet_names;
mod sheet_reading;
mod sheet_roles;
mod sum_of_bases;
mod unit_by_values;
mod unit_proof;
mod unit_words;
mod values;

pub use crate::samples::DepthUnit;
pub use column_reading::{ColumnReading, Found, Role};
pub use fallow::{Fallow, fallow};
pub use header_sense::is_known_header;

use crate::samples::{NumberForm, SampleTable};
use sheet_reading::SheetReading;

/// Understands every column of a sheet: one reading a column, in order.
///
/// # Guarantees
/// Total: any header and any cells give a reading. At most one column an analyte, an id, a place, a depth and a day; what
/// else stands on the sheet is left aside with its reason. Numbers are looked at in the first 500 rows.
pub fn understand(table: &SampleTable, numbers: &NumberForm) -> Vec<ColumnReading> {
    let mut sheet = SheetReading::by_name(table, numbers);
    cell_notes::judge_cells(&mut sheet);
    places::settle_places(&mut sheet, numbers);
    sheet_roles::settle_sheet_roles(&mut sheet);
    carried_units::carry_units(&mut sheet);
    sum_of_bases::settle_sum_of_bases(&mut sheet);
    unit_by_values::settle_units_by_values(&mut sheet);
    unit_proof::prove_units(&mut sheet);
    cec_method::settle_cec_method(&mut sheet);
    cec_method::settle_hydrogen(&mut sheet);
    repeats::settle_repeats(&mut sheet);
    sheet.readings
}

#[cfg(test)]
mod invented_sheet;
