//! [`Coverage`]: the faces of a field, made in one go, merged for each product.

use geo::MultiPolygon;

use super::arcs;
use super::error::CoverageError;
use super::ground::{SetbackArea, setbacks_over, zones_of};
use super::label_growth::{GrownLabels, MAX_BEYOND_CELLS};
use super::lattice::{Lattice, Vertex};
use super::parting::part;
use super::rings::{BorderEdge, LatticePolygon, polygons};
use super::segments::doubled_area;
use super::simplify::simplify;
use crate::cell_grid::{CellGrid, Site};

/// What a coverage is made of.
#[derive(Debug, Clone, Copy)]
pub struct CoverageInput<'a> {
    /// Where the cells lie.
    pub grid: &'a CellGrid,
    /// `labels[row * n_cols + col]`, row 0 in the south; 0 is no zone, zones count from 1.
    pub labels: &'a [u16],
    /// The field, longitude and latitude; inside is what an odd number of rings surrounds.
    pub boundary: &'a MultiPolygon<f64>,
    /// Ground kept free by some products, longitude and latitude. May overlap each other and the boundary.
    pub setbacks: &'a [MultiPolygon<f64>],
    /// Farthest a zone border may be moved to save vertices, meters.
    pub tolerance_m: f64,
}

/// The way between local meters and longitude and latitude (degrees); `None` where there is no answer.
#[derive(Clone, Copy)]
pub struct Plane<'a> {
    /// Local meters to degrees.
    pub to_lon_lat: &'a dyn Fn(Site) -> Option<(f64, f64)>,
    /// Degrees to local meters; a millimeter is near enough.
    pub to_local: &'a dyn Fn((f64, f64)) -> Option<Site>,
}

/// One piece of the field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Face {
    /// Its zone, from 1.
    pub zone: u16,
    /// Indices of the setbacks over it, ascending.
    pub setbacks: Vec<usize>,
    /// Its outline. Holes may touch the exterior and each other in single vertices.
    pub polygon: LatticePolygon,
}

/// A field parted into faces, without gap and without overlap.
///
/// # Guarantees
/// - all vertices are whole lattice steps; polygons are valid (OGC Simple Features), exteriors counter-clockwise
/// - an edge between two faces is in both, in opposite directions; the other edges are the field's boundary
/// - the doubled areas of the faces add up to that of the boundary with its nodes, exactly
/// - every boundary vertex is kept, rounded to the lattice, unless there the rounded boundary comes within a step or so
///   of itself; nodes lie within half a step of the boundary's edges, or 1.5 where several lines meet
/// - beside rounding of the boundary itself, the area of a field of 60 ha stays within 1e-6
/// - a cell center farther than the tolerance and half a cell from unlike labels lies in its zone (seen in all random
///   cases; not proven for a face most of whose centers are of a zone it only borders on)
/// - the same input gives the same coverage; the order of setbacks changes their indices only
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Coverage {
    /// Where the vertices lie.
    pub lattice: Lattice,
    /// By first vertex of the exterior.
    pub faces: Vec<Face>,
}

/// Whether a product may go there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ground {
    /// No chosen setback lies over it.
    Open,
    /// A chosen setback lies over it.
    SetBack,
}

/// All ground of one zone and kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ZonePolygons {
    /// The zone, from 1.
    pub zone: u16,
    /// Whether it is set back.
    pub ground: Ground,
    /// One polygon for each patch, by first vertex.
    pub polygons: Vec<LatticePolygon>,
}

