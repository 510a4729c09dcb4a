//! The polygon parts of whatever geometries a file holds, and a count of the rest.

use gdal::vector::{Geometry, OGRwkbGeometryType, geometry_type_flatten, geometry_type_has_z};
use holdground::boundary::StatedPolygon;

/// An arc is taken as straight pieces of this many degrees of its circle: 15 mm off at a radius of 400 m.
const ARC_STEP_DEG: f64 = 1.0;

/// Rings and polygons taken, and what was left.
#[derive(Debug, Default)]
pub(super) struct PolygonParts {
    /// Rings as drawn, in the CRS of the layer.
    pub(super) rings: Vec<Vec<(f64, f64)>>,
    /// Indices into `rings`.
    pub(super) polygons: Vec<StatedPolygon>,
    /// Lines left out.
    pub(super) n_lines: usize,
    /// The pieces of each line, in the CRS of the layer.
    pub(super) lines: Vec<Vec<Vec<(f64, f64)>>>,
    /// Points left out, one for each feature.
    pub(super) n_points: usize,
    /// Their places, in the CRS of the layer.
    pub(super) points: Vec<(f64, f64)>,
    /// Geometries that are no polygon, line or point.
    pub(super) n_of_other_kinds: usize,
    /// Polygons with heights.
    pub(super) n_with_height: usize,
    /// Polygons with arcs.
    pub(super) n_with_arcs: usize,
    n_mixed: usize,
}

impl PolygonParts {
    /// Takes the polygons of a geometry, of whatever depth; says whether there was one.
    pub(super) fn take(&mut self, geometry: &Geometry) -> bool {
        let kind = geometry_type_flatten(geometry.geometry_type());
        match kind {
            _ if geometry.is_empty() => false,
            OGRwkbGeometryType::wkbPolygon | OGRwkbGeometryType::wkbCurvePolygon => {
                self.n_with_height += usize::from(geometry_type_has_z(geometry.geometry_type()));
                self.n_with_arcs += usize::from(kind == OGRwkbGeometryType::wkbCurvePolygon);
                let first = self.rings.len();
                self.rings
                    .extend((0..geometry.geometry_count()).map(|index| ring_points(&geometry.get_geometry(index))));
                self.polygons
                    .push(StatedPolygon { exterior: first, interiors: (first + 1..self.rings.len()).collect() });
                true
            }
            OGRwkbGeometryType::wkbMultiPolygon
            | OGRwkbGeometryType::wkbMultiSurface
            | OGRwkbGeometryType::wkbGeometryCollection => {
                let n_left_before = self.n_left();
                let n_taken =
                    (0..geometry.geometry_count()).filter(|&index| self.take(&geometry.get_geometry(index))).count();
                self.n_mixed += usize::from(n_taken > 0 && self.n_left() > n_left_before);
                n_taken > 0
            }
            OGRwkbGeometryType::wkbPoint | OGRwkbGeometryType::wkbMultiPoint => {
                self.n_points += 1;
                if kind == OGRwkbGeometryType::wkbPoint {
                    self.points.extend(ring_points(geometry));
                } else {
                    (0..geometry.geometry_count())
                        .for_each(|index| self.points.extend(ring_points(&geometry.get_geometry(index))));
                }
                false
            }
            OGRwkbGeometryType::wkbLineString
            | OGRwkbGeometryType::wkbMultiLineString
            | OGRwkbGeometryType::wkbCircularString
            | OGRwkbGeometryType::wkbCompoundCurve
            | OGRwkbGeometryType::wkbMultiCurve => {
                self.n_lines += 1;
                let is_one = matches!(kind, OGRwkbGeometryType::wkbLineString | OGRwkbGeometryType::wkbCircularString)
                    || kind == OGRwkbGeometryType::wkbCompoundCurve;
                self.lines.push(if is_one {
                    vec![ring_points(geometry)]
                } else {
                    (0..geometry.geometry_count()).map(|index| ring_points(&geometry.get_geometry(index))).collect()
                });
                false
            }
            _ => {
                self.n_of_other_kinds += 1;
                false
            }
        }
    }

    /// Geometries that are no polygons.
    pub(super) fn n_left(&self) -> usize {
        self.n_lines + self.n_points + self.n_of_other_kinds
    }

    /// Polygons, lines, points and other things seen, to know whether a geometry held any.
    pub(super) fn n_seen(&self) -> usize {
        self.polygons.len() + self.lines.len() + self.points.len() + self.n_of_other_kinds
    }

