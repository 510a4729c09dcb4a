//! The lattice every vertex lies on: whole steps of 1e-7 degree from the field's south-west corner.
//!
//! A vertex is rounded to the lattice once, when it is made, and never again. So every file carries the same numbers:
//! `lon = (lon0_e7 + x) / 10^7`, `lat = (lat0_e7 + y) / 10^7`, with integers in the brackets.

use super::error::CoverageError;

/// Steps in a degree: a step is 11 mm or less on the ground, a tenth of what guidance receivers keep.
const STEPS_PER_DEG: i64 = 10_000_000;
/// Steps around the origin within which places are accepted (6.7 degrees): products of three times such differences,
/// which the exact tests need, stay below 2^63.
const MAX_REACH: i64 = 1 << 26;

/// An integer place: a vertex on the lattice, or a corner of the raster's cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Vertex {
    /// Steps east.
    pub x: i32,
    /// Steps north.
    pub y: i32,
}

/// Where the lattice lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lattice {
    /// Longitude of step 0, 1e-7 degree.
    pub lon0_e7: i64,
    /// Latitude of step 0, 1e-7 degree.
    pub lat0_e7: i64,
}

impl Lattice {
    /// The lattice whose step 0 is the south-west corner of the bounds of `places` (degrees), after rounding.
    ///
    /// # Errors
    /// [`CoverageError::Place`] for a place that is no number or beyond 360 degrees; [`CoverageError::NoArea`] without
    /// places.
    pub fn at_corner_of(places: impl IntoIterator<Item = (f64, f64)>) -> Result<Self, CoverageError> {
        let mut corner: Option<(i64, i64)> = None;
        for (lon, lat) in places {
            let (x, y) = steps(lon, lat)?;
            corner = Some(corner.map_or((x, y), |low| (low.0.min(x), low.1.min(y))));
        }
        let (lon0_e7, lat0_e7) = corner.ok_or(CoverageError::NoArea { rings: 0 })?;
        Ok(Lattice { lon0_e7, lat0_e7 })
    }

    /// The lattice vertex nearest to a place in degrees.
    ///
    /// # Errors
    /// [`CoverageError::Place`] if it is no number or farther than 2^26 steps from step 0.
    pub fn nearest(&self, (lon, lat): (f64, f64)) -> Result<Vertex, CoverageError> {
        let (x, y) = steps(lon, lat)?;
        let near = |step: i64| (-MAX_REACH..=MAX_REACH).contains(&step).then_some(step as i32);
        match (near(x - self.lon0_e7), near(y - self.lat0_e7)) {
            (Some(x), Some(y)) => Ok(Vertex { x, y }),
            _ => Err(CoverageError::Place { lon, lat, limit_deg: MAX_REACH as f64 / STEPS_PER_DEG as f64 }),
        }
    }

    /// Longitude and latitude, degrees: the floating-point numbers nearest to the seven decimals of
    /// [`Lattice::lon_lat_text`].
    pub fn lon_lat(&self, vertex: Vertex) -> (f64, f64) {
        let (lon, lat) = self.lon_lat_e7(vertex);
        // A division of two exact numbers is rounded once; a product with 1e-7, which is no binary number, twice.
        (lon as f64 / STEPS_PER_DEG as f64, lat as f64 / STEPS_PER_DEG as f64)
    }

    /// Longitude and latitude in 1e-7 degree, exact.
    pub fn lon_lat_e7(&self, vertex: Vertex) -> (i64, i64) {
        (self.lon0_e7 + i64::from(vertex.x), self.lat0_e7 + i64::from(vertex.y))
    }

    /// Longitude and latitude with seven decimals, exact.
    pub fn lon_lat_text(&self, vertex: Vertex) -> (String, String) {
        let (lon, lat) = self.lon_lat_e7(vertex);
        (degrees_text(lon), degrees_text(lat))
    }
}

fn steps(lon: f64, lat: f64) -> Result<(i64, i64), CoverageError> {
    if !(lon.abs() <= 360.0 && lat.abs() <= 360.0) {
        return Err(CoverageError::Place { lon, lat, limit_deg: 360.0 });
    }
    let step = |degrees: f64| (degrees * STEPS_PER_DEG as f64).round() as i64;
    Ok((step(lon), step(lat)))
}

fn degrees_text(e7: i64) -> String {
    let sign = if e7 < 0 { "-" } else { "" };
    let size = e7.unsigned_abs();
    let per_degree = STEPS_PER_DEG.unsigned_abs();
    format!("{sign}{}.{:07}", size / per_degree, size % per_degree)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn step_0_is_the_south_west_corner() {
        let lattice = Lattice::at_corner_of([(-93.6, 42.01), (-93.7, 42.02)]).unwrap();
        assert_eq!(lattice, Lattice { lon0_e7: -937_000_000, lat0_e7: 420_100_000 });
        assert_eq!(lattice.nearest((-93.6, 42.02)), Ok(Vertex { x: 1_000_000, y: 100_000 }));
    }

    #[test]
    fn text_is_exact_on_both_sides_of_zero() {
        let lattice = Lattice { lon0_e7: -3, lat0_e7: 419_999_999 };
        let text = |x, y| lattice.lon_lat_text(Vertex { x, y });
        assert_eq!(text(0, 0), ("-0.0000003".to_string(), "41.9999999".to_string()));
        assert_eq!(text(3, 1), ("0.0000000".to_string(), "42.0000000".to_string()));
        assert_eq!(text(-10_000_000, 2), ("-1.0000003".to_string(), "42.0000001".to_string()));
    }

    #[test]
    fn the_numbers_are_those_of_the_text_and_go_back_to_the_same_vertex() {
        // The reading of decimals by the standard library is the outside judge.
        let lattice = Lattice { lon0_e7: -937_123_457, lat0_e7: 420_000_001 };
        for step in 0..20_000 {
            let vertex = Vertex { x: step * 7, y: step * 13 };
            let (lon, lat) = lattice.lon_lat_text(vertex);
            assert_eq!((lon.parse(), lat.parse()), (Ok(lattice.lon_lat(vertex).0), Ok(lattice.lon_lat(vertex).1)));
            assert_eq!(lattice.nearest(lattice.lon_lat(vertex)), Ok(vertex));
        }
    }

    #[test]
    fn what_is_no_place_is_refused() {
        let lattice = Lattice { lon0_e7: 0, lat0_e7: 0 };
        for place in [(f64::NAN, 0.0), (0.0, f64::INFINITY), (1e300, 0.0), (7.0, 0.0), (0.0, -6.8)] {
            assert!(matches!(lattice.nearest(place), Err(CoverageError::Place { .. })), "{place:?}");
        }
    }
}
