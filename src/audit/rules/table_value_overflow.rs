//! Values that did not fit their column.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "table-value-overflow",
    checks: "that no number is a row of stars, and no number with decimals fills its width without a point",
    why: "stars are what dBASE writes for what does not fit; common writers cut the last digits instead, so that 123456.5 becomes 12345",
    example: "1234567890 in a column of width 10 with 2 decimals: the rest was cut",
    mend: "have the column made wider, or correct the value",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(table) = shapefile(of).and_then(|file| file.table.as_ref()) else { return Found::new() };
    let mut found = Found::new();
    for (field, texts) in table.fields.iter().zip(&table.texts).filter(|(field, _)| ['N', 'F'].contains(&field.kind)) {
        for (record, text) in texts.iter().enumerate() {
            let is_full = text.len() == field.width && !text.starts_with(' ') && !text.ends_with(' ');
            let is_whole = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-');
            let message = if text.contains('*') {
                format!("`{}` holds `{}`: the value did not fit", field.name, text.trim())
            } else if field.decimals > 0 && field.width > field.decimals + 1 && is_full && is_whole {
                format!(
                    "`{}` holds `{text}`, as wide as the column and without its decimals: digits were cut",
                    field.name
                )
            } else {
                continue;
            };
            found.push(Diagnostic::error(&CODE, message).at(record_place(&table.file, record, String::new())));
        }
    }
    found
}
