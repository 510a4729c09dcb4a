//! What GEOS says of each polygon, through GDAL.

use gdal::vector::Geometry;
use geo::{LineString, MultiPolygon, Polygon};
use holdground::audit::Prescription;
use holdground::crs::{keep_gdal_quiet, take_gdal_messages};

/// Fills in what is wrong with the shapes of a prescription.
pub(super) fn look(prescription: &mut Prescription) {
    keep_gdal_quiet();
    for shape in prescription.shape_sets.iter_mut().flat_map(|set| &mut set.shapes) {
        shape.invalid = invalid(&shape.polygons);
    }
}

fn invalid(polygons: &MultiPolygon) -> Option<String> {
    if polygons.0.is_empty() {
        return None;
    }
    take_gdal_messages();
    let is_valid = Geometry::from_wkb(&well_known_bytes(polygons)).map(|geometry| geometry.is_valid());
    let said = take_gdal_messages().into_iter().next().map(|message| message.text);
    match is_valid {
        Ok(true) => None,
        _ => Some(format!("GEOS finds: {}", said.as_deref().unwrap_or("not a valid polygon"))),
    }
}

/// Well-known binary (OGC 06-103r4, 8.2), little-endian.
fn well_known_bytes(polygons: &MultiPolygon) -> Vec<u8> {
    let mut bytes = Vec::new();
    if let [only] = polygons.0.as_slice() {
        push_polygon(only, &mut bytes);
        return bytes;
    }
    bytes.push(1);
    push_count(6, &mut bytes);
    push_count(polygons.0.len(), &mut bytes);
    polygons.iter().for_each(|polygon| push_polygon(polygon, &mut bytes));
    bytes
}

fn push_polygon(polygon: &Polygon, bytes: &mut Vec<u8>) {
    bytes.push(1);
    push_count(3, bytes);
    push_count(1 + polygon.interiors().len(), bytes);
    let mut push_ring = |ring: &LineString| {
        push_count(ring.0.len(), bytes);
        bytes.extend(ring.0.iter().flat_map(|at| [at.x.to_le_bytes(), at.y.to_le_bytes()]).flatten());
    };
    push_ring(polygon.exterior());
    polygon.interiors().iter().for_each(push_ring);
}

fn push_count(n: usize, bytes: &mut Vec<u8>) {
    bytes.extend(u32::try_from(n).unwrap_or(u32::MAX).to_le_bytes());
}

#[cfg(test)]
mod tests {
    use geo::polygon;

    use super::*;

    #[test]
    fn a_figure_of_eight_and_a_hole_outside_are_invalid_and_a_hole_inside_is_not() {
        keep_gdal_quiet();
        let eight = polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 1.0), (x: 1.0, y: 0.0), (x: 0.0, y: 1.0)];
        let eight = MultiPolygon::new(vec![eight]);
        assert!(invalid(&eight).is_some_and(|why| why.contains("ntersection")), "{:?}", invalid(&eight));
        let with_hole = |at: f64| {
            MultiPolygon::new(vec![polygon![
                exterior: [(x: 0.0, y: 0.0), (x: 9.0, y: 0.0), (x: 9.0, y: 9.0), (x: 0.0, y: 9.0)],
                interiors: [[(x: at, y: at), (x: at, y: at + 1.0), (x: at + 1.0, y: at + 1.0)]],
            ]])
        };
        assert_eq!(invalid(&with_hole(4.0)), None);
        assert!(invalid(&with_hole(20.0)).is_some());
    }
}
