//! The outline of a field: proven rings, its area, and which places lie inside.
//!
//! Rings come in as longitude and latitude with whatever roles a file states. The stated roles are not trusted: writers
//! flip rings, put holes first, or store a hole as a polygon of its own. Roles are rebuilt by nesting depth:
//!
//! ```text
//!   +-----------------+   depth 0: exterior of a part
//!   |  +-----------+  |   depth 1: hole
//!   |  |  +-----+  |  |   depth 2: exterior of a part again (an island in the hole)
//! ```
//!
//! What cannot be proven is refused with the reason and the place. Nothing is repaired but an open ring's missing
//! last point and repeated points.

mod nesting;
mod ring_faults;

use geo::{Centroid, Coord, GeodesicArea, LineString, MultiPolygon, Polygon, Validation};

pub use nesting::{OUTLINE_ROLES_CHANGED, StatedPolygon};
pub use ring_faults::{
    OUTLINE_COORDINATES, OUTLINE_CROSSES, OUTLINE_RING_CLOSED, OUTLINE_RING_REPEATED, OUTLINE_RING_TOO_SMALL,
};

use crate::cell_grid::{CellGrid, CellMask, Site};
use crate::crs::{LonLat, WorkCrs, WorkCrsChoice, show_lon_lat};
use crate::diagnostic::{Checked, Code, Diagnostic};
use crate::units::M2_PER_ACRE;

/// An outline without rings.
pub static OUTLINE_EMPTY: Code = Code {
    name: "outline-empty",
    checks: "that the field's outline has at least one ring",
    why: "without an outline there is no area to map or to rate",
    example: "a file with a polygon layer and no polygon in it",
    mend: "export the outline again and see that the file holds the polygon",
};

/// An outline that passed this program's own checks but not the general rules for polygons.
pub static OUTLINE_INVALID: Code = Code {
    name: "outline-invalid",
    checks: "that the rebuilt polygons follow the OGC rules for valid polygons",
    why: "area, overlap and clipping are only defined for valid polygons",
    example: "two parts of a field that overlap only at a point where many edges meet",
    mend: "repair the outline in a GIS (validity check, then dissolve) and run again",
};

/// Vertices up to which the rules for valid polygons are looked at a second time by `geo`, whose cost grows with the
/// square (20,000 vertices: 11 s). The own checks cover the same rules.
const MAX_SECOND_LOOK: usize = 4000;
/// Square meters in a hectare.
const M2_PER_HA: f64 = 10_000.0;

/// A field's outline, valid, with its work CRS.
///
/// # Guarantees
/// - at least one part; rings closed, no ring crosses or touches itself, rings meet at most in single points
/// - exteriors run counter-clockwise, holes clockwise, each hole directly after the exterior it lies in
/// - every stated vertex is kept as stated (repeated neighbors once); local vertices are the same, rounded to 1 mm
/// - area is geodesic, above 0
#[derive(Debug, Clone, PartialEq)]
pub struct FieldBoundary {
    lon_lat: MultiPolygon<f64>,
    local: MultiPolygon<f64>,
    work_crs: WorkCrs,
    area_m2: f64,
}

impl FieldBoundary {
    /// Proves and rebuilds an outline from rings of longitude and latitude.
    ///
    /// `stated` gives the polygons as the file has them, to say where the rebuilt roles differ. Messages count rings
    /// from 1 in the order of `rings` and carry no place: add the file's.
    ///
    /// # Errors
    /// All faults at once, by the codes of this module and of [`WorkCrs::new`]. Nesting is only looked at when the
    /// rings themselves are sound.
    pub fn from_rings(
        rings: &[Vec<LonLat>],
        stated: Option<&[StatedPolygon]>,
        choice: &WorkCrsChoice,
    ) -> Result<Checked<FieldBoundary>, Vec<Diagnostic>> {
        if rings.is_empty() {
            return Err(vec![Diagnostic::error(&OUTLINE_EMPTY, "the outline has no ring, at least one is expected")]);
        }
        let (sound, mut warnings) = ring_faults::check(rings)?;
        let parts = nesting::nest(&sound)?;
        if let Some(stated) = stated {
            warnings.extend(nesting::changed_roles(&parts, stated));
        }
        let oriented = |ring: usize, counter_clockwise: bool| {
            let mut points = sound.rings[ring].clone();
            if (ring_faults::doubled_plane_area(&points) > 0.0) != counter_clockwise {
                points.reverse();
            }
            LineString(points)
        };
        let polygons = parts.iter().map(|part| {
            Polygon::new(oriented(part.exterior, true), part.holes.iter().map(|&hole| oriented(hole, false)).collect())
        });
        let lon_lat = MultiPolygon::new(polygons.collect());
        let n_vertices: usize = sound.rings.iter().map(Vec::len).sum();
        let invalid = if n_vertices <= MAX_SECOND_LOOK { lon_lat.validation_errors() } else { Vec::new() };
        if !invalid.is_empty() {
            let fault = |error| Diagnostic::error(&OUTLINE_INVALID, format!("the outline is not valid: {error}"));
            return Err(invalid.into_iter().map(fault).collect());
        }
        let bounds = bounds_of(rings_of(&lon_lat));
        let centroid = lon_lat.centroid().map_or((bounds[0], bounds[2]), |point| (point.x(), point.y()));
        let work_crs = WorkCrs::new(choice, centroid, bounds)?;
        let local = to_local(&lon_lat, &work_crs)?;
        let area_m2 = lon_lat.iter().map(polygon_area_m2).sum();
        Ok(Checked { value: FieldBoundary { lon_lat, local, work_crs, area_m2 }, warnings })
    }

