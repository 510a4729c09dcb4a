//! What the cells of a column say against its name: nothing there, words only, one number all the way down.

use super::name::Name;
use super::sheet_reading::SheetReading;
use super::{Found, Role};
use crate::chemistry::Buffer;
use crate::samples::{Analyte, LabMethod};

/// A Woodruff reading some labs print where they did not run the buffer. Source: open lab rows of 2018 \[R\].
const WOODRUFF_NOT_RUN: f64 = 7.2;

/// Leaves aside measurements without a number, and tells of a buffer that was not run.
pub(super) fn judge_cells(sheet: &mut SheetReading) {
    for column in 0..sheet.readings.len() {
        let Role::Analyte { analyte, .. } = sheet.readings[column].role else { continue };
        if sheet.table.rows.is_empty() {
            continue;
        }
        let values = &sheet.values[column];
        if values.n_filled == 0 {
            // A blank buffer column is an answer: the lab runs the buffer on acid samples only.
            if analyte == Analyte::BufferPh {
                sheet.tell(column, "blank in every row");
            } else {
                sheet.set_aside(column, "blank in every row", "by its cells");
            }
        } else if values.n_numbers == 0 && analyte != Analyte::ExcessLime {
            sheet.set_aside(column, "words only, no number", "by its cells");
        } else if analyte == Analyte::BufferPh {
            judge_buffer(sheet, column);
        }
    }
}

fn judge_buffer(sheet: &mut SheetReading, column: usize) {
    let Some([least, most]) = sheet.values[column].range() else { return };
    let is_woodruff = sheet.method(column) == Some(LabMethod::Buffer(Buffer::Woodruff));
    if is_woodruff && least == WOODRUFF_NOT_RUN && most == WOODRUFF_NOT_RUN {
        sheet.tell(column, "7.2 in every row: what a lab prints where it did not run the buffer, no measurement");
    }
    let is_ph = sheet.senses[column].name != Some(Name::LimeIndex);
    if is_ph && least > 14.0 {
        if let Role::Analyte { unit, .. } = &mut sheet.readings[column].role {
            *unit = Found::NotPrinted;
        }
        sheet.tell(column, "no pH by its numbers: perhaps a lime index, ten times the buffer pH");
    }
}

#[cfg(test)]
mod tests {
    use super::super::invented_sheet::{aside, shorts, understood};

    #[test]
    fn columns_without_a_number_are_left_aside() {
        let readings = understood("P ppm,K ppm,Na ppm,Buffer pH", &["20,VH,,", "22,H,,"]);
        assert_eq!(aside(&readings[1]), "words only, no number");
        assert_eq!(aside(&readings[2]), "blank in every row");
        assert!(readings[3].why.contains("blank in every row"));
    }

    #[test]
    fn a_buffer_that_is_no_ph_stays_open() {
        assert_eq!(shorts("Buffer", &["68", "66"])[0], "buffer_ph | ? | ?");
        assert_eq!(shorts("Lime index", &["68"])[0], "buffer_ph | lime index | ?");
        let why = &understood("Woodruff BpH", &["7.2", "6.8"])[0].why;
        assert!(!why.contains("did not run"), "{why}");
    }
}
