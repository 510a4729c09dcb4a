//! Vector files and rasters opened again by GDAL, a reader that is not ours, and held against what they were made from.

#[cfg(test)]
mod gis_tests;
mod headers;
mod package;
mod raster;
mod rings;
#[cfg(test)]
mod tests;

use std::path::{Path, PathBuf};

use gdal::vector::{Defn, Feature, Layer, LayerAccess, OGRFieldType};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};
use holdground::crs::{keep_gdal_quiet, take_gdal_messages};
use holdground::diagnostic::{Code, Diagnostic, Place};
use holdground::export::{Column, ColumnKind, GisContent, OutputFile, Record, Value, VectorFormat, WrittenLayer};

use super::Failure;
use super::exit_code::ExitCode;

/// A file does not hold what it was to hold.
pub(crate) static READ_BACK_DIFFERS: Code = Code {
    name: "read-back-differs",
    checks: "every outline, rate and raster file before it is put in place: another reader (GDAL) must find each number and corner",
    why: "a rate cut by a digit or a border out of place would be spread as it stands",
    example: "a rate of 115 written, 11 read back",
    mend: "this is a fault of the program: nothing was written; report it with the field file",
};

/// Messages of this module, for `holdground explain`.
pub(crate) static CODES: &[&Code] = &[&READ_BACK_DIFFERS];

/// The column whose numbers are spread.
const RATE: &str = "RATE";

/// Reads every vector file and raster below `folder` back.
///
/// # Errors
/// An internal error for each file that differs from its layer.
pub(crate) fn check(folder: &Path, files: &[OutputFile]) -> Result<(), Failure> {
    let mut faults = Vec::new();
    for file in files {
        let path = folder.join(&file.path);
        let compared = match (&file.layer, &file.gis) {
            (Some(written), _) => compare(&path, written),
            (None, Some(content)) => compare_gis(&path, content),
            (None, None) => continue,
        };
        if let Err(what) = compared {
            let message =
                format!("internal error: `{}` reads back otherwise: {what}; this is a fault of the program", file.path);
            let fault = Diagnostic::error(&READ_BACK_DIFFERS, message).at(Place::File(file.path.clone()));
            faults.push(fault.with_help("report it with the field file"));
        }
    }
    if faults.is_empty() { Ok(()) } else { Err(Failure { exit_code: ExitCode::Internal, diagnostics: faults }) }
}

/// Holds a file against its layer; the first difference, as words.
fn compare(path: &Path, written: &WrittenLayer) -> Result<(), String> {
    keep_gdal_quiet();
    take_gdal_messages();
    let (driver, options): (_, &[&str]) = match written.format {
        VectorFormat::GeoJson => ("GeoJSON", &["DATE_AS_STRING=YES"]),
        VectorFormat::Shapefile => ("ESRI Shapefile", &[]),
        VectorFormat::GeoPackage => ("GPKG", &[]),
    };
    let options = DatasetOptions {
        open_flags: GdalOpenFlags::GDAL_OF_VECTOR | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
        allowed_drivers: Some(&[driver]),
        open_options: Some(options),
        ..DatasetOptions::default()
    };
    let compared = match Dataset::open_ex(in_zip(path, written.format), options) {
        Ok(dataset) => compare_dataset(&dataset, written),
        Err(error) => Err(format!("it does not open: {error}")),
    };
    let compared = compared.and_then(|()| match written.format {
        VectorFormat::Shapefile => headers::compare(path, written.layer.records.len()),
        VectorFormat::GeoJson | VectorFormat::GeoPackage => Ok(()),
    });
    with_remarks(compared)
}

/// The path GDAL opens: of a zip the layer's file at its top, which has the zip's name.
fn in_zip(path: &Path, format: VectorFormat) -> PathBuf {
    if path.extension().is_none_or(|ending| ending != "zip") {
        return path.to_owned();
    }
    let stem = path.with_extension("");
    let inner = match format {
        VectorFormat::Shapefile => stem.with_extension("shp"),
        VectorFormat::GeoJson | VectorFormat::GeoPackage => stem,
    };
    // As text: an absolute path keeps its own slash after that of the prefix.
    let mut text = std::ffi::OsString::from("/vsizip/");
    text.push(path);
    text.push("/");
    text.push(inner.file_name().unwrap_or_default());
    PathBuf::from(text)
}

/// Holds a file against the raster or package it was made of; the first difference, as words.
fn compare_gis(path: &Path, content: &GisContent) -> Result<(), String> {
    keep_gdal_quiet();
    take_gdal_messages();
    with_remarks(match content {
        GisContent::Raster(layer) => raster::compare(path, layer),
        GisContent::Package(package) => package::compare(path, package),
    })
}

/// A difference says more than what GDAL thinks of it, but GDAL's warnings alone count too.
fn with_remarks(compared: Result<(), String>) -> Result<(), String> {
    let remarks = take_gdal_messages();
    compared.and(remarks.first().map_or(Ok(()), |remark| Err(format!("GDAL says: {}", remark.text))))
}

fn compare_dataset(dataset: &Dataset, written: &WrittenLayer) -> Result<(), String> {
    if dataset.layer_count() != 1 {
        return Err(format!("{} layers, 1 expected", dataset.layer_count()));
    }
    compare_layer(&mut dataset.layer(0).map_err(|error| error.to_string())?, written)
}

fn compare_crs(layer: &Layer<'_>) -> Result<(), String> {
    let crs = layer.spatial_ref().ok_or("its CRS is not stated")?;
    if !crs.auth_code().is_ok_and(|code| code == 4326) {
        return Err(format!("its CRS is {}, WGS 84 (EPSG:4326) expected", crs.name().unwrap_or_default()));
    }
    Ok(())
}

