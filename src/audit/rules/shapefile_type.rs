//! Shapes that are no plain polygons.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "shapefile-type",
    checks: "that the file and all records are polygons without heights (type 5)",
    why: "a controller wants ground, not points or lines; heights (type 15) are refused by some loaders",
    example: "type 15, from a drawing that carried heights of 0",
    mend: "save it as polygons without heights",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(shapes) = shapefile(of).and_then(|file| file.shapes.as_ref()) else { return Found::new() };
    let words = |kind: i32| match kind {
        1 | 8 | 11 | 18 | 21 | 28 => "points",
        3 | 13 | 23 => "lines",
        15 => "polygons with heights",
        25 => "polygons with measures",
        31 => "patches",
        _ => "an unknown type",
    };
    if shapes.shape_type != POLYGON && shapes.file_code == FILE_CODE {
        let message = format!("type {}, {}; polygons, type 5, expected", shapes.shape_type, words(shapes.shape_type));
        let finding = match shapes.shape_type {
            15 | 25 => Diagnostic::warning(&CODE, message),
            _ => Diagnostic::error(&CODE, message),
        };
        return vec![finding.at(Place::File(shapes.file.clone()))];
    }
    let odd =
        shapes.records.iter().enumerate().filter(|(_, record)| ![0, shapes.shape_type].contains(&record.shape_type));
    odd.map(|(index, record)| {
        let message = format!("type {} in a file of type {}", record.shape_type, shapes.shape_type);
        Diagnostic::error(&CODE, message).at(record_place(&shapes.file, index, String::new()))
    })
    .collect()
}
