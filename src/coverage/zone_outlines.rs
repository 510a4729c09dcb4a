//! [`ZoneOutlines`]: the ground of each zone, and how much of it each product may treat.

use geo::{Coord, GeodesicArea, LineString, MultiPolygon, Polygon};

use super::{Coverage, CoverageError, CoverageInput, Ground, Lattice, LatticePolygon, Plane};
use crate::boundary::{FieldBoundary, cells_inside};
use crate::cell_grid::{CellGrid, Site};
use crate::diagnostic::{Code, Diagnostic};
use crate::setback::Setback;

/// Zones cannot be outlined.
pub static NO_ZONE_OUTLINES: Code = Code {
    name: "no-zone-outlines",
    checks: "that zones, the field's outline and keep-off ground can be cut into pieces without gap and overlap",
    why: "a gap gets nothing and an overlap gets twice as much",
    example: "an outline thinner than a centimeter, or one that reaches far beyond its own cells",
    mend: "look at the outline and the keep-off files in a map editor; if they look right, please report it",
};
/// Keep-off ground leaves nothing to treat.
pub static NOTHING_LEFT_TO_TREAT: Code = Code {
    name: "nothing-left-to-treat",
    checks: "that keep-off ground leaves a product some of the field",
    why: "a file that orders 0 everywhere is a mistake in a distance, a unit or a file",
    example: "a distance of 5,000 ft round a well in a field of 40 acres",
    mend: "look at `distance_ft` and the keep-off file; leave the pass out if nothing may be spread",
};
/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] = &[&NO_ZONE_OUTLINES, &NOTHING_LEFT_TO_TREAT];

/// Farthest a border may be moved to save vertices, in cells: stairs along a slanting border stay within it.
const TOLERANCE_CELLS: f64 = 1.0;

/// All ground of one zone that a product treats, or keeps off.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneGround {
    /// Zone, from 1.
    pub zone: usize,
    /// Whether it is kept off.
    pub ground: Ground,
    /// One polygon a patch.
    pub polygons: Vec<LatticePolygon>,
    /// Area on the ellipsoid, m2.
    pub area_m2: f64,
    /// What lies over it and is kept off, in words: `well, 100 ft`; empty for open ground.
    pub kept_off: Vec<String>,
}

/// The zones of a field as ground.
///
/// # Guarantees
/// Those of [`Coverage`]: no gap, no overlap, a border is the same run of vertices on both sides, for every product.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneOutlines {
    coverage: Coverage,
    setbacks: Vec<Setback>,
    zones: Vec<ZoneGround>,
}

impl ZoneOutlines {
    /// Outlines zones within the field's boundary, with keep-off ground as further outlines.
    ///
    /// # Shape
    /// `labels[row * n_cols + col]`, row 0 in the south; 0 is no zone: it goes to the nearest one.
    ///
    /// # Errors
    /// [`NO_ZONE_OUTLINES`], with the numbers.
    pub fn draw(
        grid: &CellGrid,
        labels: &[u16],
        boundary: &FieldBoundary,
        setbacks: &[Setback],
    ) -> Result<Self, Box<Diagnostic>> {
        let areas: Vec<MultiPolygon> = setbacks.iter().map(|setback| setback.area.clone()).collect();
        let tolerance_m = TOLERANCE_CELLS * grid.cell_m;
        let input = CoverageInput { grid, labels, boundary: boundary.lon_lat(), setbacks: &areas, tolerance_m };
        let work_crs = boundary.work_crs();
        let to_lon_lat = |site: Site| work_crs.to_lon_lat(site);
        let to_local = |place: (f64, f64)| work_crs.to_local(place);
        let drawn = Coverage::new(&input, Plane { to_lon_lat: &to_lon_lat, to_local: &to_local });
        let drawn = drawn.and_then(|coverage| Ok((grounds(&coverage, &[])?, coverage)));
        let (zones, coverage) = drawn.map_err(no_outlines)?;
        Ok(ZoneOutlines { coverage, setbacks: setbacks.to_vec(), zones })
    }

    /// Where the vertices lie.
    pub fn lattice(&self) -> &Lattice {
        &self.coverage.lattice
    }

    /// One entry a zone, ascending; kept-off ground belongs to its zone.
    pub fn zones(&self) -> &[ZoneGround] {
        &self.zones
    }

    /// The field's outline on the lattice, kept-off ground included; one polygon a part.
    ///
    /// # Errors
    /// [`NO_ZONE_OUTLINES`]: a fault of this program.
    pub fn field_outline(&self) -> Result<Vec<LatticePolygon>, Box<Diagnostic>> {
        self.coverage.outline().map_err(no_outlines)
    }

