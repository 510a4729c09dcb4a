//! An empty table to type figures into.

/// Headers of the empty table: names the program itself understands, with their units.
const HEADERS: &[&str] = &[
    "Sample ID",
    "Longitude",
    "Latitude",
    "Depth top in",
    "Depth bottom in",
    "pH water",
    "Buffer pH",
    "OM %",
    "P ppm",
    "K ppm",
    "Ca ppm",
    "Mg ppm",
    "Na ppm",
    "CEC meq/100g",
];

/// A CSV of one header row and nothing below it, for figures that come on paper: one line a sample is typed under it.
///
/// It holds no rows on purpose: a blank row is no sample, and an example would be taken for one.
pub fn blank_table() -> String {
    format!("{}\n", HEADERS.join(","))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::{SheetForm, detect};

    #[test]
    fn rows_typed_under_it_read_back_in_the_plain_form() {
        let typed = format!(
            "{}A-1,-93.5,41.0,0,7,6.2,6.8,3.1,22,150,1800,240,,13\nA-2,-93.6,41.0,0,7,6.0,,,,,,,,\n",
            blank_table()
        );
        let is_known = |header: &str| HEADERS.contains(&header);
        let detected = detect("typed.csv", typed.as_bytes(), None, &is_known).expect("reads");
        assert_eq!(detected.form, SheetForm::plain());
        assert_eq!(detected.table.header, HEADERS);
        assert_eq!(detected.table.rows.len(), 2);
        assert_eq!(detected.reasons, Vec::<String>::new());
        let empty = detect("typed.csv", blank_table().as_bytes(), None, &is_known).expect_err("holds no samples");
        assert_eq!(empty[0].message, "no rows below the header");
    }
}
