//! Longitude and latitude exchanged, or numbers that are no degrees.

use super::CheckInput;
use crate::crs::InputCrs;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::PlacesSetting;

/// Longitude and latitude exchanged, or numbers that are no degrees.
pub static SWAPPED_COORDINATES: Code = Code {
    name: "swapped-coordinates",
    checks: "that degrees are degrees, and that longitude and latitude, or easting and northing, are not exchanged",
    why: "an exchanged pair lies on another continent, or worse, still on a map",
    example: "`lon = \"Lat\", lat = \"Long\"` in the field file: latitude reads -93.5",
    mend: "exchange the two columns in `samples.places`; meters or feet need their own CRS",
};

/// At most one error. `xy` are degrees as read, one pair a draft.
pub(in crate::samples) fn check(input: &CheckInput<'_>, xy: &[[f64; 2]]) -> Vec<Diagnostic> {
    let PlacesSetting::Sheet(sheet) = &input.settings.places else { return Vec::new() };
    let fault = |message: String| {
        Diagnostic::error(&SWAPPED_COORDINATES, message)
            .at(input.key_place("samples.places", input.settings.lines.places))
    };
    let exchange = format!("exchange the two: `lon = \"{}\", lat = \"{}\"`", sheet.y_column, sheet.x_column);
    let is_degrees = |lon: f64, lat: f64| lon.abs() <= 180.0 && lat.abs() <= 90.0;
    let wrong: Vec<usize> = (0..xy.len()).filter(|&index| !is_degrees(xy[index][0], xy[index][1])).collect();
    let n_fit_exchanged = wrong.iter().filter(|&&index| is_degrees(xy[index][1], xy[index][0])).count();
    if let Some(&first) = wrong.first() {
        let ([lon, lat], name) = (xy[first], &input.drafts[first].id);
        if n_fit_exchanged == xy.len() {
            return vec![
                fault(format!(
                    "latitude is read as {lat} at `{name}`, beyond 90: longitude and latitude are exchanged"
                ))
                .with_help(exchange),
            ];
        }
        let all_or_some = if wrong.len() == xy.len() { "all".to_owned() } else { format!("{} of", wrong.len()) };
        let samples = xy.len();
        let message =
            format!("the places of {all_or_some} {samples} samples are no degrees: `{name}` reads {lon}, {lat}");
        let found = if wrong.len() == xy.len() {
            fault(message)
                .with_help("name the CRS of these coordinates in `samples.places`: degrees are stated, meters found")
        } else {
            let columns = [sheet.x_column.as_str(), sheet.y_column.as_str()];
            fault(message).at(input.table.place(input.drafts[first].line, &columns)).with_help("correct the cells")
        };
        return vec![found];
    }
    let inside = |lon: f64, lat: f64| {
        input.boundary.work_crs().to_local((lon, lat)).is_some_and(|site| input.boundary.contains(site))
    };
    let n_inside = xy.iter().filter(|[lon, lat]| inside(*lon, *lat)).count();
    let n_inside_exchanged = xy.iter().filter(|[lon, lat]| inside(*lat, *lon)).count();
    if n_inside_exchanged > n_inside && 2 * n_inside_exchanged > xy.len() {
        let message = format!(
            "{n_inside} of {} samples lie inside the outline, {n_inside_exchanged} with longitude and latitude exchanged",
            xy.len()
        );
        return vec![fault(message).with_help(exchange)];
    }
    Vec::new()
}

