//! [`VectorLayer`]: one layer of polygons, decided once, written by every vector format.

use crate::coverage::{Lattice, LatticePolygon};

/// Widest text a shapefile holds, bytes.
pub const MAX_TEXT_BYTES: usize = 254;
/// Starts of names of columns that count a record's whole ground: of one patch they hold its share.
const COUNTS_GROUND: [&str; 2] = ["AREA", "TOTAL"];

/// What an attribute holds, and how wide it may get.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnKind {
    /// Text of at most `width` bytes.
    Text {
        /// Bytes, 1 to 254.
        width: usize,
    },
    /// A number printed with `decimals` in at most `width` characters, sign and point counted.
    Number {
        /// Characters.
        width: usize,
        /// Decimals; 0 = a whole number.
        decimals: usize,
    },
}

/// One attribute of a layer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Name: upper case, `A-Z 0-9 _`.
    pub name: String,
    /// What it holds.
    pub kind: ColumnKind,
}

/// One value of a record.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Text.
    Text(String),
    /// A number.
    Number(f64),
    /// Not known.
    Unknown,
}

impl Value {
    /// The text a file carries in a column of `kind`: a number with its decimals, `None` where nothing is known.
    ///
    /// A number that is none gives the text `NaN` or `inf`, which the writers refuse.
    pub fn text_in(&self, kind: ColumnKind) -> Option<String> {
        match (self, kind) {
            (Value::Unknown, _) => None,
            (Value::Text(text), _) => Some(text.clone()),
            (Value::Number(number), ColumnKind::Text { .. }) => Some(number.to_string()),
            (Value::Number(number), ColumnKind::Number { decimals, .. }) => {
                let text = format!("{number:.decimals$}");
                // What rounds to zero has no sign.
                let is_zero = text.strip_prefix('-').is_some_and(|size| size.chars().all(|c| c == '0' || c == '.'));
                Some(if is_zero { text[1..].to_owned() } else { text })
            }
        }
    }
}

/// One record: attributes and the ground they hold for.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Stable id, from 1.
    pub id: usize,
    /// One value a column.
    pub values: Vec<Value>,
    /// One polygon a patch, on the layer's lattice.
    pub polygons: Vec<LatticePolygon>,
}

impl Record {
    /// Twice the area of all polygons, square lattice steps.
    pub fn doubled_area(&self) -> i64 {
        self.polygons.iter().map(LatticePolygon::doubled_area).sum()
    }
}

/// A layer of polygons.
#[derive(Debug, Clone, PartialEq)]
pub struct VectorLayer {
    /// Where the vertices lie.
    pub lattice: Lattice,
    /// Attributes, in order.
    pub columns: Vec<Column>,
    /// Records, by id.
    pub records: Vec<Record>,
}

impl VectorLayer {
    /// The same layer with one record a patch, ids from 1.
    ///
    /// Values are repeated, but numbers of columns whose name starts with `AREA` or `TOTAL` are shared out by the ground
    /// of the patches, so that they still add up, rounding to the column's decimals aside.
    pub fn by_patch(&self) -> VectorLayer {
        let counts_ground = |column: &Column| COUNTS_GROUND.iter().any(|start| column.name.starts_with(start));
        let mut records = Vec::new();
        for record in &self.records {
            let whole = record.doubled_area() as f64;
            for polygon in &record.polygons {
                let share = polygon.doubled_area() as f64 / whole;
                let value = |(column, value): (&Column, &Value)| match value {
                    Value::Number(number) if counts_ground(column) => Value::Number(number * share),
                    _ => value.clone(),
                };
                let values = self.columns.iter().zip(&record.values).map(value).collect();
                records.push(Record { id: records.len() + 1, values, polygons: vec![polygon.clone()] });
            }
        }
        VectorLayer { lattice: self.lattice, columns: self.columns.clone(), records }
    }
}

/// Shortens a sentence to at most `width` bytes: cut after a whole word, with `...` for the rest.
///
/// The writers never cut; who makes a layer decides which texts may be shortened. A first word that is too long is cut
/// between two characters. A text that fits stays as it is; under 3 bytes there is no room for the dots, and nothing
/// is left.
pub fn shortened(text: &str, width: usize) -> String {
    const DOTS: &str = "...";
    if text.len() <= width {
        return text.to_owned();
    }
    let Some(room) = width.checked_sub(DOTS.len()) else { return String::new() };
    let fits = |at: &usize| *at <= room;
    let word_ends = text.char_indices().filter(|(_, c)| c.is_whitespace()).map(|(at, _)| at).take_while(fits);
    let kept = word_ends.map(|at| text[..at].trim_end()).filter(|kept| !kept.is_empty()).last();
    let by_characters = || &text[..text.char_indices().map(|(at, _)| at).take_while(fits).last().unwrap_or(0)];
    format!("{}{DOTS}", kept.unwrap_or_else(by_characters))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coverage::Vertex;

    const RATE: ColumnKind = ColumnKind::Number { width: 10, decimals: 2 };

    #[test]
    fn numbers_carry_their_columns_decimals() {
        let text = |number: f64| Value::Number(number).text_in(RATE).unwrap();
        assert_eq!([115.0, 0.005, -0.001, -0.0, -1.5].map(text), ["115.00", "0.01", "0.00", "0.00", "-1.50"]);
        assert_eq!(Value::Unknown.text_in(RATE), None);
    }

    #[test]
    fn sentences_are_cut_at_a_word_and_never_within_a_character() {
        let why = "needs 90 lb K2O: the guide's level is 87 ppm";
        assert_eq!(shortened(why, why.len()), why);
        assert_eq!(shortened(why, 20), "needs 90 lb K2O:...");
        assert_eq!(shortened(why, 19), "needs 90 lb K2O:...");
        assert_eq!(shortened(why, 18), "needs 90 lb...");
        assert_eq!(shortened("größer", 6), "gr...");
        assert_eq!(shortened("größer", 8), "größer");
        assert_eq!(shortened("größere", 8), "grö...");
        assert_eq!(shortened("  indented", 8), "  ind...");
        assert_eq!([2, 3].map(|width| shortened(why, width)), ["", "..."]);
        for width in 0..60 {
            let short = shortened("Größe ünd  Maß ßßßßßßßßßßßß, ø 5 µm", width);
            assert!(short.len() <= width && (width < 3 || !short.is_empty()));
        }
    }

    #[test]
    fn patches_share_what_counts_ground() {
        let square = |low: i32, high: i32| {
            let places = [(low, low), (high, low), (high, high), (low, high), (low, low)];
            let exterior = places.map(|(x, y)| Vertex { x, y }).to_vec();
            LatticePolygon { exterior, interiors: Vec::new() }
        };
        let column = |name: &str| Column { name: name.to_owned(), kind: RATE };
        let values = [Value::Number(80.0), Value::Number(10.0), Value::Unknown].to_vec();
        let layer = VectorLayer {
            lattice: Lattice { lon0_e7: 0, lat0_e7: 0 },
            columns: ["RATE", "AREA_AC", "TOTAL_LB"].map(column).to_vec(),
            records: vec![Record { id: 7, values, polygons: vec![square(0, 1), square(10, 13)] }],
        };
        let patches = layer.by_patch();
        assert_eq!(patches.records.iter().map(|record| record.id).collect::<Vec<_>>(), [1, 2]);
        assert_eq!(patches.records[0].values, [Value::Number(80.0), Value::Number(1.0), Value::Unknown]);
        assert_eq!(patches.records[1].values, [Value::Number(80.0), Value::Number(9.0), Value::Unknown]);
        assert_eq!(patches.by_patch(), patches);
    }
}