    /// The plane of the local meters.
    pub fn work_crs(&self) -> &WorkCrs {
        &self.work_crs
    }

    /// Geodesic area on the WGS 84 ellipsoid, m2, holes taken off.
    pub fn area_m2(&self) -> f64 {
        self.area_m2
    }

    /// Geodesic area, international acres.
    pub fn area_ac(&self) -> f64 {
        self.area_m2 / M2_PER_ACRE
    }

    /// Geodesic area, hectares.
    pub fn area_ha(&self) -> f64 {
        self.area_m2 / M2_PER_HA
    }

    /// Number of separate parts.
    pub fn n_parts(&self) -> usize {
        self.lon_lat.0.len()
    }

    /// Number of holes in all parts.
    pub fn n_holes(&self) -> usize {
        self.lon_lat.iter().map(|polygon| polygon.interiors().len()).sum()
    }

    /// The parts in local work meters.
    pub fn local(&self) -> &MultiPolygon<f64> {
        &self.local
    }

    /// The parts in degrees: x is longitude, y latitude.
    pub fn lon_lat(&self) -> &MultiPolygon<f64> {
        &self.lon_lat
    }

    /// Closed rings in local meters: each exterior (counter-clockwise), then its holes (clockwise).
    pub fn rings(&self) -> Vec<Vec<Site>> {
        rings_of(&self.local).map(|ring| ring.coords().map(|&at| site(at)).collect()).collect()
    }

    /// Closed rings of longitude and latitude, in the order and direction of [`FieldBoundary::rings`].
    pub fn rings_lon_lat(&self) -> Vec<Vec<LonLat>> {
        rings_of(&self.lon_lat).map(|ring| ring.coords().map(|at| (at.x, at.y)).collect()).collect()
    }

    /// Smallest rectangle around the outline, local meters: `[west, east, south, north]`.
    pub fn bounds_m(&self) -> [f64; 4] {
        bounds_of(rings_of(&self.local))
    }

    /// Smallest rectangle around the outline, degrees: `[west, east, south, north]`.
    pub fn bounds_lon_lat(&self) -> [f64; 4] {
        bounds_of(rings_of(&self.lon_lat))
    }

    /// Whether a place lies in the field. West and south edges count as inside, east and north edges as outside, so
    /// that neighbors sharing an edge never both hold a place.
    pub fn contains(&self, site: Site) -> bool {
        let crossings = self.edges().filter_map(|edge| crossing_east_m(edge, site.north_m));
        crossings.filter(|&east_m| east_m > site.east_m).count() % 2 == 1
    }

    /// How far outside the outline a place lies, meters on the work plane; 0 inside and on the outline.
    pub fn distance_outside_m(&self, place: Site) -> f64 {
        if self.contains(place) {
            return 0.0;
        }
        let distances = self.edges().map(|[from, to]| {
            let (along_east, along_north) = (to.east_m - from.east_m, to.north_m - from.north_m);
            let squared_length = along_east * along_east + along_north * along_north;
            let dot = (place.east_m - from.east_m) * along_east + (place.north_m - from.north_m) * along_north;
            // Two vertices within 1 mm of each other make an edge of no length.
            let share = if squared_length > 0.0 { (dot / squared_length).clamp(0.0, 1.0) } else { 0.0 };
            place.distance_m(Site {
                east_m: from.east_m + share * along_east,
                north_m: from.north_m + share * along_north,
            })
        });
        distances.fold(f64::INFINITY, f64::min)
    }

    /// Marks the cells whose center lies in the field, by the same rule as [`FieldBoundary::contains`].
    ///
    /// Cost: edges times the rows they span, plus the cells.
    pub fn mask(&self, grid: &CellGrid) -> CellMask {
        cells_inside(&self.local, grid)
    }

    /// Edges of all rings, local meters.
    fn edges(&self) -> impl Iterator<Item = [Site; 2]> + '_ {
        edges(&self.local)
    }
}

