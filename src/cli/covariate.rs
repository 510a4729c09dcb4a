//! Reads a dense measurement beside the soil samples: a log of points, or a raster.
//!
//! Points of a vector file are read in `vector_file/covariate_points.rs`, a CSV of points in [`table`], a raster in
//! [`raster`]. All give [`CovariateFile`]: what it was measured with, and what its numbers mean, is for others to say.

pub(crate) mod raster;
pub(crate) mod table;

use holdground::diagnostic::{Code, Diagnostic, Place};

/// An attribute or column that is not there.
pub(crate) static COVARIATE_COLUMN_MISSING: Code = Code {
    name: "covariate-column-missing",
    checks: "that a file of dense measurements has the columns named",
    why: "another column of the same log may be a time or a depth",
    example: "`EC_sh` asked for, the log has `EC_shallow`",
    mend: "name one of the columns listed",
};
/// A file without a single value.
pub(crate) static COVARIATE_WITHOUT_VALUES: Code = Code {
    name: "covariate-without-values",
    checks: "that a file of dense measurements holds at least one value with a place",
    why: "a column that is blank everywhere says nothing",
    example: "the second coil of a sensor that has one",
    mend: "name the column that holds the readings, or the file of this field",
};
/// Values that are blank, or no number.
pub(crate) static COVARIATE_VALUES_LEFT_OUT: Code = Code {
    name: "covariate-values-left-out",
    checks: "how many places of a dense measurement have no value, and how many values no place",
    why: "so that nothing is dropped in silence",
    example: "a log with 40 of 9,000 readings blank where the receiver lost the sky",
    mend: "nothing, if few are left out; else look at the column",
};
/// A file that cannot be read.
pub(crate) static UNREADABLE_COVARIATE: Code = Code {
    name: "unreadable-covariate",
    checks: "that a file of dense measurements is there, is whole, and is a table or a raster known here",
    why: "a file read in part gives a field in part",
    example: "a GeoTIFF cut off while it was copied",
    mend: "copy the file again; rasters are read as GeoTIFF, ASCII grid and a few more, tables as CSV",
};
/// A raster that does not say where it lies.
pub(crate) static RASTER_WITHOUT_PLACE: Code = Code {
    name: "raster-without-place",
    checks: "that a raster states its coordinate reference system and the place of its cells",
    why: "a picture without a place fits any field",
    example: "an ASCII grid without its .prj file",
    mend: "send the .prj file along, state the CRS, or save the raster as GeoTIFF",
};
/// A raster of other ground.
pub(crate) static RASTER_BESIDE_FIELD: Code = Code {
    name: "raster-beside-field",
    checks: "that a raster reaches the field",
    why: "values of other ground would be taken for this field's",
    example: "the elevation tile of the next county",
    mend: "name the raster of this field, or correct its CRS",
};
/// A raster with more cells than are read.
pub(crate) static RASTER_TOO_FINE: Code = Code {
    name: "raster-too-fine",
    checks: "that a raster has at most 4,000,000 cells round the field",
    why: "soil does not change from one centimeter to the next; time and memory do",
    example: "a drone's picture with cells of 3 cm",
    mend: "save the raster with coarser cells, for example of 1 m",
};

/// A dense measurement, in longitude and latitude.
#[derive(Debug)]
pub(crate) struct CovariateFile {
    /// Longitude, latitude (degrees) and value, in the order of the file; values are numbers.
    pub(crate) values: Vec<(f64, f64, f64)>,
    /// CRS of the file, or the one stated for it.
    pub(crate) crs_name: String,
    /// What GDAL states of the way to WGS 84.
    pub(crate) accuracy: String,
    /// Warnings and notes.
    pub(crate) notes: Vec<Diagnostic>,
}

/// What a cell or an attribute holds.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Reading {
    Value(f64),
    /// Nothing, or `NaN`.
    Blank,
    /// A text that is no number.
    Text(String),
}

impl Reading {
    pub(crate) fn of(text: &str) -> Self {
        let text = text.trim();
        match text.parse::<f64>() {
            _ if text.is_empty() => Reading::Blank,
            Ok(value) if value.is_finite() => Reading::Value(value),
            Ok(_) => Reading::Blank,
            Err(_) => Reading::Text(text.to_owned()),
        }
    }
}

/// Readings left out, counted.
#[derive(Debug, Default)]
pub(crate) struct LeftOut {
    pub(crate) n_blank: usize,
    pub(crate) n_texts: usize,
    /// The first text that is no number.
    pub(crate) first_text: Option<String>,
    pub(crate) n_without_place: usize,
}

impl LeftOut {
    /// The value, or one more left out.
    pub(crate) fn value(&mut self, reading: Reading) -> Option<f64> {
        match reading {
            Reading::Value(value) => return Some(value),
            Reading::Blank => self.n_blank += 1,
            Reading::Text(text) => {
                self.n_texts += 1;
                self.first_text.get_or_insert(text);
            }
        }
        None
    }

    /// One message a kind; texts are a warning, as they may be numbers in another writing.
    pub(crate) fn notes(&self, column: &str, n_taken: usize, place: &Place) -> Vec<Diagnostic> {
        let of_all = |n: usize| format!("{n} of {}", n_taken + self.n_blank + self.n_texts + self.n_without_place);
        let mut notes = Vec::new();
        let note = |message: String| Diagnostic::note(&COVARIATE_VALUES_LEFT_OUT, message).at(place.clone());
        if self.n_blank > 0 {
            notes.push(note(format!("{} have no value in `{column}` and are left out", of_all(self.n_blank))));
        }
        if self.n_without_place > 0 {
            notes.push(note(format!("{} have no place and are left out", of_all(self.n_without_place))));
        }
        if let Some(text) = &self.first_text {
            let n = of_all(self.n_texts);
            let message = format!("{n} hold a text in `{column}` that is no number, the first `{text}`: left out");
            notes.push(
                Diagnostic::warning(&COVARIATE_VALUES_LEFT_OUT, message)
                    .at(place.clone())
                    .with_help("a decimal point is read, no decimal comma; nothing, if these are marks for no value"),
            );
        }
        notes
    }
}

/// The fault of a column that is not there.
pub(crate) fn no_such_column(column: &str, found: &[String], place: Place) -> Diagnostic {
    let found = if found.is_empty() { "none".to_owned() } else { format!("`{}`", found.join("`, `")) };
    Diagnostic::error(&COVARIATE_COLUMN_MISSING, format!("there is no column `{column}`; found: {found}"))
        .at(place)
        .with_help("name one of the columns found")
}

/// The fault of a file that gave no value.
pub(crate) fn without_values(file: &str, what: &str, place: Place) -> Diagnostic {
    Diagnostic::error(&COVARIATE_WITHOUT_VALUES, format!("`{file}` gives no value: {what}")).at(place)
}
