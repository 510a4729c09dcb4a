//! A plane in which areas are true: the equal-area cylinder of WGS 84, touching at the field's latitude.
//!
//! Source: Snyder 1987, Map Projections, a Working Manual, USGS Professional Paper 1395, equations 3-12, 10-13 to 10-15.
//! Areas of straight-sided polygons are exact in it; lengths are true at the middle latitude and good to about
//! `distance / earth radius * tan(latitude)` off it: 0.0002 at 1 km and 45 degrees.

use geo::{Coord, MapCoords, MultiPolygon, Polygon};

use crate::crs::LonLat;

/// Half the long axis of WGS 84, meters.
const A_M: f64 = 6_378_137.0;
/// Flattening of WGS 84.
const FLATTENING: f64 = 1.0 / 298.257_223_563;

/// Longitude and latitude to meters near one place, and back.
#[derive(Debug, Clone, Copy)]
pub struct Plane {
    origin: LonLat,
    /// Scale along the parallel of the origin.
    scale: f64,
    origin_q: f64,
}

impl Plane {
    /// The plane that is true at a place.
    pub fn at(origin: LonLat) -> Self {
        let sine = origin.1.to_radians().sin();
        let scale = origin.1.to_radians().cos() / (1.0 - ecc2() * sine * sine).sqrt();
        // At the poles every map of this kind ends; nothing is spread there.
        Plane { origin, scale: scale.max(1e-6), origin_q: q(origin.1) }
    }

    /// Meters east and north of the origin.
    pub fn meters(&self, (lon, lat): LonLat) -> (f64, f64) {
        let east = A_M * self.scale * (lon - self.origin.0).to_radians();
        (east, A_M * (q(lat) - self.origin_q) / (2.0 * self.scale))
    }

    /// Longitude and latitude of a place in meters.
    pub fn lon_lat(&self, (east, north): (f64, f64)) -> LonLat {
        let lon = self.origin.0 + (east / (A_M * self.scale)).to_degrees();
        let wanted = self.origin_q + 2.0 * self.scale * north / A_M;
        let mut lat = self.origin.1;
        // Newton's way; dq/dlat is smooth, fields are small: three steps reach the last digits.
        for _ in 0..6 {
            let step = 1e-6;
            let slope = (q(lat + step) - q(lat - step)) / (2.0 * step);
            lat -= (q(lat) - wanted) / slope;
        }
        (lon, lat)
    }

    /// Polygons in meters.
    pub fn polygons(&self, polygons: &MultiPolygon) -> MultiPolygon {
        polygons.map_coords(|Coord { x, y }| self.meters((x, y)).into())
    }

    /// A polygon in meters.
    pub fn polygon(&self, polygon: &Polygon) -> Polygon {
        polygon.map_coords(|Coord { x, y }| self.meters((x, y)).into())
    }
}

/// The first eccentricity, squared.
fn ecc2() -> f64 {
    FLATTENING * (2.0 - FLATTENING)
}

/// Snyder's q of a latitude in degrees.
fn q(lat: f64) -> f64 {
    let (ecc2, sine) = (ecc2(), lat.to_radians().sin());
    let ecc = ecc2.sqrt();
    (1.0 - ecc2) * (sine / (1.0 - ecc2 * sine * sine) + (ecc * sine).atanh() / ecc)
}

#[cfg(test)]
mod tests {
    use geo::{Area as _, GeodesicArea as _, polygon};

    use super::*;

    #[test]
    fn areas_are_those_of_karney_s_geodesics() {
        // Outside check: geo's geodesic area is Karney's algorithm (2013, J. Geodesy 87:43-55).
        for (lon, lat) in [(-93.5, 41.0), (147.2, -33.4), (25.0, 59.5), (10.0, 0.0)] {
            let field = polygon![
                (x: lon, y: lat), (x: lon + 0.011, y: lat + 0.001), (x: lon + 0.009, y: lat + 0.008),
                (x: lon - 0.002, y: lat + 0.006),
            ];
            let ours = Plane::at((lon, lat)).polygon(&field).signed_area();
            let theirs = field.geodesic_area_signed();
            assert!((ours / theirs - 1.0).abs() < 1e-5, "{ours} {theirs} at {lat}");
        }
    }

    #[test]
    fn places_come_back_and_lengths_are_true() {
        let plane = Plane::at((-93.5, 41.0));
        let (lon, lat) = plane.lon_lat(plane.meters((-93.493, 41.006)));
        assert!((lon + 93.493).abs() < 1e-12 && (lat - 41.006).abs() < 1e-11, "{lon} {lat}");
        // From memory: a degree of latitude at 41 N is 111.05 km, of longitude 84.14 km on WGS 84.
        let (east, north) = plane.meters((-93.49, 41.01));
        assert!((east - 841.4).abs() < 0.2 && (north - 1110.5).abs() < 0.4, "{east} {north}");
    }
}
