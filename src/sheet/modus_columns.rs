//! Rows of a MODUS file to a table: one column a test.

use std::collections::BTreeMap;

use super::assemble::unlike_names;
use super::form::SamplesIn;
use super::modus::{LON_LAT_EPSG, StatedDepth, StatedPlace};
use super::table::{Row, SampleTable};
use super::{MOST_CELLS, too_large, unreadable};
use crate::diagnostic::{Code, Diagnostic, Place};

/// One test of one sample with two unlike results.
pub static TWO_RESULTS: Code = Code {
    name: "two-results",
    checks: "that a MODUS file holds one result for each sample, depth, element, test and unit",
    why: "one of the two results is wrong or of another sample, and nothing in the file says which",
    example: "sample 101 has potassium by one test as 120 and, further down, as 210",
    mend: "ask the lab which result stands, and take the other one out",
};

/// One result, as stated.
#[derive(Debug, Clone)]
pub(super) struct TestResult {
    pub(super) line: usize,
    pub(super) element: String,
    pub(super) unit: String,
    pub(super) test_id: String,
    pub(super) value_type: String,
    pub(super) value: String,
}

impl TestResult {
    /// What tells one column from another.
    fn key(&self) -> [&str; 4] {
        [&self.element, &self.test_id, &self.unit, &self.value_type]
    }

    /// `K ppm [S-K-...]`; an index says so, `none` is no unit.
    fn header(&self) -> String {
        let unit = if self.unit.eq_ignore_ascii_case("none") { "" } else { self.unit.as_str() };
        let index = if self.value_type.eq_ignore_ascii_case("index") { "index" } else { "" };
        let test = if self.test_id.is_empty() { String::new() } else { format!("[{}]", self.test_id) };
        let parts = [self.element.as_str(), unit, index, test.as_str()];
        parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
    }
}

/// One depth of one sample.
#[derive(Debug, Clone)]
pub(super) struct ModusRow {
    pub(super) line: usize,
    pub(super) sample_number: String,
    pub(super) fmis_id: String,
    pub(super) place: Option<StatedPlace>,
    pub(super) date: String,
    pub(super) depth: StatedDepth,
    pub(super) results: Vec<TestResult>,
}

impl ModusRow {
    /// Whether both are of one sample and depth, told in two pieces.
    fn is_same(&self, other: &ModusRow) -> bool {
        let of = |row: &ModusRow| {
            (row.sample_number.clone(), row.fmis_id.clone(), row.place.clone(), row.date.clone(), row.depth.clone())
        };
        !self.sample_number.is_empty() && of(self) == of(other)
    }
}

/// The table: names, place, date and depth, then a column for each test in the order of the file.
///
/// # Errors
/// Two unlike results of one test; depths in several units; too many cells.
pub(super) fn table(file: &str, rows: Vec<ModusRow>) -> Result<SampleTable, Vec<Diagnostic>> {
    let rows = merged(rows);
    let depth_unit = depth_unit(file, &rows)?;
    let (tests, results, faults) = by_test(file, &rows);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut columns: Vec<(String, Vec<String>)> = Vec::new();
    let mut add = |header: &str, of: &dyn Fn(&ModusRow) -> String| {
        columns.push((header.to_owned(), rows.iter().map(of).collect()));
    };
    add("SampleNumber", &|row| row.sample_number.clone());
    if rows.iter().any(|row| !row.fmis_id.is_empty()) {
        add("FMISSampleID", &|row| row.fmis_id.clone());
    }
    let mut places = rows.iter().filter_map(|row| row.place.as_ref()).peekable();
    if places.peek().is_some() {
        let coordinate = |of: fn(&StatedPlace) -> &String| move |row: &ModusRow| row.place.as_ref().map(of).cloned();
        let (x, y, epsg) =
            (coordinate(|place| &place.x), coordinate(|place| &place.y), coordinate(|place| &place.epsg));
        let is_lon_lat = places.all(|place| place.epsg == LON_LAT_EPSG);
        let (x_name, y_name) = if is_lon_lat { ("Longitude", "Latitude") } else { ("Easting", "Northing") };
        add(x_name, &|row| x(row).unwrap_or_default());
        add(y_name, &|row| y(row).unwrap_or_default());
        if !is_lon_lat {
            add("EPSG", &|row| epsg(row).unwrap_or_default());
        }
    }
    if rows.iter().any(|row| !row.date.is_empty()) {
        add("EventDate", &|row| row.date.clone());
    }
    if let Some(unit) = depth_unit {
        add(format!("Depth top {unit}").trim(), &|row| row.depth.top.clone());
        add(format!("Depth bottom {unit}").trim(), &|row| row.depth.bottom.clone());
    }
    if (columns.len() + tests.len()).saturating_mul(rows.len()) > MOST_CELLS {
        return Err(too_large(file));
    }
    let mut header: Vec<String> = columns.iter().map(|(header, _)| header.clone()).collect();
    header.extend(tests);
    let cells = |index: usize| {
        let own = columns.iter().map(|(_, cells)| cells[index].clone());
        let n_tests = header.len() - columns.len();
        own.chain((0..n_tests).map(|test| results[index].get(&test).cloned().unwrap_or_default())).collect()
    };
    let lines = rows.iter().enumerate().map(|(index, row)| Row { line: row.line, cells: cells(index) }).collect();
    Ok(SampleTable { file: file.to_owned(), header: unlike_names(header), rows: lines, samples_in: SamplesIn::Rows })
}