fn compare_layer(layer: &mut Layer<'_>, written: &WrittenLayer) -> Result<(), String> {
    let expected = &written.layer;
    compare_crs(layer)?;
    let indices = compare_columns(layer.defn(), written)?;
    let n_stated = layer.feature_count();
    if n_stated != expected.records.len() as u64 {
        return Err(format!("{n_stated} records, {} expected", expected.records.len()));
    }
    let (mut spread_read, mut spread_written) = (0.0, 0.0);
    let mut n_read = 0;
    for feature in layer.features() {
        let Some(record) = expected.records.get(n_read) else { break };
        let in_record = |what: String| format!("record {}: {what}", record.id);
        let rate = compare_record(&feature, record, &indices, written).map_err(in_record)?;
        let doubled = rings::compare(&feature, record, &expected.lattice, written.format).map_err(in_record)?;
        if doubled != i128::from(record.doubled_area()) {
            return Err(in_record(format!("doubled area {doubled} steps, {} expected", record.doubled_area())));
        }
        if let Some((rate_read, rate_written)) = rate {
            spread_read += rate_read * doubled as f64;
            spread_written += rate_written * record.doubled_area() as f64;
        }
        n_read += 1;
    }
    if n_read != expected.records.len() {
        return Err(format!("{n_read} records, {} expected", expected.records.len()));
    }
    // The same numbers in the same order: the same sum, to the last bit.
    if spread_read != spread_written {
        return Err(format!("rates times areas add up to {spread_read:e}, {spread_written:e} expected"));
    }
    Ok(())
}

/// Index in the file of each column of the layer.
fn compare_columns(defn: &Defn, written: &WrittenLayer) -> Result<Vec<usize>, String> {
    let columns = &written.layer.columns;
    let names: Vec<String> = defn.fields().map(|field| field.name()).collect();
    let wanted: Vec<&str> = columns.iter().map(|column| column.name.as_str()).collect();
    // Members of a JSON object have no order.
    let is_same = match written.format {
        VectorFormat::Shapefile | VectorFormat::GeoPackage => names == wanted,
        VectorFormat::GeoJson => {
            names.len() == wanted.len() && names.iter().all(|name| wanted.contains(&name.as_str()))
        }
    };
    if !is_same {
        return Err(format!("columns `{}`, `{}` expected", names.join("`, `"), wanted.join("`, `")));
    }
    let mut indices = Vec::new();
    for (at, column) in columns.iter().enumerate() {
        let index = names.iter().position(|name| *name == column.name).unwrap_or_default();
        let kind = defn.fields().nth(index).map(|field| (field.field_type(), field.width(), field.precision()));
        // JSON does not tell what a column without any value could hold.
        let is_known = written.layer.records.iter().any(|record| record.values.get(at) != Some(&Value::Unknown));
        if (is_known || written.format != VectorFormat::GeoJson)
            && !kind.is_some_and(|kind| is_of_kind(kind, column, written.format))
        {
            return Err(format!("column `{}` is of another kind or width", column.name));
        }
        indices.push(index);
    }
    Ok(indices)
}

fn is_of_kind(
    (field_type, width, precision): (OGRFieldType::Type, i32, i32),
    column: &Column,
    format: VectorFormat,
) -> bool {
    let numbers = [OGRFieldType::OFTInteger, OGRFieldType::OFTInteger64, OGRFieldType::OFTReal];
    let (is_type, widths) = match column.kind {
        ColumnKind::Text { width } => (field_type == OGRFieldType::OFTString, (width, 0)),
        ColumnKind::Number { width, decimals } => (numbers.contains(&field_type), (width, decimals)),
    };
    is_type && (format != VectorFormat::Shapefile || (width as usize, precision as usize) == widths)
}

/// Compares attributes and id; rate read and rate written, where there is one.
fn compare_record(
    feature: &Feature,
    record: &Record,
    indices: &[usize],
    written: &WrittenLayer,
) -> Result<Option<(f64, f64)>, String> {
    if written.format != VectorFormat::Shapefile && feature.fid() != Some(record.id as u64) {
        let read = feature.fid().map_or("no id".to_owned(), |id| format!("id {id}"));
        return Err(format!("{read}, {} expected", record.id));
    }
    let mut rate = None;
    for ((column, value), &index) in written.layer.columns.iter().zip(&record.values).zip(indices) {
        let expected = value.text_in(column.kind);
        // A blank text and no text are the same bytes in a shapefile.
        let expected = expected.filter(|text| !text.is_empty() || written.format != VectorFormat::Shapefile);
        let read = read_text(feature, index, column.kind, expected.as_deref())?;
        if read != expected {
            let shown = |text: Option<String>| text.map_or("nothing".to_owned(), |text| format!("`{text}`"));
            return Err(format!("`{}` is {}, {} expected", column.name, shown(read), shown(expected)));
        }
        if column.name.eq_ignore_ascii_case(RATE) {
            let number = |text: Option<String>| text.and_then(|text| text.parse::<f64>().ok());
            rate = number(read).zip(number(expected));
        }
    }
    Ok(rate)
}

/// What GDAL reads, with the column's decimals; a number that is not the one `expected` stands for in full.
fn read_text(
    feature: &Feature,
    index: usize,
    kind: ColumnKind,
    expected: Option<&str>,
) -> Result<Option<String>, String> {
    let ColumnKind::Number { .. } = kind else {
        return feature.field_as_string(index).map_err(|error| error.to_string());
    };
    let number = feature.field_as_double(index).map_err(|error| error.to_string())?;
    let is_exact = |number: f64| expected.and_then(|text| text.parse().ok()) == Some(number);
    Ok(number.map(|number| match expected {
        Some(text) if is_exact(number) => text.to_owned(),
        _ => number.to_string(),
    }))
}
