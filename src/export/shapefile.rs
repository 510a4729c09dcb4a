//! Shapefile: five files of one name, by the format's published description (1998) and dBASE III for the table.
//!
//! | file | what is in it |
//! |---|---|
//! | `.shp` | polygons (type 5, no heights): exteriors clockwise, each directly followed by its holes, counter-clockwise |
//! | `.shx` | where each record begins |
//! | `.dbf` | attributes: text (C) and numbers (N) only, UTF-8 |
//! | `.prj` | WGS 84, longitude first |
//! | `.cpg` | the words `UTF-8`: the table itself cannot name that encoding |

use std::io::Cursor;

use dbase::{FieldError, FieldName, FieldValue, FieldWriter, TableWriterBuilder, WritableRecord};
use shapefile::{Point, Polygon, Polyline, ShapeWriter};

use super::shapefile_limits;
use super::vector_layer::{ColumnKind, Record, VectorLayer};
use super::{OutputFile, VectorFormat, WrittenLayer};
use crate::coverage::{Lattice, Vertex};
use crate::diagnostic::{Code, Diagnostic};
use crate::field_file::ShapefileRecords;

/// The `.prj` file: WGS 84 as GDAL writes it for shapefiles, which all its readers know. No newline.
pub const WGS_84_PRJ: &str = concat!(
    r#"GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],"#,
    r#"PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]"#
);
const CPG: &str = "UTF-8";
/// Bytes of the table's header that hold the date of its last change: years from 1900, month, day.
const DATE_AT: std::ops::Range<usize> = 1..4;
/// Byte of the table's header that names its encoding, 0 = none: its list has no UTF-8, which the `.cpg` names.
const ENCODING_AT: usize = 29;
/// The date where none is stated: 1 January 1900.
const NO_DATE: [u8; 3] = [0, 1, 1];

/// A layer as a shapefile: `stem` with `.shp`, `.shx`, `.dbf`, `.prj`, `.cpg`.
///
/// `issued` (ISO 8601) becomes the table's date; a year the table cannot hold (1900 to 2155) counts as no date. The
/// `.shp` carries the layer, one record a record, for reading back; see [`VectorLayer::by_patch`] for single patches.
///
/// # Guarantees
/// - coordinates are the lattice's doubles ([`Lattice::lon_lat`]), numbers the text of [`super::Value::text_in`]
/// - the same layer, stem and date give the same bytes
///
/// # Errors
/// All names, widths and values that do not fit; nothing is cut. See `shapefile_limits`.
pub fn shapefile(
    layer: &VectorLayer,
    stem: &str,
    records: ShapefileRecords,
    issued: Option<&str>,
) -> Result<Vec<OutputFile>, Vec<Diagnostic>> {
    let layer = match records {
        ShapefileRecords::Zones => layer.clone(),
        ShapefileRecords::Patches => layer.by_patch(),
    };
    let faults = shapefile_limits::faults(&layer, stem);
    if !faults.is_empty() {
        return Err(faults);
    }
    let unfit = |code: &'static Code, why: String| vec![Diagnostic::error(code, format!("`{stem}`: {why}"))];
    let (shp, shx) =
        shapes(&layer).map_err(|error| unfit(&shapefile_limits::RECORD_WITHOUT_GROUND, error.to_string()))?;
    let mut dbf = table(&layer).map_err(|error| unfit(&shapefile_limits::SHAPEFILE_COLUMN_UNFIT, error.to_string()))?;
    dbf[DATE_AT].copy_from_slice(&issued.and_then(date_bytes).unwrap_or(NO_DATE));
    dbf[ENCODING_AT] = 0;
    let file = |ending: &str, bytes: Vec<u8>| OutputFile::new(format!("{stem}.{ending}"), bytes);
    let mut files = vec![
        file("shp", shp),
        file("shx", shx),
        file("dbf", dbf),
        file("prj", WGS_84_PRJ.into()),
        file("cpg", CPG.into()),
    ];
    files[0].layer = Some(WrittenLayer { layer, format: VectorFormat::Shapefile });
    Ok(files)
}

