//! Small invented sheets for the tests of this module.

use super::{ColumnReading, Role, understand};
use crate::samples::{LabMethod, NumberForm, Row, SampleTable};
use crate::units::LabUnit;

/// Understands a sheet written with commas.
pub(super) fn understood(header: &str, rows: &[&str]) -> Vec<ColumnReading> {
    let cells = |line: &str| line.split(',').map(|cell| cell.trim().to_owned()).collect::<Vec<_>>();
    let rows = rows.iter().enumerate().map(|(n, row)| Row { line: n + 2, cells: cells(row) }).collect();
    understand(
        &SampleTable {
            file: "invented.csv".into(),
            header: cells(header),
            rows,
            samples_in: crate::sheet::SamplesIn::Rows,
        },
        &NumberForm::default(),
    )
}

/// What a column is, shortly: `k | ppm | mehlich-3`, `-` for a column left aside, `?` for what is open.
pub(super) fn short(reading: &ColumnReading) -> String {
    match &reading.role {
        Role::Analyte { analyte, unit, method } => {
            let unit = unit.value().map_or("?".to_owned(), LabUnit::name);
            format!("{} | {unit} | {}", analyte.key(), method.value().map_or("?", LabMethod::name))
        }
        Role::LeftAside(_) => "-".to_owned(),
        role => format!("{role:?}"),
    }
}

/// All columns of a sheet, shortly.
pub(super) fn shorts(header: &str, rows: &[&str]) -> Vec<String> {
    understood(header, rows).iter().map(short).collect()
}

/// Why a column was left aside; empty where it was not.
pub(super) fn aside(reading: &ColumnReading) -> &str {
    match &reading.role {
        Role::LeftAside(reason) => reason,
        _ => "",
    }
}
