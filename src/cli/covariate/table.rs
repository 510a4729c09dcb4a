//! A CSV of points: two columns of coordinates and one of values.

use std::path::Path;

use holdground::crs::InputCrs;
use holdground::diagnostic::{Diagnostic, Place};

use super::super::inputs::read_bytes;
use super::super::vector_file::source::column_of;
use super::{CovariateFile, LeftOut, Reading, UNREADABLE_COVARIATE, no_such_column, without_values};

/// Reads a CSV with one place a row. `x_column` is longitude or easting, `y_column` latitude or northing.
///
/// The first row names the columns, matched exactly, else without regard to capitals. Commas part the cells; where the
/// first row has none, semicolons or tabs. Decimal point. Rows without value or place are left out and counted.
///
/// # Errors
/// All faults found; those of `crs` itself carry no place.
pub(crate) fn read_covariate_table(
    path: &Path,
    column: &str,
    [x_column, y_column]: [&str; 2],
    crs: &str,
) -> Result<CovariateFile, Vec<Diagnostic>> {
    let crs = InputCrs::from_text(crs)?;
    let bytes = read_bytes(path, "a dense measurement")?;
    let shown = path.display().to_string();
    let place = Place::File(shown.clone());
    let at_line = |line: usize| Place::Row { file: shown.clone(), line, columns: Vec::new() };
    let mut reader = csv::ReaderBuilder::new().delimiter(separator(&bytes)).from_reader(&bytes[..]);
    let cells = |record: &csv::ByteRecord| {
        record.iter().map(|cell| String::from_utf8_lossy(cell).trim().to_owned()).collect::<Vec<String>>()
    };
    let unreadable = |error: csv::Error| {
        let line = error.position().map_or(1, |position| position.line() as usize);
        let why = match error.kind() {
            csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
                format!("{len} cells, but the first row has {expected_len}")
            }
            _ => error.to_string(),
        };
        vec![Diagnostic::error(&UNREADABLE_COVARIATE, format!("could not read `{shown}`: {why}")).at(at_line(line))]
    };
    let mut header = cells(reader.byte_headers().map_err(unreadable)?);
    if let Some(first) = header.first_mut() {
        *first = first.trim_start_matches('\u{feff}').to_owned();
    }
    let missing = [x_column, y_column, column].into_iter().filter(|name| column_of(&header, name).is_none());
    let faults: Vec<Diagnostic> = missing.map(|name| no_such_column(name, &header, at_line(1))).collect();
    let found = [x_column, y_column, column].map(|name| column_of(&header, name));
    let [Some(x_at), Some(y_at), Some(value_at)] = found else { return Err(faults) };

    let mut left_out = LeftOut::default();
    let (mut xs, mut ys, mut numbers, mut lines) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for record in reader.byte_records() {
        let record = record.map_err(unreadable)?;
        let line = record.position().map_or(1, |position| position.line() as usize);
        let cells = cells(&record);
        let (Reading::Value(x), Reading::Value(y)) = (Reading::of(&cells[x_at]), Reading::of(&cells[y_at])) else {
            left_out.n_without_place += 1;
            continue;
        };
        if let Some(number) = left_out.value(Reading::of(&cells[value_at])) {
            xs.push(x);
            ys.push(y);
            numbers.push(number);
            lines.push(line);
        }
    }
    let notes = left_out.notes(column, numbers.len(), &place);
    if numbers.is_empty() {
        let said: Vec<&str> = notes.iter().map(|note| note.message.as_str()).collect();
        let what = if said.is_empty() { "it has no rows".to_owned() } else { said.join("; ") };
        return Err(vec![without_values(&shown, &what, place)]);
    }
    let accuracy = crs.to_lon_lat(&mut xs, &mut ys).map_err(|faults| {
        faults.into_iter().map(|(index, fault)| fault.at(at_line(lines[index]))).collect::<Vec<_>>()
    })?;
    let values = xs.into_iter().zip(ys).zip(numbers).map(|((lon, lat), value)| (lon, lat, value)).collect();
    Ok(CovariateFile { values, crs_name: crs.name().to_owned(), accuracy: accuracy.to_string(), notes })
}

