//! `[samples.columns]`: one line an analyte.

use super::draft::{LeftAside, Sources};
use super::lines::{Lines, quoted};
use super::words::{Cells, cells};
use crate::columns::{ColumnReading, DepthUnit, Found, Role};
use crate::samples::{Analyte, LabMethod, WordMeaning};
use crate::units::{LabUnit, Quantity};

/// An analyte's column.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct AnalyteColumn {
    analyte: Analyte,
    column: String,
    unit: Found<LabUnit>,
    method: Found<LabMethod>,
    why: String,
}

/// The columns of a sheet, sorted into what the field file says of them.
#[derive(Debug, Default)]
pub(super) struct ReadColumns {
    analytes: Vec<AnalyteColumn>,
    others: Vec<ColumnReading>,
    pub(super) words: Vec<(String, WordMeaning)>,
    pub(super) understood: Vec<String>,
    pub(super) left_aside: Vec<LeftAside>,
    pub(super) has_blank_buffer: bool,
}

/// Sorts the columns; those whose cells are no numbers are left aside.
pub(super) fn read(sources: &Sources<'_>) -> ReadColumns {
    let mut read = ReadColumns::default();
    for column in sources.columns {
        let Role::Analyte { analyte, unit, method } = &column.role else {
            if let Role::LeftAside(why) = &column.role {
                read.left_aside.push(LeftAside { column: column.column.clone(), why: why.clone() });
            } else {
                read.understood.push(format!("`{}` {}", column.column, column.role));
                read.others.push(column.clone());
            }
            continue;
        };
        let found = match analyte.quantity() {
            Quantity::Rating => Cells::Numbers(Vec::new()),
            _ => cells(sources.table, column.index, sources.numbers),
        };
        match found {
            Cells::Words(example) => {
                let why = format!("holds words such as `{example}`, not numbers");
                read.left_aside.push(LeftAside { column: column.column.clone(), why });
            }
            Cells::Blank => {
                let why = "blank in every row".to_owned();
                read.left_aside.push(LeftAside { column: column.column.clone(), why });
            }
            Cells::Numbers(words) => {
                for (word, meaning) in words {
                    if !read.words.iter().any(|(known, _)| known.to_lowercase() == word.to_lowercase()) {
                        read.words.push((word, meaning));
                    }
                }
                if *analyte == Analyte::BufferPh {
                    // Labs test less in the subsoil: a row without pH tells nothing of the lab's rule.
                    let is_ph =
                        |other: &&ColumnReading| matches!(other.role, Role::Analyte { analyte: Analyte::PhWater, .. });
                    let ph = sources.columns.iter().find(is_ph).map(|other| other.index);
                    let has_ph = |row: &crate::sheet::Row| ph.is_none_or(|ph| !row.cells[ph].is_empty());
                    read.has_blank_buffer =
                        sources.table.rows.iter().any(|row| row.cells[column.index].is_empty() && has_ph(row));
                }
                read.understood.push(format!("`{}` {}", column.column, column.role));
                read.analytes.push(AnalyteColumn {
                    analyte: *analyte,
                    column: column.column.clone(),
                    unit: unit.clone(),
                    method: method.clone(),
                    why: column.why.clone(),
                });
            }
        }
    }
    read.analytes.sort_by_key(|column| column.analyte);
    read
}