impl Coverage {
    /// Parts a field into faces by zones and setbacks. See the module page for the steps.
    ///
    /// # Errors
    /// See [`CoverageError`]; each carries the numbers.
    ///
    /// # Limits and cost
    /// Lines straight in meters become lines straight in degrees (2 cm apart in the middle of 1 km). Time grows with
    /// the cells, and with the vertices about as fast as sorting them.
    pub fn new(input: &CoverageInput, plane: Plane) -> Result<Self, CoverageError> {
        let raster = GrownLabels::of(input.grid, input.labels)?;
        let tolerance_m = input.tolerance_m;
        if !(tolerance_m >= 0.0 && tolerance_m.is_finite()) {
            return Err(CoverageError::Tolerance { tolerance_m });
        }
        let places = || input.boundary.iter().flat_map(rings_of).flatten();
        let lattice = Lattice::at_corner_of(places())?;
        check_reach(input.grid, places(), plane)?;

        let boundary = on_lattice(&lattice, input.boundary.iter().flat_map(rings_of))?;
        let arcs = simplify(&arcs::trace(&raster), tolerance_m / input.grid.cell_m);
        let borders = arcs.iter().map(|arc| border(arc, &raster, &lattice, plane)).collect::<Result<Vec<_>, _>>()?;
        let setback = |area: &MultiPolygon| area.iter().map(|part| on_lattice(&lattice, rings_of(part))).collect();
        let setbacks = input.setbacks.iter().map(setback).collect::<Result<Vec<SetbackArea>, _>>()?;
        let outlines: Vec<Vec<Vertex>> = setbacks.iter().flatten().flatten().cloned().collect();
        let (net, faces) = part(&boundary, &borders, &outlines)?;

        let in_cells = |vertex: Vertex| {
            let (lon, lat) = lattice.lon_lat(vertex);
            let site = (plane.to_local)((lon, lat)).ok_or(CoverageError::Projection { x: lon, y: lat })?;
            Ok(raster.in_cells(site))
        };
        let zones = zones_of(&faces, &raster, in_cells)?;
        let over = setbacks_over(&faces, &setbacks);
        let edge = |(ends, &group): (&[Vertex; 2], &usize)| BorderEdge { group, from: ends[0], to: ends[1] };
        let outlines = polygons(net.iter().zip(&faces.left_of).map(edge).collect())?;
        let face = |(group, polygon): (usize, LatticePolygon)| Face {
            zone: zones[group],
            setbacks: over[group].clone(),
            polygon,
        };
        let mut coverage = Coverage { lattice, faces: outlines.into_iter().map(face).collect() };
        coverage.faces.sort_unstable_by(|a, b| a.polygon.cmp(&b.polygon));
        coverage.check_area(input.boundary)?;
        Ok(coverage)
    }

    /// Polygons of each zone for a product that keeps off some setbacks: faces alike in zone and kind of ground are
    /// joined across their common edges. By zone, open ground first.
    ///
    /// # Guarantees
    /// Those of the coverage. Vertices are kept, also where the edge they parted is gone, so neighbors still match.
    ///
    /// # Errors
    /// [`CoverageError::RingOpen`] and [`CoverageError::Exteriors`] for faces that are not those of [`Coverage::new`].
    pub fn merge(&self, setbacks: &[usize]) -> Result<Vec<ZonePolygons>, CoverageError> {
        let kind = |face: &Face| {
            let is_set_back = face.setbacks.iter().any(|index| setbacks.contains(index));
            (face.zone, if is_set_back { Ground::SetBack } else { Ground::Open })
        };
        let kinds: Vec<(u16, Ground)> = self.faces.iter().map(kind).collect();
        let mut edges: Vec<([Vertex; 2], usize)> = Vec::new();
        for (face, rings) in self.faces.iter().enumerate() {
            edges.extend(rings.polygon.rings().flat_map(|ring| ring.windows(2)).map(|edge| ([edge[0], edge[1]], face)));
        }
        edges.sort_unstable();
        let mut groups: Vec<usize> = (0..self.faces.len()).collect();
        let mut border: Vec<BorderEdge> = Vec::new();
        for &([from, to], face) in &edges {
            let across = edges.binary_search_by(|(ends, _)| ends.cmp(&[to, from])).ok().map(|at| edges[at].1);
            match across {
                Some(other) if kinds[other] == kinds[face] => join(&mut groups, face, other),
                _ => border.push(BorderEdge { group: face, from, to }),
            }
        }
        border.iter_mut().for_each(|edge| edge.group = root(&mut groups, edge.group));
        let mut patches: Vec<((u16, Ground), LatticePolygon)> =
            polygons(border)?.into_iter().map(|(group, polygon)| (kinds[group], polygon)).collect();
        patches.sort_unstable();
        let mut zones: Vec<ZonePolygons> = Vec::new();
        for ((zone, ground), polygon) in patches {
            match zones.last_mut() {
                Some(last) if (last.zone, last.ground) == (zone, ground) => last.polygons.push(polygon),
                _ => zones.push(ZonePolygons { zone, ground, polygons: vec![polygon] }),
            }
        }
        Ok(zones)
    }

