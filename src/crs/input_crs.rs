//! The CRS of customer coordinates, and the way from it to WGS 84 longitude and latitude.

use std::cell::RefCell;
use std::sync::Once;

use gdal::errors::CplErrType;
use gdal::spatial_ref::{AxisMappingStrategy, CoordTransform, CoordTransformOptions, SpatialRef};

use super::{LonLat, show_lon_lat};
use crate::diagnostic::{Code, Diagnostic, Severity};

/// A text that names no usable CRS.
pub static UNKNOWN_CRS: Code = Code {
    name: "unknown-crs",
    checks: "that a stated coordinate reference system is one GDAL knows and is made for maps (longitude and latitude, or easting and northing)",
    why: "the same pair of numbers lies in another place, often another country, under another CRS; the program never guesses one",
    example: "`crs = \"EPSG:99999\"`, a code no register holds",
    mend: "state an EPSG code such as `EPSG:4326` (longitude and latitude, WGS 84) or `EPSG:26915` (UTM zone 15 north, NAD83), a PROJ string, or the WKT of a .prj file; ask whoever made the file",
};

/// Coordinates that the CRS they are stated in cannot hold.
pub static COORDINATES_OUTSIDE_CRS: Code = Code {
    name: "coordinates-outside-crs",
    checks: "that every coordinate is a number, lies in the range and area of the CRS it is stated in, and can be turned into longitude and latitude",
    why: "a wrong CRS, swapped columns or a lost decimal mark puts the field in the wrong place without any other sign",
    example: "longitude 41.0, latitude -93.5: the two columns are swapped",
    mend: "correct the coordinate, name the columns the other way round, or state the CRS the numbers are really in",
};

/// How far outside its stated area of use a CRS is still taken, degrees: a field may lie a little across a zone's edge.
const AREA_OF_USE_MARGIN_DEG: f64 = 3.0;
/// Accuracies asked of GDAL one after the other, meters.
const ACCURACY_LADDER_M: [f64; 12] = [0.01, 0.05, 0.1, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 10.0, 25.0, 100.0];
/// An accuracy no datum shift has: only a calculation without one passes.
const NO_SHIFT_M: f64 = 1e-6;
/// Two operations that agree this well, degrees (0.1 mm), are the same operation.
const SAME_OPERATION_DEG: f64 = 1e-9;

thread_local! {
    static GDAL_MESSAGES: RefCell<Vec<GdalMessage>> = const { RefCell::new(Vec::new()) };
}

/// What GDAL would have printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GdalMessage {
    /// Error for its failures, else warning.
    pub severity: Severity,
    /// GDAL's own words.
    pub text: String,
}

/// Keeps GDAL from printing to stderr; its messages wait in [`take_gdal_messages`].
///
/// Idempotent; called by everything here that uses GDAL.
pub fn keep_gdal_quiet() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        gdal::config::set_error_handler(|class, _, text| {
            let severity = match class {
                CplErrType::None | CplErrType::Debug => return,
                CplErrType::Warning => Severity::Warning,
                CplErrType::Failure | CplErrType::Fatal => Severity::Error,
            };
            let message = GdalMessage { severity, text: text.trim_end_matches(['.', '\n']).to_string() };
            GDAL_MESSAGES.with_borrow_mut(|messages| messages.push(message));
        });
    });
}

/// Messages GDAL gave in this thread since the last call, oldest first.
pub fn take_gdal_messages() -> Vec<GdalMessage> {
    GDAL_MESSAGES.with_borrow_mut(std::mem::take)
}

/// What GDAL states about the accuracy of the way to WGS 84.
///
/// The `gdal` crate does not hand out the accuracy of an operation. It is found by asking for ever rougher operations
/// over the area of the points until one gives the same result as the operation used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StatedAccuracy {
    /// Same datum: a calculation without loss.
    SameDatum,
    /// A shift between datums, this good or better, meters.
    WithinM(f64),
    /// GDAL knows of no figure (for example a datum of which only the ellipsoid is known).
    NotStated,
}

impl std::fmt::Display for StatedAccuracy {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            StatedAccuracy::SameDatum => write!(f, "same datum as WGS 84, no shift"),
            StatedAccuracy::WithinM(m) => write!(f, "GDAL states {m} m or better to WGS 84"),
            StatedAccuracy::NotStated => write!(f, "accuracy to WGS 84 not stated"),
        }
    }
}