/// A comma, unless the first row has none and another mark.
fn separator(bytes: &[u8]) -> u8 {
    let first_row = bytes.split(|byte| *byte == b'\n').next().unwrap_or_default();
    [b',', b';', b'\t'].into_iter().find(|mark| first_row.contains(mark)).unwrap_or(b',')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, columns: [&str; 2], crs: &str) -> Result<CovariateFile, Vec<Diagnostic>> {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("log.csv");
        std::fs::write(&path, text).expect("written");
        read_covariate_table(&path, "EC", columns, crs)
    }

    #[test]
    fn rows_become_places_with_values_and_the_rest_is_counted() {
        let text = "\u{feff}Time,Long,Lat,ec\n1,-93.5,41.0,23.5\n2,-93.501,41.0,\n3,-93.502,41.0,NaN\n4,,41,20\n5,-93.503,41.0,<1\n6,-93.504,41.001,-4e1\n";
        let file = read(text, ["Long", "Lat"], "EPSG:4326").expect("readable");
        assert_eq!(file.values, [(-93.5, 41.0, 23.5), (-93.504, 41.001, -40.0)]);
        let said: Vec<&str> = file.notes.iter().map(|note| note.message.as_str()).collect();
        assert_eq!(
            said,
            [
                "2 of 6 have no value in `EC` and are left out",
                "1 of 6 have no place and are left out",
                "1 of 6 hold a text in `EC` that is no number, the first `<1`: left out",
            ]
        );
        assert_eq!(
            (file.crs_name.as_str(), file.accuracy.as_str()),
            ("WGS 84 (EPSG:4326)", "same datum as WGS 84, no shift")
        );
    }

    #[test]
    fn meters_and_other_separators_are_read() {
        // [project reference table] EPSG:32615: lon -93.5, lat 41.0.
        for text in ["E;N;EC\n457949.159038;4538877.438193;7\n", "E\tN\tEC\n457949.159038\t4538877.438193\t7\n"] {
            let file = read(text, ["E", "N"], "EPSG:32615").expect("readable");
            let (lon, lat, value) = file.values[0];
            assert!((lon + 93.5).abs() < 1e-9 && (lat - 41.0).abs() < 1e-9 && value == 7.0);
        }
    }

    #[test]
    fn columns_rows_and_places_at_fault_are_named() {
        let codes = |faults: Vec<Diagnostic>| faults.iter().map(|fault| fault.code.name).collect::<Vec<_>>();
        let faults = read("x,y,z\n1,2,3\n", ["Long", "Lat"], "EPSG:4326").expect_err("no such columns");
        assert_eq!(faults[2].message, "there is no column `EC`; found: `x`, `y`, `z`");
        assert_eq!(codes(faults), ["covariate-column-missing"; 3]);
        let faults = read("x,y,EC\n1,2,3\n1,2\n", ["x", "y"], "EPSG:4326").expect_err("a short row");
        assert!(faults[0].message.ends_with("2 cells, but the first row has 3"), "{}", faults[0].message);
        assert_eq!(faults[0].place.as_ref().map(|place| place.to_string().ends_with("log.csv:3")), Some(true));
        let faults = read("x,y,EC\n41,-93.5,3\n", ["x", "y"], "EPSG:4326").expect_err("exchanged");
        assert_eq!(codes(faults), ["coordinates-outside-crs"]);
        assert_eq!(
            codes(read("x,y,EC\n1,2,\n", ["x", "y"], "EPSG:4326").expect_err("blank")),
            ["covariate-without-values"]
        );
        assert_eq!(codes(read("", ["x", "y"], "EPSG:4326").expect_err("empty")), ["covariate-column-missing"; 3]);
        assert_eq!(codes(read("x,y,EC\n1,2,3\n", ["x", "y"], "EPSG:99999").expect_err("no CRS")), ["unknown-crs"]);
    }
}