    /// The field's outline: all faces joined, one polygon for each part, by first vertex.
    ///
    /// # Guarantees
    /// Its vertices are those of the zones along the boundary, nodes included.
    ///
    /// # Errors
    /// Those of [`Coverage::merge`].
    pub fn outline(&self) -> Result<Vec<LatticePolygon>, CoverageError> {
        let faces = self.faces.iter().map(|face| Face { zone: 1, ..face.clone() }).collect();
        let whole = Coverage { lattice: self.lattice, faces }.merge(&[])?;
        Ok(whole.into_iter().flat_map(|ground| ground.polygons).collect())
    }

    /// No piece may be lost: the area is the boundary's but for bends of up to a step along it.
    fn check_area(&self, boundary: &MultiPolygon<f64>) -> Result<(), CoverageError> {
        let found: i64 = self.faces.iter().map(|face| face.polygon.doubled_area()).sum();
        let (mut expected, mut length) = (0, 0.0);
        for polygon in boundary {
            for (number, ring) in on_lattice(&self.lattice, rings_of(polygon))?.iter().enumerate() {
                let area = doubled_area(ring).abs();
                expected += if number == 0 { area } else { -area };
                let steps =
                    |edge: &[Vertex]| f64::from(edge[1].x - edge[0].x).hypot(f64::from(edge[1].y - edge[0].y)) + 1.0;
                length += ring.windows(2).map(steps).sum::<f64>();
            }
        }
        if found == 0 {
            return Err(CoverageError::NoArea { rings: boundary.iter().flat_map(rings_of).count() });
        }
        let allowed = (2.0 * length) as i64;
        if found.abs_diff(expected) > allowed.unsigned_abs() {
            return Err(CoverageError::Area { found, expected, allowed });
        }
        Ok(())
    }
}

fn root(groups: &mut [usize], mut face: usize) -> usize {
    while groups[face] != face {
        groups[face] = groups[groups[face]];
        face = groups[face];
    }
    face
}

fn join(groups: &mut [usize], a: usize, b: usize) {
    let (a, b) = (root(groups, a), root(groups, b));
    groups[a.max(b)] = a.min(b);
}

fn rings_of(polygon: &geo::Polygon<f64>) -> impl Iterator<Item = impl Iterator<Item = (f64, f64)>> {
    std::iter::once(polygon.exterior())
        .chain(polygon.interiors())
        .map(|ring| ring.0.iter().map(|place| (place.x, place.y)))
}

/// Closed rings without repeated vertices; those that shrink to a line are left out.
fn on_lattice(
    lattice: &Lattice,
    rings: impl Iterator<Item = impl Iterator<Item = (f64, f64)>>,
) -> Result<Vec<Vec<Vertex>>, CoverageError> {
    let mut rounded = Vec::new();
    for ring in rings {
        let mut ring = ring.map(|place| lattice.nearest(place)).collect::<Result<Vec<_>, _>>()?;
        ring.extend(ring.first().copied());
        ring.dedup();
        if ring.len() > 3 {
            rounded.push(ring);
        }
    }
    Ok(rounded)
}

fn border(arc: &[Vertex], raster: &GrownLabels, lattice: &Lattice, plane: Plane) -> Result<Vec<Vertex>, CoverageError> {
    let vertex = |corner: &Vertex| {
        let site = raster.corner(corner.x, corner.y);
        let none = CoverageError::Projection { x: site.east_m, y: site.north_m };
        lattice.nearest((plane.to_lon_lat)(site).ok_or(none)?)
    };
    let mut line = arc.iter().map(vertex).collect::<Result<Vec<_>, _>>()?;
    line.dedup();
    Ok(line)
}

/// Beyond the rim of the raster zone borders would end inside the field.
fn check_reach(grid: &CellGrid, boundary: impl Iterator<Item = (f64, f64)>, plane: Plane) -> Result<(), CoverageError> {
    let north_east = grid.corner(grid.n_cols, grid.n_rows);
    let mut beyond_m = 0.0_f64;
    for (lon, lat) in boundary {
        let site = (plane.to_local)((lon, lat)).ok_or(CoverageError::Projection { x: lon, y: lat })?;
        let east = (grid.west_m - site.east_m).max(site.east_m - north_east.east_m);
        let north = (grid.south_m - site.north_m).max(site.north_m - north_east.north_m);
        beyond_m = beyond_m.max(east).max(north);
    }
    if beyond_m <= MAX_BEYOND_CELLS * grid.cell_m {
        return Ok(());
    }
    Err(CoverageError::BeyondRaster { beyond_m, cell_m: grid.cell_m })
}
