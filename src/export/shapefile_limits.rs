//! What a shapefile can hold: everything is checked before a byte is written, so that nothing is cut in silence.
//!
//! Limits of the table are dBASE III's, from memory: names of 10 bytes, 128 columns, text of 254 bytes, numbers of 19
//! characters.

use super::vector_layer::{Column, ColumnKind, MAX_TEXT_BYTES, Value, VectorLayer};
use crate::diagnostic::{Code, Diagnostic};

/// Longest name of a shapefile without its ending (common practice, no source).
pub const MAX_STEM_BYTES: usize = 13;
const MAX_NAME_BYTES: usize = 10;
const MAX_COLUMNS: usize = 128;
const MAX_NUMBER_CHARS: usize = 19;

/// The name of a shapefile does not fit.
pub static SHAPEFILE_NAME_UNFIT: Code = Code {
    name: "shapefile-name-unfit",
    checks: "that the name of a shapefile is 1 to 13 letters, digits or `_`",
    why: "some controllers may not show a file with a longer name or other characters (common practice, no source)",
    example: "`NORTHX_12_POTA`, 14 characters",
    mend: "choose a shorter `field.short`, or shorter names of products",
};
/// A column of a shapefile does not fit.
pub static SHAPEFILE_COLUMN_UNFIT: Code = Code {
    name: "shapefile-column-unfit",
    checks: "that names of a shapefile's columns are 1 to 10 of `A-Z 0-9 _`, a letter first, each once, and that widths are possible",
    why: "a longer name is cut by readers, and two cut names may become one",
    example: "`CA_SATURATION` and `CA_SAT_PERCENT`",
    mend: "the program chooses these names: report it with the field file",
};
/// A value does not fit its column.
pub static SHAPEFILE_VALUE_UNFIT: Code = Code {
    name: "shapefile-value-unfit",
    checks: "that each value fits its column of a shapefile, as a number or text that reads back the same",
    why: "a shapefile cuts what is too wide without a word: a rate of 1234567 becomes 12345",
    example: "a number of 12 digits; the column holds 10",
    mend: "take blanks off the ends of names in the field file; for a number, please report it",
};
/// A record without ground.
pub static RECORD_WITHOUT_GROUND: Code = Code {
    name: "record-without-ground",
    checks: "that every record of an outline file has at least one closed outline, and that there is a record",
    why: "a rate without ground is lost, and readers differ on what an empty outline means",
    example: "a zone of a single cell that lies outside the field's outline",
    mend: "draw fewer zones, or smaller cells",
};

/// Everything that keeps a layer from being a shapefile, stem first, then columns, then records.
pub(super) fn faults(layer: &VectorLayer, stem: &str) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let is_plain = stem.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
    if !is_plain || stem.is_empty() || stem.len() > MAX_STEM_BYTES {
        let message = format!("shapefile name `{stem}`: 1 to {MAX_STEM_BYTES} letters, digits or `_` expected");
        let help = "choose a shorter `field.short`, or shorter names of products";
        faults.push(Diagnostic::error(&SHAPEFILE_NAME_UNFIT, message).with_help(help));
    }
    let unfit = |what: String| Diagnostic::error(&SHAPEFILE_COLUMN_UNFIT, what);
    if layer.columns.is_empty() || layer.columns.len() > MAX_COLUMNS {
        faults.push(unfit(format!("{} columns, 1 to {MAX_COLUMNS} expected", layer.columns.len())));
    }
    for (index, column) in layer.columns.iter().enumerate() {
        let is_twice = layer.columns[..index].iter().any(|other| other.name.eq_ignore_ascii_case(&column.name));
        faults.extend(column_fault(column, is_twice).map(unfit));
    }
    if layer.records.is_empty() {
        faults.push(Diagnostic::error(&RECORD_WITHOUT_GROUND, "no record, at least one expected"));
    }
    for record in &layer.records {
        let is_ring = |ring: &[_]| ring.len() >= 4 && ring.first() == ring.last();
        if record.polygons.is_empty() || !record.polygons.iter().all(|polygon| polygon.rings().all(is_ring)) {
            let message = format!("record {}: no closed outline, at least one expected", record.id);
            faults.push(Diagnostic::error(&RECORD_WITHOUT_GROUND, message));
        }
        let unfit = |what: String| Diagnostic::error(&SHAPEFILE_VALUE_UNFIT, format!("record {}: {what}", record.id));
        if record.values.len() != layer.columns.len() {
            faults.push(unfit(format!("{} values, {} columns", record.values.len(), layer.columns.len())));
        }
        for (column, value) in layer.columns.iter().zip(&record.values) {
            faults.extend(value_fault(column.kind, value).map(|why| unfit(format!("column `{}`: {why}", column.name))));
        }
    }
    faults
}

