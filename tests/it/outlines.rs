//! A second judge of zone outlines: GEOS, called through GDAL, finds every polygon of random fields valid.

use gdal::vector::{Geometry, OGRwkbGeometryType};
use holdground::coverage::{Lattice, LatticePolygon};

use crate::layers::coverage;
use crate::scenario::Scenario;

/// A polygon in degrees, as files carry it.
fn in_degrees(polygon: &LatticePolygon, lattice: &Lattice) -> Geometry {
    let mut geometry = Geometry::empty(OGRwkbGeometryType::wkbPolygon).unwrap();
    for ring in polygon.rings() {
        let mut line = Geometry::empty(OGRwkbGeometryType::wkbLinearRing).unwrap();
        ring.iter().for_each(|vertex| line.add_point_2d(lattice.lon_lat(*vertex)));
        geometry.add_geometry(line).unwrap();
    }
    geometry
}

#[test]
fn geos_finds_every_polygon_of_every_merge_valid() {
    let (mut n_fields, mut n_polygons, mut n_holes) = (0, 0, 0);
    for seed in 2000..2300 {
        let Some(coverage) = coverage(seed) else { continue };
        n_fields += 1;
        for setbacks in [vec![], vec![0], vec![1, 2], vec![0, 1, 2, 3]] {
            for zone in coverage.merge(&setbacks).unwrap() {
                let mut all = Geometry::empty(OGRwkbGeometryType::wkbMultiPolygon).unwrap();
                for polygon in &zone.polygons {
                    let geometry = in_degrees(polygon, &coverage.lattice);
                    assert!(geometry.is_valid(), "seed {seed}, zone {}: {polygon:?}", zone.zone);
                    n_polygons += 1;
                    n_holes += polygon.interiors.len();
                    all.add_geometry(geometry).unwrap();
                }
                // Patches of a zone neither overlap nor share an edge.
                assert!(all.is_valid(), "seed {seed}, zone {} with {setbacks:?}", zone.zone);
            }
        }
    }
    assert!(n_fields > 280 && n_polygons > 10_000 && n_holes > 100, "{n_fields}, {n_polygons}, {n_holes}");
}

#[test]
fn geos_finds_whole_fields_valid() {
    for seed in 300..304 {
        let coverage = Scenario::whole_field(seed).coverage().unwrap();
        for zone in coverage.merge(&[0, 1]).unwrap() {
            for polygon in &zone.polygons {
                assert!(in_degrees(polygon, &coverage.lattice).is_valid(), "seed {seed}, zone {}", zone.zone);
            }
        }
    }
}

#[test]
fn geos_tells_a_bow_tie() {
    // The judge can say no.
    let crossed = Geometry::from_wkt("POLYGON ((0 0, 1 1, 1 0, 0 1, 0 0))").unwrap();
    assert!(!crossed.is_valid());
}