/// Writes the lines, aligned like a table.
pub(super) fn write(lines: &mut Lines, read: &ReadColumns) {
    let width = |of: &dyn Fn(&AnalyteColumn) -> usize| read.analytes.iter().map(of).max().unwrap_or(0);
    let key_width = width(&|column| column.analyte.key().len());
    let column_width = width(&|column| quoted(&column.column).chars().count() + 1);
    let unit_width = width(&|column| unit_text(column).chars().count() + 1);
    for column in &read.analytes {
        let key = column.analyte.key();
        let header = format!("{},", quoted(&column.column));
        let has_choice = LabMethod::fitting(column.analyte).len() > 2 || column.analyte == Analyte::PhWater;
        let unit = unit_text(column);
        let unit = if has_choice { format!("{},", unit) } else { unit };
        let mut line = format!("{key:<key_width$} = {{ column = {header:<column_width$} unit = {unit:<unit_width$}");
        if has_choice {
            line.push_str(&format!(" method = {} }}", method_text(column)));
        } else {
            line = format!("{} }}", line.trim_end());
        }
        let mut reasons = Vec::new();
        if let (Found::Inferred(_, why), false) = (&column.unit, column.unit.value() == Some(LabUnit::Ph)) {
            reasons.push(format!("unit {why}"));
        }
        if let (Found::Inferred(_, why), true) = (&column.method, has_choice) {
            reasons.push(format!("method {why}"));
        }
        let why = column.why.strip_prefix("by name; ").unwrap_or(&column.why);
        if !why.is_empty() && why != "by name" {
            reasons.push(why.to_owned());
        }
        lines.line(&line, &reasons.join("; "));
        if column.unit == Found::NotPrinted {
            let fitting = LabUnit::fitting(column.analyte.quantity());
            let named: Vec<&str> = fitting.iter().take(4).map(String::as_str).collect();
            let needed = format!("the unit of `{}`: {}, ...; left out until then", column.column, named.join(", "));
            lines.open(&format!("samples.columns.{key}.unit"), &needed);
        }
        if has_choice && column.method == Found::NotPrinted {
            let needed = format!("the lab's method for `{}`, or \"unknown\"", column.column);
            lines.open(&format!("samples.columns.{key}.method"), &needed);
        }
    }
}

fn unit_text(column: &AnalyteColumn) -> String {
    quoted(&column.unit.value().map_or("?".to_owned(), LabUnit::name))
}

fn method_text(column: &AnalyteColumn) -> String {
    quoted(column.method.value().map_or("?", LabMethod::name))
}

impl ReadColumns {
    /// Whether the sheet has any result.
    pub(super) fn has_analytes(&self) -> bool {
        !self.analytes.is_empty()
    }

    /// Header of the first column with a role.
    pub(super) fn header_of(&self, role: &Role) -> Option<String> {
        self.position_of(role).map(|(_, header)| header)
    }

    /// Position and header of the first column with a role.
    pub(super) fn position_of(&self, role: &Role) -> Option<(usize, String)> {
        self.others.iter().find(|column| column.role == *role).map(|column| (column.index, column.column.clone()))
    }

    /// Position, header and unit of the first depth column `of` knows.
    pub(super) fn depth_column(
        &self,
        of: impl Fn(&Role) -> Option<Found<DepthUnit>>,
    ) -> Option<(usize, String, Found<DepthUnit>)> {
        self.others.iter().find_map(|column| Some((column.index, column.column.clone(), of(&column.role)?)))
    }

    /// Method of potassium, where the sheet prints it.
    pub(super) fn k_method(&self) -> Option<LabMethod> {
        self.analytes.iter().find(|column| column.analyte == Analyte::K)?.method.value()
    }

    /// What zones can be drawn from: CEC and the shares of calcium and magnesium, as far as the sheet gives them.
    ///
    /// All three come from each cation as an amount, or as a share with the lab's CEC; and CEC, acidity or a named buffer.
    pub(super) fn zone_variables(&self) -> Vec<&'static str> {
        let has = |analyte: Analyte| {
            self.analytes.iter().any(|column| column.analyte == analyte && column.unit.value().is_some())
        };
        let names_buffer = self.analytes.iter().any(|c| c.analyte == Analyte::BufferPh && c.method.value().is_some());
        let has_cec = has(Analyte::Cec);
        let cations = [
            (Analyte::Ca, Analyte::CaSaturation),
            (Analyte::Mg, Analyte::MgSaturation),
            (Analyte::K, Analyte::KSaturation),
        ];
        let has_cations = cations.iter().all(|(amount, share)| has(*amount) || (has(*share) && has_cec));
        let has_exchange = has_cations && (has_cec || has(Analyte::Acidity) || names_buffer);
        let variables = [Analyte::Cec, Analyte::CaSaturation, Analyte::MgSaturation];
        variables.into_iter().filter(|variable| has_exchange || has(*variable)).map(Analyte::key).collect()
    }
}
