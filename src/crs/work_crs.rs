//! The plane all work is done on: meters from an integer origin beside the field.

use std::cell::RefCell;

use geo::{Distance, Geodesic, Point};
use proj::Proj;

use super::{COORDINATES_OUTSIDE_CRS, InputCrs, LonLat, UNKNOWN_CRS, show_lon_lat};
use crate::cell_grid::Site;
use crate::diagnostic::{Code, Diagnostic};

/// A stated work CRS on which meters are not meters.
pub static WORK_CRS_UNFIT: Code = Code {
    name: "work-crs-unfit",
    checks: "that a stated work CRS is on WGS 84, counts in meters, and keeps distances at the field within 1 %",
    why: "cell size, distances between samples and swath widths are measured on it",
    example: "`EPSG:3857` (web map squares) at latitude 41: everything is 32 % too long",
    mend: "leave the work CRS out (the field's UTM zone is taken), or state that zone, for example `EPSG:32615`",
};

/// The origin is rounded down to whole multiples of this, meters.
const ORIGIN_STEP_M: f64 = 1000.0;
/// Local coordinates are kept to this fraction of a meter: whole millimeters.
const STEPS_PER_M: f64 = 1000.0;
/// Largest accepted stretch at the field. UTM itself has 0.04 % in its middle and 0.1 % at the equator's zone edge.
const MAX_STRETCH_SHARE: f64 = 0.01;
/// Length of the trial lines for the stretch, degrees (about 500 m).
const TRIAL_LINE_DEG: f64 = 0.005;

/// Where the work CRS comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WorkCrsChoice {
    /// The UTM zone of the field's centroid.
    Derived,
    /// A person's: `EPSG:326zz`, `EPSG:327zz`, or a PROJ string on WGS 84 in meters.
    Stated(String),
}

/// A plane of meters beside the field. Holds no handle of a library, so it may be shared between threads.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkCrs {
    definition: String,
    title: String,
    origin_east_m: f64,
    origin_north_m: f64,
}

impl WorkCrs {
    /// The work CRS for a field.
    ///
    /// # Units
    /// `centroid`, and `bounds` as `[west, east, south, north]`: degrees. The origin is the south-west corner of
    /// `bounds` on the plane, rounded down to whole kilometers, so local coordinates in the field are not negative
    /// (but for the meridian convergence, millimeters to some meters).
    ///
    /// # Errors
    /// [`COORDINATES_OUTSIDE_CRS`] beyond 84 north or 80 south, where UTM ends; [`UNKNOWN_CRS`] and
    /// [`WORK_CRS_UNFIT`] for a stated CRS. Without places.
    pub fn new(choice: &WorkCrsChoice, centroid: LonLat, bounds: [f64; 4]) -> Result<Self, Vec<Diagnostic>> {
        let (definition, title) = match choice {
            WorkCrsChoice::Derived => utm_at(centroid)?,
            WorkCrsChoice::Stated(text) => stated(text)?,
        };
        let mut crs = WorkCrs { definition, title, origin_east_m: 0.0, origin_north_m: 0.0 };
        let [west, east, south, north] = bounds;
        let corners = [(west, south), (east, south), (west, north), (east, north)];
        let mut low = (f64::INFINITY, f64::INFINITY);
        for corner in corners.into_iter().chain([centroid]) {
            let Some((east_m, north_m)) = crs.forward(corner) else {
                let message = format!("work CRS {} has no place for {}", crs.title, show_lon_lat(corner));
                return Err(vec![Diagnostic::error(&WORK_CRS_UNFIT, message)]);
            };
            low = (low.0.min(east_m), low.1.min(north_m));
        }
        let stretch = crs.stretch_share(centroid);
        if stretch.is_none_or(|share| share > MAX_STRETCH_SHARE) {
            let percent = stretch.map_or("without limit".to_string(), |share| format!("by {:.1} %", share * 100.0));
            let message =
                format!("work CRS {} distorts distances at the field {percent}, at most 1 % is accepted", crs.title);
            let help = "leave the work CRS out: the field's own UTM zone is taken";
            return Err(vec![Diagnostic::error(&WORK_CRS_UNFIT, message).with_help(help)]);
        }
        crs.origin_east_m = (low.0 / ORIGIN_STEP_M).floor() * ORIGIN_STEP_M;
        crs.origin_north_m = (low.1 / ORIGIN_STEP_M).floor() * ORIGIN_STEP_M;
        Ok(crs)
    }