/// `.shp` and `.shx`.
fn shapes(layer: &VectorLayer) -> Result<(Vec<u8>, Vec<u8>), shapefile::Error> {
    let (mut shp, mut shx) = (Cursor::new(Vec::new()), Cursor::new(Vec::new()));
    let mut writer = ShapeWriter::with_shx(&mut shp, &mut shx);
    for record in &layer.records {
        // By way of a line, as it is given: `Polygon` itself turns rings by an area in floating point.
        writer.write_shape(&Polygon::from(Polyline::with_parts(rings(record, &layer.lattice))))?;
    }
    writer.finalize()?;
    drop(writer);
    Ok((shp.into_inner(), shx.into_inner()))
}

/// Rings in the order and the directions of the file: those of a [`crate::coverage::LatticePolygon`], reversed.
fn rings(record: &Record, lattice: &Lattice) -> Vec<Vec<Point>> {
    let point = |vertex: &Vertex| {
        let (lon, lat) = lattice.lon_lat(*vertex);
        Point::new(lon, lat)
    };
    let rings = record.polygons.iter().flat_map(|polygon| polygon.rings());
    rings.map(|ring| ring.iter().rev().map(point).collect()).collect()
}

/// `.dbf`, with the clock's date and an encoding byte of the crate's own in it.
fn table(layer: &VectorLayer) -> Result<Vec<u8>, dbase::Error> {
    let mut builder = TableWriterBuilder::new();
    for column in &layer.columns {
        let name = FieldName::try_from(column.name.as_str()).expect("names are checked");
        // Widths are at most 254, also checked.
        builder = match column.kind {
            ColumnKind::Text { width } => builder.add_character_field(name, width as u8),
            ColumnKind::Number { width, decimals } => builder.add_numeric_field(name, width as u8, decimals as u8),
        };
    }
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = builder.build_with_dest(&mut bytes);
    for record in &layer.records {
        writer.write_record(&Row { layer, record })?;
    }
    writer.finalize()?;
    drop(writer);
    Ok(bytes.into_inner())
}

struct Row<'a> {
    layer: &'a VectorLayer,
    record: &'a Record,
}

impl WritableRecord for Row<'_> {
    fn write_using<W: std::io::Write>(&self, writer: &mut FieldWriter<'_, W>) -> Result<(), FieldError> {
        for (column, value) in self.layer.columns.iter().zip(&self.record.values) {
            let text = value.text_in(column.kind);
            let value = match column.kind {
                ColumnKind::Text { .. } => FieldValue::Character(text),
                // The number nearest to the text prints as the text again.
                ColumnKind::Number { .. } => FieldValue::Numeric(text.and_then(|text| text.parse().ok())),
            };
            writer.write_next_field_value(&value)?;
        }
        Ok(())
    }
}

/// Years from 1900, month and day of an ISO 8601 date.
fn date_bytes(date: &str) -> Option<[u8; 3]> {
    let mut parts = date.splitn(3, '-').map(|part| part.parse::<u16>().ok());
    let (year, month, day) = (parts.next()??, parts.next()??, parts.next()??);
    let year = u8::try_from(year.checked_sub(1900)?).ok()?;
    ((1..=12).contains(&month) && (1..=31).contains(&day)).then_some([year, month as u8, day as u8])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_of_the_table() {
        assert_eq!(date_bytes("2026-03-02"), Some([126, 3, 2]));
        assert_eq!(date_bytes("1900-12-31"), Some([0, 12, 31]));
        for none in ["", "2026", "2026-03", "2026-13-01", "2026-01-32", "1899-12-31", "2156-01-01", "2026-03-02T10:00"]
        {
            assert_eq!(date_bytes(none), None, "{none}");
        }
    }
}