    /// Area of a zone, m2; 0 for a zone without ground.
    pub fn zone_area_m2(&self, zone: usize) -> f64 {
        self.zones.iter().find(|ground| ground.zone == zone).map_or(0.0, |ground| ground.area_m2)
    }

    /// The ground of each zone for a product: open first, then what it keeps off.
    ///
    /// # Errors
    /// [`NO_ZONE_OUTLINES`]: a fault of this program.
    pub fn for_product(&self, short: &str) -> Result<Vec<ZoneGround>, Box<Diagnostic>> {
        let chosen: Vec<usize> =
            (0..self.setbacks.len()).filter(|&index| self.setbacks[index].applies_to(short)).collect();
        let mut grounds = grounds(&self.coverage, &chosen).map_err(no_outlines)?;
        for ground in grounds.iter_mut().filter(|ground| ground.ground == Ground::SetBack) {
            let of_zone = self.coverage.faces.iter().filter(|face| usize::from(face.zone) == ground.zone);
            let mut over: Vec<usize> = of_zone.flat_map(|face| face.setbacks.iter().copied()).collect();
            over.retain(|index| chosen.contains(index));
            over.sort_unstable();
            over.dedup();
            ground.kept_off = over.into_iter().map(|index| self.setbacks[index].name.clone()).collect();
        }
        Ok(grounds)
    }

    /// Rings of ground in local work meters.
    pub fn local_rings(&self, grounds: &[ZoneGround], boundary: &FieldBoundary) -> Vec<Vec<Site>> {
        let work_crs = boundary.work_crs();
        let rings = grounds.iter().flat_map(|ground| &ground.polygons).flat_map(LatticePolygon::rings);
        let local = |ring: &[super::Vertex]| {
            ring.iter().filter_map(|vertex| work_crs.to_local(self.coverage.lattice.lon_lat(*vertex))).collect()
        };
        rings.map(local).collect()
    }

    /// Cells whose center lies on kept-off ground, one a cell.
    pub fn kept_off_cells(&self, grounds: &[ZoneGround], boundary: &FieldBoundary, grid: &CellGrid) -> Vec<bool> {
        let off: Vec<ZoneGround> = grounds.iter().filter(|ground| ground.ground == Ground::SetBack).cloned().collect();
        let ring =
            |ring: Vec<Site>| LineString(ring.iter().map(|site| Coord { x: site.east_m, y: site.north_m }).collect());
        // What an odd number of rings surrounds is inside.
        let polygons = self.local_rings(&off, boundary).into_iter().map(|sites| Polygon::new(ring(sites), Vec::new()));
        cells_inside(&MultiPolygon(polygons.collect()), grid).inside().to_vec()
    }

    /// What a product keeps off, in words: `well, 100 ft`.
    pub fn kept_off_by(&self, short: &str) -> Vec<&str> {
        self.setbacks.iter().filter(|setback| setback.applies_to(short)).map(|setback| setback.name.as_str()).collect()
    }
}

fn no_outlines(error: CoverageError) -> Box<Diagnostic> {
    Box::new(Diagnostic::error(&NO_ZONE_OUTLINES, error.to_string()))
}

fn grounds(coverage: &Coverage, setbacks: &[usize]) -> Result<Vec<ZoneGround>, CoverageError> {
    let of_zone = |zone: super::ZonePolygons| {
        let area_m2 = zone.polygons.iter().map(|polygon| area_m2(&coverage.lattice, polygon)).sum();
        ZoneGround {
            zone: usize::from(zone.zone),
            ground: zone.ground,
            polygons: zone.polygons,
            area_m2,
            kept_off: Vec::new(),
        }
    };
    Ok(coverage.merge(setbacks)?.into_iter().map(of_zone).collect())
}

/// Area on the WGS 84 ellipsoid, m2, holes taken off (Karney 2013, as `geo` carries it).
fn area_m2(lattice: &Lattice, polygon: &LatticePolygon) -> f64 {
    let ring = |vertices: &Vec<super::Vertex>| {
        let place = |vertex: &super::Vertex| {
            let (x, y) = lattice.lon_lat(*vertex);
            Coord { x, y }
        };
        LineString(vertices.iter().map(place).collect())
    };
    Polygon::new(ring(&polygon.exterior), polygon.interiors.iter().map(ring).collect()).geodesic_area_unsigned()
}