/// The CRS coordinates are given in.
#[derive(Debug)]
pub struct InputCrs {
    name: String,
    spatial_ref: SpatialRef,
    wgs84: SpatialRef,
    to_wgs84: CoordTransform,
}

impl InputCrs {
    /// The CRS a person stated: an EPSG code (`EPSG:26915`, `26915`), a PROJ string (`+proj=...`) or WKT.
    ///
    /// Easting or longitude comes first, whatever order the register gives.
    ///
    /// # Errors
    /// [`UNKNOWN_CRS`], without a place.
    pub fn from_text(text: &str) -> Result<Self, Vec<Diagnostic>> {
        keep_gdal_quiet();
        let text = text.trim();
        let definition = if !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit()) {
            format!("EPSG:{text}")
        } else {
            text.to_string()
        };
        // GDAL would also take a file name or a web address here; neither is a statement in the field file.
        let form_is_known = is_authority_code(&definition) || definition.starts_with("+proj=") || is_wkt(&definition);
        let spatial_ref = form_is_known.then(|| SpatialRef::from_definition(&definition).ok()).flatten();
        take_gdal_messages();
        let Some(mut spatial_ref) = spatial_ref else {
            let message = format!("no coordinate reference system is known as `{}`", shorten(text));
            let help = "state an EPSG code such as `EPSG:4326`, a PROJ string beginning with `+proj=`, or WKT";
            return Err(vec![Diagnostic::error(&UNKNOWN_CRS, message).with_help(help)]);
        };
        spatial_ref.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
        Self::new(spatial_ref, text)
    }

    /// The CRS a file's layer states. The axis order GDAL set for the layer is kept.
    ///
    /// # Errors
    /// [`UNKNOWN_CRS`], without a place.
    pub fn from_spatial_ref(spatial_ref: SpatialRef) -> Result<Self, Vec<Diagnostic>> {
        keep_gdal_quiet();
        Self::new(spatial_ref, "the file's CRS")
    }

    fn new(spatial_ref: SpatialRef, stated: &str) -> Result<Self, Vec<Diagnostic>> {
        let title = spatial_ref.name().filter(|name| !name.is_empty() && name != "unknown");
        let name = match (title, spatial_ref.authority()) {
            (Some(title), Ok(authority)) => format!("{title} ({authority})"),
            (Some(title), Err(_)) => title,
            (None, _) => shorten(stated),
        };
        let fault = |why: String| {
            let message = format!("`{name}` cannot be turned into longitude and latitude: {why}");
            let help = "state a CRS of longitude and latitude or of easting and northing, for example `EPSG:4326`";
            vec![Diagnostic::error(&UNKNOWN_CRS, message).with_help(help)]
        };
        if !(spatial_ref.is_geographic() || spatial_ref.is_projected()) {
            return Err(fault("it is neither longitude and latitude nor easting and northing".to_string()));
        }
        let mut wgs84 = SpatialRef::from_epsg(4326).map_err(|error| fault(error.to_string()))?;
        wgs84.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
        let to_wgs84 = CoordTransform::new(&spatial_ref, &wgs84).map_err(|error| fault(error.to_string()))?;
        take_gdal_messages();
        Ok(InputCrs { name, spatial_ref, wgs84, to_wgs84 })
    }

    /// Name and code for a person: `WGS 84 / UTM zone 15N (EPSG:32615)`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Whether coordinates are longitude and latitude.
    pub fn is_geographic(&self) -> bool {
        self.spatial_ref.is_geographic()
    }

    /// Turns coordinates into WGS 84 longitude and latitude in place, and says how good GDAL states this to be.
    ///
    /// # Units
    /// `xs`, `ys`: easting and northing in the unit of the CRS, or degrees of longitude and latitude; degrees after.
    ///
    /// # Errors
    /// One [`COORDINATES_OUTSIDE_CRS`] without a place for each bad coordinate, with its index; contents of `xs` and
    /// `ys` are then of no use.
    ///
    /// # Panics
    /// If `xs` and `ys` differ in length.
    pub fn to_lon_lat(&self, xs: &mut [f64], ys: &mut [f64]) -> Result<StatedAccuracy, Vec<(usize, Diagnostic)>> {
        assert_eq!(xs.len(), ys.len(), "one y for each x");
        if xs.is_empty() {
            return Ok(StatedAccuracy::NotStated);
        }
        let mut faults = self.range_faults(xs, ys);
        if !faults.is_empty() {
            return Err(faults);
        }
        let first = (xs[0], ys[0]);
        let (given_xs, given_ys) = (xs.to_vec(), ys.to_vec());
        let transformed = self.to_wgs84.transform_coords(xs, ys, &mut []);
        take_gdal_messages();
        for index in 0..xs.len() {
            let (lon, lat) = (xs[index], ys[index]);
            let given = self.show(given_xs[index], given_ys[index]);
            if !(lon.is_finite() && lat.is_finite()) {
                let message = format!("{given} has no longitude and latitude in `{}`", self.name);
                faults.push((index, Diagnostic::error(&COORDINATES_OUTSIDE_CRS, message)));
            } else if let Some(area) = self.area_outside_of((lon, lat)) {
                let message =
                    format!("{given} comes to {}, outside the area of `{}`", show_lon_lat((lon, lat)), self.name);
                faults.push((index, Diagnostic::error(&COORDINATES_OUTSIDE_CRS, message).with_note(area)));
            }
        }
        match transformed {
            Err(error) if faults.is_empty() => Err(vec![(
                0,
                Diagnostic::error(&COORDINATES_OUTSIDE_CRS, format!("GDAL refuses the coordinates: {error}")),
            )]),
            _ if faults.is_empty() => Ok(self.accuracy(first, xs, ys)),
            _ => Err(faults),
        }
    }

    /// Coordinates of WGS 84 longitudes and latitudes in this CRS; `None` where a place has none.
    pub fn coordinates_of(&self, places: &[LonLat]) -> Option<Vec<(f64, f64)>> {
        let (mut xs, mut ys): (Vec<f64>, Vec<f64>) = places.iter().copied().unzip();
        let from_wgs84 = CoordTransform::new(&self.wgs84, &self.spatial_ref).ok()?;
        let transformed = from_wgs84.transform_coords(&mut xs, &mut ys, &mut []);
        take_gdal_messages();
        let all_finite = xs.iter().chain(&ys).all(|value| value.is_finite());
        (transformed.is_ok() && all_finite).then(|| xs.into_iter().zip(ys).collect())
    }

    /// Faults that show before any transformation.
    fn range_faults(&self, xs: &[f64], ys: &[f64]) -> Vec<(usize, Diagnostic)> {
        let look_like_degrees =
            !self.is_geographic() && xs.iter().zip(ys).all(|(x, y)| x.abs() <= 180.0 && y.abs() <= 90.0);
        let mut faults = Vec::new();
        for (index, (&x, &y)) in xs.iter().zip(ys).enumerate() {
            let fault = |message: String| Diagnostic::error(&COORDINATES_OUTSIDE_CRS, message);
            if !(x.is_finite() && y.is_finite()) {
                faults.push((index, fault(format!("coordinate is not a number: x {x}, y {y}"))));
            } else if look_like_degrees {
                let message = format!(
                    "coordinates look like degrees, but `{}` counts in {}",
                    self.name,
                    self.spatial_ref.linear_units_name().unwrap_or_else(|| "meters".to_string())
                );
                faults.push((index, fault(message).with_help("if they are longitude and latitude, state `EPSG:4326`")));
            } else if self.is_geographic() && (x.abs() > 180.0 || y.abs() > 90.0) {
                let message = format!(
                    "{} is out of range: longitude lies in -180 to 180, latitude in -90 to 90",
                    self.show(x, y)
                );
                let diagnostic = fault(message);
                let swapped = x.abs() <= 90.0 && y.abs() <= 180.0;
                faults.push((
                    index,
                    if swapped {
                        diagnostic.with_help("longitude and latitude seem to be swapped; longitude comes first")
                    } else {
                        diagnostic
                    },
                ));
            }
        }
        faults
    }

    /// The area of use in words, if the place lies outside it.
    fn area_outside_of(&self, (lon, lat): LonLat) -> Option<String> {
        let area = self.spatial_ref.area_of_use()?;
        let margin = AREA_OF_USE_MARGIN_DEG;
        let crosses_date_line = area.west_lon_degree > area.east_lon_degree;
        let lon_fits =
            crosses_date_line || (area.west_lon_degree - margin..=area.east_lon_degree + margin).contains(&lon);
        let lat_fits = (area.south_lat_degree - margin..=area.north_lat_degree + margin).contains(&lat);
        (!(lon_fits && lat_fits)).then(|| {
            format!(
                "its area is lon {:.2} to {:.2}, lat {:.2} to {:.2}",
                area.west_lon_degree, area.east_lon_degree, area.south_lat_degree, area.north_lat_degree
            )
        })
    }

    fn show(&self, x: f64, y: f64) -> String {
        if self.is_geographic() { show_lon_lat((x, y)) } else { format!("easting {x:.2}, northing {y:.2}") }
    }

    /// Asks GDAL which accuracy it states for the operation used; `given` became `(lons[0], lats[0])`.
    fn accuracy(&self, given: (f64, f64), lons: &[f64], lats: &[f64]) -> StatedAccuracy {
        let range = |values: &[f64]| {
            values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &v| (low.min(v), high.max(v)))
        };
        let ((west, east), (south, north)) = (range(lons), range(lats));
        let same_at = |accuracy_m: f64| -> Option<bool> {
            let mut options = CoordTransformOptions::new().ok()?;
            options.set_area_of_interest(west, south, east, north).ok()?;
            options.desired_accuracy(accuracy_m).ok()?;
            options.set_ballpark_allowed(false).ok()?;
            let transform = CoordTransform::new_with_options(&self.spatial_ref, &self.wgs84, &options).ok()?;
            let (mut x, mut y) = ([given.0], [given.1]);
            transform.transform_coords(&mut x, &mut y, &mut []).ok()?;
            Some((x[0] - lons[0]).abs() <= SAME_OPERATION_DEG && (y[0] - lats[0]).abs() <= SAME_OPERATION_DEG)
        };
        let found = if same_at(NO_SHIFT_M) == Some(true) {
            StatedAccuracy::SameDatum
        } else {
            let accuracy_m = ACCURACY_LADDER_M.into_iter().find(|&accuracy_m| same_at(accuracy_m) == Some(true));
            accuracy_m.map_or(StatedAccuracy::NotStated, StatedAccuracy::WithinM)
        };
        take_gdal_messages();
        found
    }
}