/// The error of easting and northing exchanged; `None` if exchanging them does not bring most samples into the outline.
pub(in crate::samples) fn check_plane(input: &CheckInput<'_>, crs: &InputCrs, xy: &[[f64; 2]]) -> Option<Diagnostic> {
    let PlacesSetting::Sheet(sheet) = &input.settings.places else { return None };
    // The offset belongs to the columns as they are named now.
    let [east, north] = sheet.offset;
    let (mut xs, mut ys): (Vec<f64>, Vec<f64>) = xy.iter().map(|[x, y]| (y - north + east, x - east + north)).unzip();
    crs.to_lon_lat(&mut xs, &mut ys).ok()?;
    let is_inside = |place| input.boundary.work_crs().to_local(place).is_some_and(|site| input.boundary.contains(site));
    let n_inside = xs.into_iter().zip(ys).filter(|&place| is_inside(place)).count();
    let message =
        format!("{n_inside} of {} samples lie inside the outline with easting and northing exchanged", xy.len());
    (2 * n_inside > xy.len()).then(|| {
        Diagnostic::error(&SWAPPED_COORDINATES, message)
            .at(input.key_place("samples.places", input.settings.lines.places))
            .with_help(format!("exchange the two: `east = \"{}\", north = \"{}\"`", sheet.y_column, sheet.x_column))
    })
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    fn run(csv: &str) -> Vec<Diagnostic> {
        let sheet = sheet(csv);
        let xy: Vec<[f64; 2]> = sheet.drafts().iter().filter_map(|draft| draft.sheet_xy).collect();
        sheet.with_input(|input| check(input, &xy))
    }

    #[test]
    fn a_latitude_beyond_90_shows_the_exchange() {
        let found = run("ID,lon,lat,pH\nA,41.004,-93.505,6\nB,41.005,-93.506,6\n");
        assert_eq!(
            lines(&found),
            ["error: latitude is read as -93.505 at `A`, beyond 90: longitude and latitude are exchanged"]
        );
        assert_eq!(found[0].help.as_deref(), Some("exchange the two: `lon = \"lat\", lat = \"lon\"`"));
    }

    #[test]
    fn meters_in_the_place_of_degrees_ask_for_the_crs() {
        let found = run("ID,lon,lat,pH\nA,457500,4539000,6\nB,457600,4539000,6\n");
        assert_eq!(lines(&found), ["error: the places of all 2 samples are no degrees: `A` reads 457500, 4539000"]);
        assert!(found[0].help.as_ref().expect("has help").contains("CRS"));
    }

    #[test]
    fn an_exchange_within_90_degrees_shows_by_the_outline() {
        let found = run("ID,lon,lat,pH\nA,41.004,-83.505,6\nB,41.005,-83.506,6\nC,41.02,-83.506,6\n");
        assert_eq!(
            lines(&found),
            ["error: 0 of 3 samples lie inside the outline, 2 with longitude and latitude exchanged"]
        );
    }

    #[test]
    fn one_slip_points_at_its_row() {
        let found = run("ID,lon,lat,pH\nA,-83.505,41.004,6\nB,-83.506,410.05,6\nC,-83.507,41.005,6\n");
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "lab.csv:3, columns `lon`, `lat`");
    }

    #[test]
    fn exchanged_easting_and_northing_show_by_the_outline() {
        // gdaltransform (GDAL 3.6) puts lon -83.506, lat 41.0045, the square's middle, at 289,246.43 E, 4,542,281.67 N.
        let mut sheet = sheet("ID,x,y,pH\nA,4542281.67,289246.43,6\nB,4542300,289300,6\nC,4542200,289200,6\n");
        let PlacesSetting::Sheet(coordinates) = &mut sheet.settings.places else { panic!("meters") };
        coordinates.crs = "EPSG:32617".to_owned();
        let crs = InputCrs::from_text("EPSG:32617").expect("known");
        let xy: Vec<[f64; 2]> = sheet.drafts().iter().filter_map(|draft| draft.sheet_xy).collect();
        let found = sheet.with_input(|input| check_plane(input, &crs, &xy)).expect("exchanged");
        assert_eq!(found.message, "3 of 3 samples lie inside the outline with easting and northing exchanged");
        assert_eq!(found.help.as_deref(), Some("exchange the two: `east = \"y\", north = \"x\"`"));
        let right: Vec<[f64; 2]> = xy.iter().map(|[x, y]| [*y, *x]).collect();
        assert!(sheet.with_input(|input| check_plane(input, &crs, &right)).is_none());
    }

    #[test]
    fn samples_in_place_are_left_alone() {
        assert!(run("ID,lon,lat,pH\nA,-83.505,41.004,6\nB,-83.506,41.005,6\n").is_empty());
        assert!(run("ID,lon,lat,pH\nA,-83.405,41.004,6\nB,-83.406,41.005,6\n").is_empty());
    }
}