    /// Name for a person: `UTM zone 15 north, WGS 84 (origin 449000 E, 4538000 N)`.
    pub fn name(&self) -> String {
        format!("{} (origin {:.0} E, {:.0} N)", self.title, self.origin_east_m, self.origin_north_m)
    }

    /// PROJ string of the plane, without the origin.
    pub fn definition(&self) -> &str {
        &self.definition
    }

    /// EPSG code of the plane, without the origin; `None` for a stated PROJ string that is no UTM zone.
    pub fn epsg(&self) -> Option<u32> {
        (1..=60).find_map(|zone| {
            let is_it = |south: bool| utm(zone, south).0 == self.definition;
            if is_it(false) { Some(32_600 + zone) } else { is_it(true).then_some(32_700 + zone) }
        })
    }

    /// Easting and northing of the origin on the plane, whole meters.
    pub fn origin_m(&self) -> (f64, f64) {
        (self.origin_east_m, self.origin_north_m)
    }

    /// Longitude and latitude (degrees) to meters from the origin, rounded to 1 mm.
    ///
    /// `None` where the projection has no answer (not a number, or the far side of the earth).
    pub fn to_local(&self, place: LonLat) -> Option<Site> {
        let (east_m, north_m) = self.forward(place)?;
        let rounded = |m: f64| (m * STEPS_PER_M).round() / STEPS_PER_M;
        Some(Site { east_m: rounded(east_m - self.origin_east_m), north_m: rounded(north_m - self.origin_north_m) })
    }

    /// Meters from the origin to longitude and latitude, degrees, not rounded.
    ///
    /// `None` where the projection has no answer; never within 1000 km of the field.
    pub fn to_lon_lat(&self, site: Site) -> Option<LonLat> {
        let plane = (site.east_m + self.origin_east_m, site.north_m + self.origin_north_m);
        let (lon, lat) = with_projection(&self.definition, |proj| proj.project(plane, true).ok())??;
        (lon.is_finite() && lat.is_finite()).then(|| (lon.to_degrees(), lat.to_degrees()))
    }

    /// [`WorkCrs::to_local`] of each place.
    pub fn all_to_local(&self, places: &[LonLat]) -> Vec<Option<Site>> {
        places.iter().map(|&place| self.to_local(place)).collect()
    }

    /// [`WorkCrs::to_lon_lat`] of each site.
    pub fn all_to_lon_lat(&self, sites: &[Site]) -> Vec<Option<LonLat>> {
        sites.iter().map(|&site| self.to_lon_lat(site)).collect()
    }

    /// Easting and northing on the plane.
    fn forward(&self, (lon, lat): LonLat) -> Option<(f64, f64)> {
        let radians = (lon.to_radians(), lat.to_radians());
        let in_range = lon.abs() <= 180.0 && lat.abs() <= 90.0; // false for NaN
        let (east_m, north_m) =
            in_range.then(|| with_projection(&self.definition, |proj| proj.project(radians, false).ok()))???;
        (f64::is_finite(east_m) && f64::is_finite(north_m)).then_some((east_m, north_m))
    }

    /// Largest difference between plane and ellipsoid over two short lines from a place, as a share of the length.
    fn stretch_share(&self, (lon, lat): LonLat) -> Option<f64> {
        let step = if lat > 0.0 { -TRIAL_LINE_DEG } else { TRIAL_LINE_DEG }; // away from the pole and the range's end
        let lon_step = if lon > 0.0 { -TRIAL_LINE_DEG } else { TRIAL_LINE_DEG };
        let start = self.forward((lon, lat))?;
        let mut worst: f64 = 0.0;
        for (to_lon, to_lat) in [(lon + lon_step, lat), (lon, lat + step)] {
            let end = self.forward((to_lon, to_lat))?;
            let plane_m = (end.0 - start.0).hypot(end.1 - start.1);
            let true_m = Geodesic.distance(Point::new(lon, lat), Point::new(to_lon, to_lat));
            worst = worst.max((plane_m / true_m - 1.0).abs());
        }
        worst.is_finite().then_some(worst)
    }
}

/// Runs with this thread's projection of that definition; made once, as making it costs far more than using it.
///
/// NOTE: if the environment's `PROJ_DATA` holds another PROJ's database, PROJ prints one line about it to stderr here;
/// the `proj` crate has no way to stop that. PROJ strings need no database, so results are the same.
fn with_projection<R>(definition: &str, run: impl FnOnce(&Proj) -> R) -> Option<R> {
    thread_local! {
        static PROJECTION: RefCell<Option<(String, Proj)>> = const { RefCell::new(None) };
    }
    PROJECTION.with_borrow_mut(|slot| {
        if slot.as_ref().is_none_or(|(known, _)| known != definition) {
            *slot = Some((definition.to_string(), Proj::new(definition).ok()?));
        }
        slot.as_ref().map(|(_, proj)| run(proj))
    })
}