/// `EPSG:4326`, `ESRI:102704`, `OGC:CRS84`, and two joined by `+`.
fn is_authority_code(text: &str) -> bool {
    let plain = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'+');
    text.split_once(':').is_some_and(|(authority, code)| {
        ["EPSG", "ESRI", "OGC", "IGNF"].iter().any(|known| authority.eq_ignore_ascii_case(known)) && plain(code)
    })
}

/// WKT 1 or 2: a keyword of capitals, digits and underlines before a bracket.
fn is_wkt(text: &str) -> bool {
    text.split_once(['[', '(']).is_some_and(|(keyword, _)| {
        keyword.len() >= 6 && keyword.trim_end().bytes().all(|byte| byte.is_ascii_uppercase() || byte == b'_')
    })
}

/// Enough of a long text to know it again.
fn shorten(text: &str) -> String {
    if text.chars().count() <= 60 {
        text.to_string()
    } else {
        format!("{}...", text.chars().take(57).collect::<String>())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Printed digits of the reference places (degrees to 1e-9: 0.1 mm).
    const TOL_DEG: f64 = 1e-9;

    fn convert(crs: &str, x: f64, y: f64) -> Result<(LonLat, StatedAccuracy), Vec<(usize, Diagnostic)>> {
        let (mut xs, mut ys) = ([x], [y]);
        let accuracy = InputCrs::from_text(crs).expect("crs is known").to_lon_lat(&mut xs, &mut ys)?;
        Ok(((xs[0], ys[0]), accuracy))
    }

    #[test]
    fn code_proj_string_and_wkt_of_one_crs_agree() {
        let wkt = SpatialRef::from_epsg(32615).and_then(|crs| crs.to_wkt()).expect("in the register");
        for text in ["EPSG:32615", "epsg:32615", " 32615 ", "+proj=utm +zone=15 +datum=WGS84 +units=m +no_defs", &wkt] {
            let ((lon, lat), accuracy) = convert(text, 457_949.159_038, 4_538_877.438_193).expect("inside");
            assert!((lon + 93.5).abs() < TOL_DEG && (lat - 41.0).abs() < TOL_DEG, "{text}: {lon} {lat}");
            assert_eq!(accuracy, StatedAccuracy::SameDatum, "{text}");
            let back = InputCrs::from_text(text).expect("known").coordinates_of(&[(-93.5, 41.0)]).expect("inside");
            assert!((back[0].0 - 457_949.159_038).abs() < 1e-4 && (back[0].1 - 4_538_877.438_193).abs() < 1e-4);
        }
        let crs = InputCrs::from_text("EPSG:32615").expect("known");
        assert_eq!(crs.name(), "WGS 84 / UTM zone 15N (EPSG:32615)");
        assert!(!crs.is_geographic() && InputCrs::from_text("EPSG:4326").expect("known").is_geographic());
    }

    #[test]
    fn accuracy_is_stated_where_gdal_states_one() {
        let ((lon, lat), accuracy) = convert("EPSG:4269", -93.5, 41.0).expect("inside");
        assert!((lon + 93.5).abs() < TOL_DEG && (lat - 41.0).abs() < TOL_DEG);
        assert_eq!(accuracy, StatedAccuracy::WithinM(4.0));
        let (_, accuracy) = convert("+proj=longlat +ellps=clrk66", -93.5, 41.0).expect("inside");
        assert_eq!(accuracy, StatedAccuracy::NotStated);
        assert_eq!(accuracy.to_string(), "accuracy to WGS 84 not stated");
        // NAD27 lies here some 0.0002 degree of longitude (18 m) from WGS 84.
        let ((lon, _), accuracy) = convert("EPSG:4267", -93.5, 41.0).expect("inside");
        assert!((-93.5003..-93.5001).contains(&lon), "{lon}");
        assert!(matches!(accuracy, StatedAccuracy::WithinM(m) if (2.0..=25.0).contains(&m)), "{accuracy:?}");
    }

    #[test]
    fn feet_of_a_state_plane_are_read_as_feet() {
        // Iowa North, US survey feet: its false origin, 1 500 000 m and 1 000 000 m, is defined as lon -93.5, lat 41.5.
        let feet = |m: f64| m * 3937.0 / 1200.0;
        let ((lon, lat), _) = convert("EPSG:3417", feet(1_500_000.0), feet(1_000_000.0)).expect("inside");
        assert!((lon + 93.5).abs() < 1e-7 && (lat - 41.5).abs() < 1e-7, "{lon} {lat}");
    }

    #[test]
    fn text_that_names_no_crs_is_refused() {
        for text in [
            "",
            "EPSG:99999",
            "wgs",
            "/etc/hostname",
            "https://example.com/crs",
            "EPSG:5773",
            "+proj=nothing",
            "GEOGCS[oops",
        ] {
            let faults = InputCrs::from_text(text).expect_err(text);
            assert_eq!(faults[0].code.name, "unknown-crs", "{text}");
        }
    }

    #[test]
    fn every_bad_coordinate_is_named() {
        let crs = InputCrs::from_text("EPSG:4326").expect("known");
        let faults = crs
            .to_lon_lat(&mut [-93.5, 41.0, f64::NAN, -93.5], &mut [41.0, -93.5, 1.0, 400.0])
            .expect_err("three are bad");
        assert_eq!(faults.iter().map(|(index, _)| *index).collect::<Vec<_>>(), [1, 2, 3]);
        assert!(faults[0].1.help.as_deref().is_some_and(|help| help.contains("swapped")));
        assert_eq!(faults[2].1.help, None);
    }

    #[test]
    fn wrong_crs_shows_by_its_area() {
        let faults = convert("EPSG:32615", -93.5, 41.0).expect_err("degrees");
        assert!(faults[0].1.message.contains("look like degrees"), "{}", faults[0].1.message);
        let faults = convert("EPSG:3417", 457_949.0, 4_538_877.0).expect_err("meters as feet");
        assert!(faults[0].1.message.contains("outside the area of"), "{}", faults[0].1.message);
        assert!(convert("EPSG:32615", 1e30, 1e30).is_err());
    }
}