/// Pieces of one sample and depth put together, in the order of the file.
fn merged(rows: Vec<ModusRow>) -> Vec<ModusRow> {
    let mut by_number: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    let mut merged: Vec<ModusRow> = Vec::with_capacity(rows.len());
    for row in rows {
        let of_number = by_number.entry(row.sample_number.clone()).or_default();
        match of_number.iter().find(|index| merged[**index].is_same(&row)) {
            Some(index) => merged[*index].results.extend(row.results),
            None => {
                of_number.push(merged.len());
                merged.push(row);
            }
        }
    }
    merged
}

/// The unit of all depths; `None` where no row has a depth.
fn depth_unit(file: &str, rows: &[ModusRow]) -> Result<Option<String>, Vec<Diagnostic>> {
    let stated = rows.iter().map(|row| &row.depth).filter(|depth| !depth.top.is_empty() || !depth.bottom.is_empty());
    let mut units: Vec<&str> = stated.map(|depth| depth.unit.as_str()).collect();
    units.sort_unstable();
    units.dedup();
    match units[..] {
        [] => Ok(None),
        [unit] => Ok(Some(unit.to_owned())),
        _ => Err(unreadable(
            file,
            format!("depths are stated in several units: `{}`", units.join("`, `")),
            "ask the lab for one unit of depth",
        )),
    }
}

/// Headers of the tests, the results of each row by test, and the faults.
#[allow(clippy::type_complexity)]
fn by_test(file: &str, rows: &[ModusRow]) -> (Vec<String>, Vec<BTreeMap<usize, String>>, Vec<Diagnostic>) {
    let mut tests: BTreeMap<[&str; 4], usize> = BTreeMap::new();
    let mut headers = Vec::new();
    let mut results = Vec::with_capacity(rows.len());
    let mut faults = Vec::new();
    for row in rows {
        let mut own: BTreeMap<usize, String> = BTreeMap::new();
        for result in &row.results {
            let test = *tests.entry(result.key()).or_insert_with(|| {
                headers.push(result.header());
                headers.len() - 1
            });
            match own.get(&test) {
                Some(first) if !is_equal(first, &result.value) => faults.push(
                    Diagnostic::error(
                        &TWO_RESULTS,
                        format!(
                            "sample `{}` has two results of `{}`: {first} and {}",
                            row.sample_number, headers[test], result.value
                        ),
                    )
                    .at(Place::Row { file: file.to_owned(), line: result.line, columns: vec![headers[test].clone()] })
                    .with_help("ask the lab which one stands, and take the other one out"),
                ),
                Some(_) => (),
                None => {
                    own.insert(test, result.value.clone());
                }
            }
        }
        results.push(own);
    }
    (headers, results, faults)
}

/// Whether two results say the same: `5` and `5.0` do.
fn is_equal(a: &str, b: &str) -> bool {
    a == b || matches!((a.parse::<f64>(), b.parse::<f64>()), (Ok(a), Ok(b)) if a == b)
}