/// Marks the cells whose center lies inside polygons, local meters: inside an odd number of rings.
pub(crate) fn cells_inside(parts: &MultiPolygon<f64>, grid: &CellGrid) -> CellMask {
    let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); grid.n_rows];
    let row_at = |north_m: f64| ((north_m - grid.south_m) / grid.cell_m).clamp(0.0, grid.n_rows as f64) as usize;
    for edge in edges(parts) {
        let (low, high) = (edge[0].north_m.min(edge[1].north_m), edge[0].north_m.max(edge[1].north_m));
        // One row more on either side: the crossing itself decides.
        let (first, end) = (row_at(low).saturating_sub(1), (row_at(high) + 1).min(grid.n_rows));
        for (row, easts) in crossings.iter_mut().enumerate().take(end).skip(first) {
            easts.extend(crossing_east_m(edge, grid.center_north_m(row)));
        }
    }
    let mut inside = vec![false; grid.n_cells()];
    for (row, easts) in crossings.iter_mut().enumerate() {
        easts.sort_unstable_by(f64::total_cmp);
        for pair in easts.chunks_exact(2) {
            let (first, end) = (first_col_from(grid, pair[0]), first_col_from(grid, pair[1]));
            inside[grid.index(0, row)..][first..end].fill(true);
        }
    }
    CellMask::new(*grid, inside)
}

/// Edges of all rings.
fn edges(parts: &MultiPolygon<f64>) -> impl Iterator<Item = [Site; 2]> + '_ {
    rings_of(parts).flat_map(|ring| ring.lines().map(|line| [site(line.start), site(line.end)]))
}

/// Where an edge crosses the line of a northing; the lower end belongs to the edge, the upper does not.
fn crossing_east_m([from, to]: [Site; 2], north_m: f64) -> Option<f64> {
    // Always from the lower end, so that an edge walked either way gives the same number.
    let (low, high) = if from.north_m <= to.north_m { (from, to) } else { (to, from) };
    let crosses = low.north_m <= north_m && north_m < high.north_m;
    crosses.then(|| low.east_m + (north_m - low.north_m) / (high.north_m - low.north_m) * (high.east_m - low.east_m))
}

/// First column whose center is at `east_m` or east of it; `n_cols` if none.
fn first_col_from(grid: &CellGrid, east_m: f64) -> usize {
    let mut col = ((east_m - grid.west_m) / grid.cell_m - 0.5).ceil().clamp(0.0, grid.n_cols as f64) as usize;
    // Rounding of the quotient may miss by one; the centers themselves decide.
    while col > 0 && grid.center_east_m(col - 1) >= east_m {
        col -= 1;
    }
    while col < grid.n_cols && grid.center_east_m(col) < east_m {
        col += 1;
    }
    col
}

fn site(at: Coord<f64>) -> Site {
    Site { east_m: at.x, north_m: at.y }
}

fn rings_of(parts: &MultiPolygon<f64>) -> impl Iterator<Item = &LineString<f64>> + '_ {
    parts.iter().flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
}

/// `[west, east, south, north]`.
fn bounds_of<'a>(rings: impl Iterator<Item = &'a LineString<f64>>) -> [f64; 4] {
    let start = [f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY];
    rings.flat_map(|ring| ring.coords()).fold(start, |[west, east, south, north], at| {
        [west.min(at.x), east.max(at.x), south.min(at.y), north.max(at.y)]
    })
}

/// Geodesic area of one ring, whichever way it runs.
fn ring_area_m2(ring: &LineString<f64>) -> f64 {
    Polygon::new(ring.clone(), Vec::new()).geodesic_area_signed().abs()
}

fn polygon_area_m2(polygon: &Polygon<f64>) -> f64 {
    ring_area_m2(polygon.exterior()) - polygon.interiors().iter().map(ring_area_m2).sum::<f64>()
}

/// Every vertex on the work plane; the fault of each that has no place there.
pub(crate) fn to_local(lon_lat: &MultiPolygon<f64>, work_crs: &WorkCrs) -> Result<MultiPolygon<f64>, Vec<Diagnostic>> {
    let mut faults = Vec::new();
    let mut ring_to_local = |ring: &LineString<f64>| {
        let mut points = Vec::with_capacity(ring.0.len());
        for at in ring.coords() {
            match work_crs.to_local((at.x, at.y)) {
                Some(site) => points.push(Coord { x: site.east_m, y: site.north_m }),
                None => {
                    let message =
                        format!("{} has no place on the work plane {}", show_lon_lat((at.x, at.y)), work_crs.name());
                    faults.push(Diagnostic::error(&OUTLINE_COORDINATES, message));
                }
            }
        }
        LineString(points)
    };
    let polygons = lon_lat.iter().map(|polygon| {
        Polygon::new(ring_to_local(polygon.exterior()), polygon.interiors().iter().map(&mut ring_to_local).collect())
    });
    let local = MultiPolygon::new(polygons.collect());
    if faults.is_empty() { Ok(local) } else { Err(faults) }
}

#[cfg(test)]
mod tests;
