//! Borders between unlike labels, cut at the corners where they branch.
//!
//! ```text
//!   1   1 | 2        o  node: more or fewer than two borders meet, here three
//!   1   1 | 2        An arc runs from node to node, or is a closed ring without a node.
//!  -----+-o---       Arcs keep only the corners in which they turn.
//!   3   3   3
//! ```

use super::label_growth::GrownLabels;
use super::lattice::Vertex;

/// A border: corners of the cells, rim included. First = last where it is closed.
pub(super) type Arc = Vec<Vertex>;

/// Steps east, north, west, south.
const STEPS: [(i32, i32); 4] = [(1, 0), (0, 1), (-1, 0), (0, -1)];

/// All arcs, by their first corner in row-major order.
///
/// # Guarantees
/// - every side between unlike labels lies on one arc, no other side on any
/// - arcs meet in their ends only, and no arc meets itself but in its ends
pub(super) fn trace(raster: &GrownLabels) -> Vec<Arc> {
    let borders = Borders { raster };
    let (n_cols, n_rows) = (raster.n_cols as i32, raster.n_rows as i32);
    let mut traced = Traced { stride: raster.n_cols + 1, sides: vec![0; (raster.n_cols + 1) * (raster.n_rows + 1)] };
    let mut arcs = Vec::new();
    // First the arcs with ends, then the rings that are left.
    for only_from_nodes in [true, false] {
        for y in 0..=n_rows {
            for x in 0..=n_cols {
                let corner = Vertex { x, y };
                let around = borders.around(corner);
                if around == 0 || (only_from_nodes && around.count_ones() == 2) {
                    continue;
                }
                for heading in 0..4 {
                    if around & (1 << heading) != 0 && !traced.has(corner, heading) {
                        arcs.push(borders.follow(corner, heading, &mut traced));
                    }
                }
            }
        }
    }
    arcs
}

struct Borders<'a> {
    raster: &'a GrownLabels,
}

/// Which sides have been walked: bit 0 east of a corner, bit 1 north of it.
struct Traced {
    stride: usize,
    sides: Vec<u8>,
}

impl Traced {
    /// Index of the corner a side is counted at, and its bit.
    fn side(&self, corner: Vertex, heading: usize) -> (usize, u8) {
        let at = corner.y as usize * self.stride + corner.x as usize;
        match heading {
            0 => (at, 1),
            1 => (at, 2),
            2 => (at - 1, 1),
            _ => (at - self.stride, 2),
        }
    }

    fn has(&self, corner: Vertex, heading: usize) -> bool {
        let (at, bit) = self.side(corner, heading);
        self.sides[at] & bit != 0
    }

    fn add(&mut self, corner: Vertex, heading: usize) {
        let (at, bit) = self.side(corner, heading);
        self.sides[at] |= bit;
    }
}

impl Borders<'_> {
    fn label(&self, col: i32, row: i32) -> Option<u16> {
        let inside = col >= 0 && row >= 0 && (col as usize) < self.raster.n_cols && (row as usize) < self.raster.n_rows;
        inside.then(|| self.raster.labels[row as usize * self.raster.n_cols + col as usize])
    }

    /// Bits of the headings in which a border leaves a corner. The raster's own edge is no border.
    fn around(&self, corner: Vertex) -> u8 {
        let north_east = self.label(corner.x, corner.y);
        let north_west = self.label(corner.x - 1, corner.y);
        let south_west = self.label(corner.x - 1, corner.y - 1);
        let south_east = self.label(corner.x, corner.y - 1);
        let unlike = |a: Option<u16>, b: Option<u16>| u8::from(a.is_some() && b.is_some() && a != b);
        unlike(north_east, south_east)
            | unlike(north_west, north_east) << 1
            | unlike(south_west, north_west) << 2
            | unlike(south_east, south_west) << 3
    }

    fn follow(&self, start: Vertex, first_heading: usize, traced: &mut Traced) -> Arc {
        let mut arc = vec![start];
        let (mut corner, mut heading) = (start, first_heading);
        loop {
            traced.add(corner, heading);
            corner = Vertex { x: corner.x + STEPS[heading].0, y: corner.y + STEPS[heading].1 };
            let ahead = self.around(corner) & !(1 << ((heading + 2) % 4));
            if corner == start || ahead.count_ones() != 1 {
                arc.push(corner);
                return arc;
            }
            let next = ahead.trailing_zeros() as usize;
            if next != heading {
                arc.push(corner);
            }
            heading = next;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::label_growth::RIM;
    use super::*;
    use crate::cell_grid::CellGrid;

    /// Rows as on a map, north first.
    fn arcs_of(north_first: &[&str]) -> Vec<Vec<(i32, i32)>> {
        let labels: Vec<u16> =
            north_first.iter().rev().flat_map(|row| row.bytes().map(|byte| u16::from(byte - b'0'))).collect();
        let (n_cols, n_rows) = (north_first[0].len(), north_first.len());
        let grid = CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 1.0, n_cols, n_rows };
        let raster = GrownLabels::of(&grid, &labels).unwrap();
        let plain = |corner: &Vertex| (corner.x - RIM as i32, corner.y - RIM as i32);
        trace(&raster).iter().map(|arc| arc.iter().map(plain).collect()).collect()
    }

    #[test]
    fn three_labels_meet_in_a_node() {
        let rim = RIM as i32;
        let arcs = arcs_of(&["112", "112", "333"]);
        assert_eq!(arcs.len(), 3);
        assert!(arcs.contains(&vec![(-rim, 1), (2, 1)]));
        assert!(arcs.contains(&vec![(2, 1), (3 + rim, 1)]));
        assert!(arcs.contains(&vec![(2, 1), (2, 3 + rim)]));
    }

    #[test]
    fn an_island_is_a_closed_arc_of_its_turns() {
        assert_eq!(arcs_of(&["1111", "1221", "1111"]), [vec![(1, 1), (3, 1), (3, 2), (1, 2), (1, 1)]]);
    }

    #[test]
    fn labels_that_meet_in_a_corner_have_a_node_there() {
        let arcs = arcs_of(&["11111", "12111", "11211", "11111"]);
        assert_eq!(arcs.len(), 2, "{arcs:?}");
        assert!(arcs.iter().all(|arc| arc[0] == (2, 2) && arc.last() == Some(&(2, 2)) && arc.len() == 5));
    }

    #[test]
    fn one_label_has_no_border() {
        assert!(arcs_of(&["11", "11"]).is_empty());
    }
}