/// PROJ string and name of a UTM zone, 1 to 60.
fn utm(zone: u32, south: bool) -> (String, String) {
    let (flag, side) = if south { (" +south", "south") } else { ("", "north") };
    (format!("+proj=utm +zone={zone}{flag} +datum=WGS84 +units=m +no_defs"), format!("UTM zone {zone} {side}, WGS 84"))
}

/// The plain UTM zone of a place (6 degree strips; the exceptions around Norway change nothing on a work plane).
fn utm_at((lon, lat): LonLat) -> Result<(String, String), Vec<Diagnostic>> {
    if !(-180.0..=180.0).contains(&lon) || !(-80.0..=84.0).contains(&lat) {
        let message = format!("no UTM zone at {}: UTM reaches from 80 south to 84 north", show_lon_lat((lon, lat)));
        let help = "check the outline's CRS and the order of longitude and latitude";
        return Err(vec![Diagnostic::error(&COORDINATES_OUTSIDE_CRS, message).with_help(help)]);
    }
    let zone = (((lon + 180.0) / 6.0).floor() as u32 + 1).min(60);
    Ok(utm(zone, lat < 0.0))
}

fn stated(text: &str) -> Result<(String, String), Vec<Diagnostic>> {
    let text = text.trim();
    let unfit = |why: String| {
        let message = format!("`{text}` cannot be the work CRS: {why}");
        let help = "state `EPSG:326zz` (north) or `EPSG:327zz` (south) with the UTM zone, or a PROJ string in meters with `+datum=WGS84`";
        vec![Diagnostic::error(&WORK_CRS_UNFIT, message).with_help(help)]
    };
    if !text.starts_with('+') {
        let code = text
            .split_once(':')
            .filter(|(authority, _)| authority.eq_ignore_ascii_case("EPSG"))
            .map_or(text, |(_, code)| code);
        return match code.parse::<u32>() {
            Ok(code @ 32601..=32660) => Ok(utm(code - 32600, false)),
            Ok(code @ 32701..=32760) => Ok(utm(code - 32700, true)),
            _ => Err(unfit("only UTM zones on WGS 84 are known by code".to_string())),
        };
    }
    // GDAL parses the string without printing; PROJ would complain on stderr.
    if InputCrs::from_text(text)?.is_geographic() {
        return Err(unfit("it counts in degrees".to_string()));
    }
    let mut tokens: Vec<&str> = text.split_whitespace().filter(|token| *token != "+type=crs").collect();
    for token in &tokens {
        let (key, value) = token.trim_start_matches('+').split_once('=').unwrap_or((token, ""));
        match (key, value) {
            ("datum" | "ellps", "WGS84") | ("units", "m") => {}
            ("datum" | "ellps" | "towgs84" | "nadgrids" | "geoidgrids" | "a" | "b" | "R" | "rf" | "f" | "pm", _) => {
                return Err(unfit(format!("`{token}` is not WGS 84")));
            }
            ("units" | "to_meter" | "axis" | "vunits" | "init" | "step", _) => {
                return Err(unfit(format!("`{token}`: easting and northing must be in meters")));
            }
            _ => {}
        }
    }
    if !tokens.iter().any(|token| matches!(*token, "+datum=WGS84" | "+ellps=WGS84")) {
        return Err(unfit("it does not say `+datum=WGS84`".to_string()));
    }
    if !tokens.contains(&"+no_defs") {
        tokens.push("+no_defs");
    }
    let definition = tokens.join(" ");
    let zone = tokens.iter().find_map(|token| token.strip_prefix("+zone=")?.parse::<u32>().ok());
    match zone {
        Some(zone @ 1..=60) if tokens.contains(&"+proj=utm") => Ok(utm(zone, tokens.contains(&"+south"))),
        _ if with_projection(&definition, |_| ()).is_none() => {
            Err(vec![Diagnostic::error(&UNKNOWN_CRS, format!("PROJ cannot make a projection from `{text}`"))])
        }
        _ => Ok((definition.clone(), format!("`{definition}`"))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The reference table prints micrometers.
    const TOL_REFERENCE_M: f64 = 1e-6;

    fn around((lon, lat): LonLat, choice: &WorkCrsChoice) -> Result<WorkCrs, Vec<Diagnostic>> {
        WorkCrs::new(choice, (lon, lat), [lon - 0.005, lon + 0.005, lat - 0.005, lat + 0.005])
    }

    fn stated_at(place: LonLat, text: &str) -> Result<WorkCrs, Vec<Diagnostic>> {
        around(place, &WorkCrsChoice::Stated(text.to_string()))
    }

    #[test]
    fn utm_forward_gives_the_reference_eastings_and_northings() {
        // [project reference table] WGS 84 to EPSG:32615 and EPSG:32724.
        for (place, zone, east_m, north_m) in [
            ((-93.5, 41.0), "EPSG:32615", 457_949.159_038, 4_538_877.438_193),
            ((-41.2, -21.6), "EPSG:32724", 272_241.749_171, 7_609_836.136_223),
        ] {
            for crs in [around(place, &WorkCrsChoice::Derived), stated_at(place, zone)] {
                let found = crs.expect("a zone").forward(place).expect("inside");
                assert!(
                    (found.0 - east_m).abs() < TOL_REFERENCE_M && (found.1 - north_m).abs() < TOL_REFERENCE_M,
                    "{found:?}"
                );
            }
        }
    }

    #[test]
    fn local_meters_count_from_whole_kilometers_and_round_to_millimeters() {
        let crs = around((-93.5, 41.0), &WorkCrsChoice::Derived).expect("zone 15");
        assert_eq!(crs.name(), "UTM zone 15 north, WGS 84 (origin 457000 E, 4538000 N)");
        assert_eq!(crs.to_local((-93.5, 41.0)), Some(Site { east_m: 949.159, north_m: 877.438 }));
        let (lon, lat) = crs.to_lon_lat(Site { east_m: 949.159, north_m: 877.438 }).expect("near");
        assert!((lon + 93.5).abs() < 1e-8 && (lat - 41.0).abs() < 1e-8, "half a millimeter at most: {lon} {lat}");
        assert_eq!(crs.all_to_local(&[(-93.5, 41.0), (f64::NAN, 0.0)])[1], None);
        assert_eq!(crs.all_to_lon_lat(&[Site { east_m: 0.0, north_m: 0.0 }]).len(), 1);
    }

    #[test]
    fn south_and_zone_ends_are_named() {
        for (place, name) in [
            ((-41.2, -21.6), "UTM zone 24 south"),
            ((179.99, -17.0), "UTM zone 60 south"),
            ((180.0, 10.0), "UTM zone 60 north"),
            ((-180.0, 10.0), "UTM zone 1 north"),
            ((-96.0, 41.0), "UTM zone 15 north"),
            ((-96.000_001, 41.0), "UTM zone 14 north"),
        ] {
            let (_, title) = utm_at(place).expect("inside UTM");
            assert!(title.starts_with(name), "{place:?}: {title}");
        }
        assert!(utm_at((10.0, 84.5)).is_err() && utm_at((10.0, -80.5)).is_err() && utm_at((f64::NAN, 0.0)).is_err());
    }

    #[test]
    fn stated_proj_string_is_used_as_it_stands() {
        let crs = stated_at((-93.5, 41.0), "+proj=tmerc +lat_0=41 +lon_0=-93.5 +k=1 +datum=WGS84 +units=m +type=crs")
            .expect("fit");
        let (east_m, north_m) = crs.forward((-93.5, 41.0)).expect("its own center");
        assert!(east_m.abs() < TOL_REFERENCE_M && north_m.abs() < TOL_REFERENCE_M);
        assert!(crs.name().starts_with("`+proj=tmerc"), "{}", crs.name());
        assert_eq!(
            stated_at((-93.5, 41.0), "+proj=utm +zone=15 +ellps=WGS84").expect("fit").definition(),
            utm(15, false).0
        );
    }

    #[test]
    fn planes_that_are_not_meters_on_wgs84_are_refused() {
        for text in [
            "EPSG:26915",
            "EPSG:4326",
            "+proj=longlat +datum=WGS84",
            "+proj=utm +zone=15 +datum=NAD27",
            "+proj=utm +zone=15",
            "+proj=utm +zone=15 +datum=WGS84 +units=us-ft",
            "+proj=utm +zone=2 +datum=WGS84",
            "+proj=merc +datum=WGS84",
        ] {
            let faults = stated_at((-93.5, 41.0), text).expect_err(text);
            assert_eq!(faults[0].code.name, "work-crs-unfit", "{text}: {}", faults[0].message);
        }
        assert_eq!(
            stated_at((-93.5, 41.0), "+proj=nothing +datum=WGS84").expect_err("unknown")[0].code.name,
            "unknown-crs"
        );
    }
}