#[cfg(test)]
mod tests {
    use super::super::modus::read;
    use super::*;

    const TWO_DEPTHS: &str = include_str!("../../fixtures/sheets/two_depths.xml");

    #[test]
    fn a_row_for_each_depth_of_each_sample() {
        let table = read("lab.xml", TWO_DEPTHS.as_bytes()).expect("reads");
        assert_eq!(
            table.header,
            [
                "SampleNumber",
                "FMISSampleID",
                "Longitude",
                "Latitude",
                "EventDate",
                "Depth top in",
                "Depth bottom in",
                "pH [X-PH-01]",
                "K ppm [X-K-01]",
                "K index [X-K-01]",
                "OM % [X-OM-02]"
            ]
        );
        let rows: Vec<(usize, String)> = table.rows.iter().map(|row| (row.line, row.cells.join("|"))).collect();
        assert_eq!(
            rows,
            [
                (20, "101|A-1|-93.51|41.001|2026-03-01|0|7|6.1|120|2|3.1".to_owned()),
                (35, "101|A-1|-93.51|41.001|2026-03-01|7|24|6.6|95||".to_owned()),
                (49, "102|A-2|-93.505|41.002|2026-03-01|0|7|5.8|<20||".to_owned()),
            ]
        );
    }

    #[test]
    fn unlike_results_depths_and_places_are_told() {
        let message = |from: &str, to: &str| {
            assert!(TWO_DEPTHS.contains(from), "{from}");
            let text = TWO_DEPTHS.replacen(from, to, 1);
            read("lab.xml", text.as_bytes()).expect_err("is refused").remove(0)
        };
        let twice = "<NutrientResult><Element>K</Element><Value>95</Value>";
        let fault = message(
            twice,
            &format!(
                "{twice}<ValueUnit>ppm</ValueUnit><ModusTestID>X-K-01</ModusTestID><ValueType>Measured</ValueType></NutrientResult>{}",
                twice.replace("95", "96")
            ),
        );
        assert_eq!(fault.code, &TWO_RESULTS);
        assert_eq!(fault.message, "sample `101` has two results of `K ppm [X-K-01]`: 95 and 96");
        assert!(message("<DepthUnit>in</DepthUnit>", "<DepthUnit>cm</DepthUnit>").message.contains("several units"));
        assert!(message("POINT(-93.51 41.001)", "POLYGON((0 0, 1 1, 0 1, 0 0))").message.contains("not a point"));
        assert!(message("<Value>95</Value>", "<Value>-95</Value>").message.contains("below zero"));
        assert!(message("<Depth DepthID=\"2\">", "<Depth DepthID=\"3\">").message.contains("no depth `3`"));
        let other = read("lab.xml", b"<Workbook/>").expect_err("is no MODUS").remove(0);
        assert!(other.message.contains("`Workbook`"));
        assert!(read("lab.xml", b"<ModusResult/>").expect_err("is empty")[0].message.contains("no soil results"));
    }

    #[test]
    fn places_of_another_crs_say_so() {
        let text = TWO_DEPTHS.replacen(
            "<Geometry>POINT(-93.51 41.001)",
            "<Geometry epsg=\"32615\">POINT (457000.5 4540000 310)",
            1,
        );
        let table = read("lab.xml", text.as_bytes()).expect("reads");
        assert_eq!(table.header[2..5], ["Easting", "Northing", "EPSG"]);
        assert_eq!(table.rows[0].cells[2..5], ["457000.5", "4540000", "32615"]);
        assert_eq!(table.rows[2].cells[2..5], ["-93.505", "41.002", "4326"]);
    }

    #[test]
    fn pieces_of_one_sample_are_put_together() {
        let other = TWO_DEPTHS.replacen(
            "<SampleNumber>102</SampleNumber><FMISSampleID>A-2",
            "<SampleNumber>101</SampleNumber><FMISSampleID>A-1",
            1,
        );
        let other = other.replacen("POINT(-93.505 41.002)", "POINT(-93.51 41.001)", 1);
        // Of one sample and depth now: 6.1 and 5.8 are unlike.
        assert_eq!(read("lab.xml", other.as_bytes()).expect_err("two results")[0].code, &TWO_RESULTS);
    }
}
