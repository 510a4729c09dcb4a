//! Names of a table's columns.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "table-column-name",
    checks: "that names have 1 to 10 capitals, digits and `_`, begin with a letter, end with a zero byte and are unlike",
    why: "dBASE III knows no other; loaders cut, change or pass over what does not fit, and a rate may be gone",
    example: "`rate (lb)`",
    mend: "rename the column, RATE for the rate",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(table) = shapefile(of).and_then(|file| file.table.as_ref()) else { return Found::new() };
    let mut found = Found::new();
    for (index, field) in table.fields.iter().enumerate() {
        let name = &field.name;
        let starts = name.starts_with(|letter: char| letter.is_ascii_alphabetic());
        let is_plain = name.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '_');
        let twin = table.fields[..index].iter().find(|other| other.name.eq_ignore_ascii_case(name));
        let fault = if name.is_empty() || name.len() > 10 || !field.is_ended {
            Some(format!("the name `{name}` is blank, or longer than 10 letters"))
        } else if let Some(twin) = twin {
            Some(format!("`{name}` and `{}` are one name where capitals do not count", twin.name))
        } else if !starts || !is_plain {
            Some(format!("`{name}` has letters that do not belong in a name"))
        } else {
            None
        };
        let place = Place::File(table.file.clone());
        if let Some(message) = fault {
            found.push(Diagnostic::warning(&CODE, message).at(place));
        } else if name.chars().any(|letter| letter.is_ascii_lowercase()) {
            found.push(Diagnostic::note(&CODE, format!("`{name}` has small letters")).at(place));
        }
    }
    found
}
