//! Zones a person drew: named polygons laid on the raster, with what they leave open and where they overlap.

use geo::{BoundingRect, MultiPolygon};

use crate::boundary::cells_inside;
use crate::cell_grid::CellMask;

/// Zones a person drew, on the raster.
///
/// # Guarantees
/// - every cell of a zone lies inside the field; no zone of `names` is without cells
/// - ground under two zones belongs to the one that comes first
#[derive(Debug, Clone, PartialEq)]
pub struct StatedZones {
    /// Names in the order they first come.
    pub names: Vec<String>,
    /// Index into `names`, one a cell; `None` outside the field and where nothing was drawn.
    pub of_cell: Vec<Option<usize>>,
    /// Cells of the field under polygons of two names or more.
    pub n_overlapped: usize,
    /// Cells of the field under no polygon.
    pub n_uncovered: usize,
    /// Names whose polygons hold no cell of the field, or only ground of zones before them.
    pub without_cells: Vec<String>,
}

impl StatedZones {
    /// Lays named polygons on the raster; a cell belongs to the polygon its center lies in.
    ///
    /// # Units
    /// Local work meters. Polygons of one name are one zone.
    pub fn of_polygons(mask: &CellMask, polygons: &[(String, MultiPolygon<f64>)]) -> Self {
        let grid = mask.grid();
        let mut names: Vec<String> = Vec::new();
        let mut of_cell: Vec<Option<usize>> = vec![None; grid.n_cells()];
        let mut is_overlapped = vec![false; grid.n_cells()];
        for (name, parts) in polygons {
            let zone = names.iter().position(|known| known == name).unwrap_or_else(|| {
                names.push(name.clone());
                names.len() - 1
            });
            // Part by part: two overlapping parts of one zone are still inside it.
            for part in parts.iter().filter(|part| part.bounding_rect().is_some()) {
                for cell in cells_inside(&MultiPolygon::new(vec![part.clone()]), grid).cells() {
                    match of_cell[cell] {
                        _ if !mask.inside()[cell] => {}
                        None => of_cell[cell] = Some(zone),
                        Some(first) => is_overlapped[cell] |= first != zone,
                    }
                }
            }
        }
        let has_cells: Vec<bool> = (0..names.len()).map(|zone| of_cell.contains(&Some(zone))).collect();
        let number: Vec<usize> =
            (0..names.len()).map(|zone| has_cells[..zone].iter().filter(|&&has| has).count()).collect();
        of_cell.iter_mut().flatten().for_each(|zone| *zone = number[*zone]);
        let mut named = names.into_iter().zip(has_cells).collect::<Vec<_>>();
        let without_cells = named.iter().filter(|(_, has)| !has).map(|(name, _)| name.clone()).collect();
        named.retain(|(_, has)| *has);
        StatedZones {
            names: named.into_iter().map(|(name, _)| name).collect(),
            n_overlapped: is_overlapped.iter().filter(|&&is| is).count(),
            n_uncovered: mask.cells().filter(|&cell| of_cell[cell].is_none()).count(),
            of_cell,
            without_cells,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cell_grid::CellGrid;
    use geo::{Coord, LineString, Polygon};

    fn rectangle(west: f64, east: f64, south: f64, north: f64) -> MultiPolygon<f64> {
        let ring = [(west, south), (east, south), (east, north), (west, north), (west, south)];
        let ring = ring.iter().map(|&(x, y)| Coord { x, y }).collect();
        MultiPolygon::new(vec![Polygon::new(LineString(ring), Vec::new())])
    }

    fn named(name: &str, polygon: MultiPolygon<f64>) -> (String, MultiPolygon<f64>) {
        (name.to_owned(), polygon)
    }

    /// Five cells of 10 m in a row, the last outside the field.
    fn row_of_five() -> CellMask {
        let grid = CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 10.0, n_cols: 5, n_rows: 1 };
        CellMask::new(grid, vec![true, true, true, true, false])
    }

    #[test]
    fn cells_go_by_their_centers_and_overlaps_to_the_first() {
        // Centers at 5, 15, 25, 35, 45: sand 0..16 holds two, loam 14..30 the second again and the third.
        let zones = StatedZones::of_polygons(
            &row_of_five(),
            &[named("sand", rectangle(0.0, 16.0, -1.0, 11.0)), named("loam", rectangle(14.0, 30.0, -1.0, 11.0))],
        );
        assert_eq!(zones.names, ["sand", "loam"]);
        assert_eq!(zones.of_cell, [Some(0), Some(0), Some(1), None, None]);
        assert_eq!((zones.n_overlapped, zones.n_uncovered), (1, 1));
        assert!(zones.without_cells.is_empty());
    }

    #[test]
    fn polygons_of_one_name_are_one_zone_and_zones_without_cells_are_told() {
        let zones = StatedZones::of_polygons(
            &row_of_five(),
            &[
                named("a", rectangle(0.0, 10.0, 0.0, 10.0)),
                named("beyond", rectangle(40.0, 50.0, 0.0, 10.0)),
                named("b", rectangle(10.0, 40.0, 0.0, 10.0)),
                named("a", rectangle(0.0, 20.0, 0.0, 10.0)),
                named("hidden", rectangle(12.0, 18.0, 0.0, 10.0)),
            ],
        );
        assert_eq!(zones.names, ["a", "b"]);
        assert_eq!(zones.of_cell, [Some(0), Some(1), Some(1), Some(1), None]);
        assert_eq!(zones.without_cells, ["beyond", "hidden"]);
        assert_eq!((zones.n_overlapped, zones.n_uncovered), (1, 0));
    }

    #[test]
    fn nothing_drawn_covers_nothing() {
        let zones = StatedZones::of_polygons(&row_of_five(), &[]);
        assert_eq!((zones.names.len(), zones.n_uncovered), (0, 4));
        let empty = StatedZones::of_polygons(&row_of_five(), &[named("a", MultiPolygon::new(Vec::new()))]);
        assert_eq!(empty.without_cells, ["a"]);
    }
}