fn column_fault(column: &Column, is_twice: bool) -> Option<String> {
    let name = &column.name;
    let is_plain = name.starts_with(|c: char| c.is_ascii_uppercase())
        && name.chars().all(|c| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '_');
    if !is_plain || name.len() > MAX_NAME_BYTES {
        return Some(format!("column `{name}`: 1 to {MAX_NAME_BYTES} of `A-Z 0-9 _` expected, a letter first"));
    }
    if is_twice {
        return Some(format!("column `{name}` is there twice, once expected"));
    }
    match column.kind {
        ColumnKind::Text { width } if !(1..=MAX_TEXT_BYTES).contains(&width) => {
            Some(format!("column `{name}`: text of {width} bytes, 1 to {MAX_TEXT_BYTES} expected"))
        }
        ColumnKind::Number { width, decimals }
            if !(1..=MAX_NUMBER_CHARS).contains(&width) || (decimals > 0 && decimals + 2 > width) =>
        {
            Some(format!(
                "column `{name}`: numbers of {width} characters with {decimals} decimals, \
                 at most {MAX_NUMBER_CHARS} with room for a digit and the point expected"
            ))
        }
        _ => None,
    }
}

fn value_fault(kind: ColumnKind, value: &Value) -> Option<String> {
    match (kind, value) {
        (_, Value::Unknown) => None,
        (ColumnKind::Number { .. }, Value::Number(number)) if !number.is_finite() => {
            Some(format!("`{number}`, a number expected"))
        }
        (ColumnKind::Number { width, .. }, Value::Number(_)) => {
            let text = value.text_in(kind).unwrap_or_default();
            (text.len() > width)
                .then(|| format!("`{text}` is {} characters wide, at most {width} expected", text.len()))
        }
        (ColumnKind::Text { width }, Value::Text(text)) => {
            if text.len() > width {
                Some(format!("`{text}` is {} bytes long, at most {width} expected", text.len()))
            } else if text.trim() != text || text.contains(char::is_control) {
                Some(format!("`{}`, text without blanks around it and in one line expected", text.escape_debug()))
            } else {
                None
            }
        }
        (ColumnKind::Number { .. }, Value::Text(text)) => Some(format!("`{text}`, a number expected")),
        (ColumnKind::Text { .. }, Value::Number(number)) => Some(format!("`{number}`, text expected")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of_column(name: &str, kind: ColumnKind) -> Option<String> {
        column_fault(&Column { name: name.to_owned(), kind }, false)
    }

    #[test]
    fn names_of_columns() {
        let text = ColumnKind::Text { width: 12 };
        for good in ["A", "RATE", "RATE_LBAC", "P2O5_LB_AC"] {
            assert_eq!(of_column(good, text), None, "{good}");
        }
        for bad in ["", "RATE_LB_ACRE", "rate", "2ND", "_RATE", "RATE LB", "RÄTE", "RATE-LB"] {
            assert!(of_column(bad, text).unwrap().contains(bad), "{bad}");
        }
    }

    #[test]
    fn widths_of_columns() {
        let number = |width, decimals| of_column("RATE", ColumnKind::Number { width, decimals });
        assert!([(1, 0), (4, 2), (19, 17), (10, 2)].iter().all(|&(width, decimals)| number(width, decimals).is_none()));
        assert!([(0, 0), (3, 2), (20, 0), (19, 18)].iter().all(|&(width, decimals)| number(width, decimals).is_some()));
        let text = |width| of_column("WHY", ColumnKind::Text { width });
        assert!(text(1).is_none() && text(254).is_none() && text(0).is_some() && text(255).is_some());
    }

    #[test]
    fn values_at_the_edge_of_their_width() {
        let rate = ColumnKind::Number { width: 10, decimals: 2 };
        let fits = |number: f64| value_fault(rate, &Value::Number(number)).is_none();
        assert!(fits(9_999_999.99) && fits(-999_999.99) && fits(0.0));
        // Rounding makes the last one wider.
        assert!(!fits(10_000_000.0) && !fits(-1_000_000.0) && !fits(9_999_999.996));
        assert!(!fits(f64::NAN) && !fits(f64::INFINITY));
        let why = ColumnKind::Text { width: 4 };
        let fits = |text: &str| value_fault(why, &Value::Text(text.to_owned())).is_none();
        assert!(fits("") && fits("abcd") && fits("ßß") && !fits("abcde") && !fits("ßßß"));
        assert!(!fits("ab ") && !fits(" ab") && !fits("a\nb") && !fits("a\0b"));
        assert!(value_fault(rate, &Value::Text("12".to_owned())).is_some());
        assert!(value_fault(why, &Value::Number(12.0)).is_some());
        assert!([rate, why].iter().all(|&kind| value_fault(kind, &Value::Unknown).is_none()));
    }
}