    /// Adds another layer's counts, not its rings.
    pub(super) fn count(&mut self, other: &PolygonParts) {
        self.n_lines += other.n_lines;
        self.n_points += other.n_points;
        self.n_of_other_kinds += other.n_of_other_kinds;
        self.n_with_height += other.n_with_height;
        self.n_with_arcs += other.n_with_arcs;
        self.n_mixed += other.n_mixed;
    }

    /// What is there beside polygons: `2 lines`, `1 point`.
    pub(super) fn others(&self) -> Vec<String> {
        let counts =
            [(self.n_lines, "line"), (self.n_points, "point"), (self.n_of_other_kinds, "geometry of another kind")];
        let named = counts.into_iter().filter(|(n, _)| *n > 0);
        named
            .map(
                |(n, word)| {
                    if n == 1 || word.ends_with("kind") { format!("{n} {word}") } else { format!("{n} {word}s") }
                },
            )
            .collect()
    }

    /// What was changed or left out of `what`, one sentence each.
    pub(super) fn remarks(&self, what: &str) -> Vec<String> {
        let mut remarks = Vec::new();
        if self.n_left() > 0 {
            remarks.push(format!("left out of the {what}: {}", self.others().join(", ")));
        }
        if self.n_mixed > 0 {
            remarks.push(format!("only the polygons of {} mixed collections are taken", self.n_mixed));
        }
        if self.n_with_height > 0 {
            remarks.push(format!("heights of {} polygons are left out", self.n_with_height));
        }
        if self.n_with_arcs > 0 {
            remarks.push(format!(
                "arcs of {} polygons are taken as straight pieces of {ARC_STEP_DEG} degree",
                self.n_with_arcs
            ));
        }
        remarks
    }
}

/// Points of a ring, arcs made straight.
fn ring_points(ring: &Geometry) -> Vec<(f64, f64)> {
    let kind = geometry_type_flatten(ring.geometry_type());
    if kind == OGRwkbGeometryType::wkbCompoundCurve {
        // Joints of the pieces come twice; repeated points are dropped by the boundary.
        return (0..ring.geometry_count()).flat_map(|index| ring_points(&ring.get_geometry(index))).collect();
    }
    let mut points = Vec::new();
    ring.get_points(&mut points);
    let points: Vec<(f64, f64)> = points.into_iter().map(|(x, y, _)| (x, y)).collect();
    if kind == OGRwkbGeometryType::wkbCircularString { straightened(&points) } else { points }
}

/// Straight pieces for arcs given by start, a point on the way, end, a point on the way, end, ...
fn straightened(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut pieces: Vec<(f64, f64)> = points.first().copied().into_iter().collect();
    for arc in points.windows(3).step_by(2) {
        let [from, through, to] = [arc[0], arc[1], arc[2]];
        let (bx, by) = (through.0 - from.0, through.1 - from.1);
        let (cx, cy) = (to.0 - from.0, to.1 - from.1);
        let cross = bx * cy - by * cx;
        let (center, sweep) = if from == to {
            ((from.0 + bx / 2.0, from.1 + by / 2.0), std::f64::consts::TAU)
        } else if cross == 0.0 {
            pieces.extend([through, to]);
            continue;
        } else {
            // Centre of the circle through three points, from the first of them.
            let (b2, c2) = (bx * bx + by * by, cx * cx + cy * cy);
            let center = (from.0 + (cy * b2 - by * c2) / (2.0 * cross), from.1 + (bx * c2 - cx * b2) / (2.0 * cross));
            let angle = |at: (f64, f64)| (at.1 - center.1).atan2(at.0 - center.0);
            let turn = (angle(to) - angle(from)).rem_euclid(std::f64::consts::TAU);
            (center, if cross > 0.0 { turn } else { turn - std::f64::consts::TAU })
        };
        let start = (from.1 - center.1).atan2(from.0 - center.0);
        let radius = (from.0 - center.0).hypot(from.1 - center.1);
        let n_pieces = (sweep.abs().to_degrees() / ARC_STEP_DEG).ceil().max(1.0) as usize;
        for piece in 1..n_pieces {
            let (sin, cos) = (start + sweep * piece as f64 / n_pieces as f64).sin_cos();
            pieces.push((center.0 + radius * cos, center.1 + radius * sin));
        }
        pieces.push(to);
    }
    pieces
}
