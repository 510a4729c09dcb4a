//! The longest straight distance in a patch of cells: convex hull and rotating calipers.

/// A corner of the cell lattice: row and column, for sorting row by row.
type Corner = [i64; 2];

/// Squared distance, in cells, of the two outer corners of a patch's cells that lie farthest apart; 0 without cells.
///
/// # Shape
/// `cells` ascending, row by row.
///
/// # References
/// Hull: Andrew (1979), "Another efficient algorithm for convex hulls in two dimensions", Inf. Process. Lett. 9(5).
/// Calipers: Shamos (1978), "Computational Geometry", thesis, Yale (from memory).
pub(super) fn longest2_cells(n_cols: usize, cells: &[u32]) -> u64 {
    let hull = hull(outer_corners(n_cols, cells));
    let n = hull.len();
    let mut longest2 = 0;
    let mut across = 1;
    for side in 0..n {
        let [a, b] = [hull[side], hull[(side + 1) % n]];
        while turn(a, b, hull[(across + 1) % n]) > turn(a, b, hull[across]) {
            across = (across + 1) % n;
        }
        // Where the hull runs on in parallel, the next corner is as far across.
        for far in [hull[across], hull[(across + 1) % n]] {
            longest2 = longest2.max(distance2(a, far)).max(distance2(b, far));
        }
    }
    longest2
}

/// The four corners of each row's ends, sorted; all others lie between them.
fn outer_corners(n_cols: usize, cells: &[u32]) -> Vec<Corner> {
    let mut corners = Vec::new();
    let mut rest = cells;
    while let Some(&first) = rest.first() {
        let row = first as usize / n_cols;
        let end = rest.partition_point(|&cell| (cell as usize) < (row + 1) * n_cols);
        let (west, east) = (first as usize % n_cols, rest[end - 1] as usize % n_cols + 1);
        for row in [row, row + 1] {
            corners.extend([[row as i64, west as i64], [row as i64, east as i64]]);
        }
        rest = &rest[end..];
    }
    corners.sort_unstable();
    corners.dedup();
    corners
}

/// Corners of the convex hull in turning order, none on a straight side.
fn hull(corners: Vec<Corner>) -> Vec<Corner> {
    let mut hull: Vec<Corner> = Vec::new();
    let back = corners.iter().rev().skip(1);
    let n_forth = corners.len();
    let mut base = 0;
    for (index, &corner) in corners.iter().chain(back).enumerate() {
        if index == n_forth {
            base = hull.len() - 1;
        }
        while hull.len() >= base + 2 && turn(hull[hull.len() - 2], hull[hull.len() - 1], corner) <= 0 {
            hull.pop();
        }
        hull.push(corner);
    }
    hull.pop(); // the first corner again
    hull
}

/// Twice the area of a triangle, positive for one sense of turning.
fn turn(a: Corner, b: Corner, c: Corner) -> i64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

fn distance2(a: Corner, b: Corner) -> u64 {
    a[0].abs_diff(b[0]).pow(2) + a[1].abs_diff(b[1]).pow(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn hand_cases() {
        assert_eq!(longest2_cells(7, &[]), 0);
        assert_eq!(longest2_cells(7, &[8]), 2); // one cell: 1 by 1
        assert_eq!(longest2_cells(7, &[7, 8, 9, 10]), 17); // four in a row: 4 by 1
        assert_eq!(longest2_cells(7, &[0, 7, 8, 15, 16, 23]), 25); // a stair of 3 columns and 4 rows
        assert_eq!(longest2_cells(7, &[0, 1, 2, 7, 9, 14, 15, 16]), 18); // a ring of 3 by 3
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(500) })]
        #[test]
        fn no_two_corners_lie_farther_apart(picked in prop::collection::vec(any::<bool>(), 63), n_cols in 1usize..12) {
            let cells: Vec<u32> = (0..63).filter(|&cell| picked[cell as usize]).collect();
            prop_assume!(!cells.is_empty());
            let corners: Vec<Corner> = cells
                .iter()
                .map(|&cell| [i64::from(cell) / n_cols as i64, i64::from(cell) % n_cols as i64])
                .flat_map(|[row, col]| [[row, col], [row, col + 1], [row + 1, col], [row + 1, col + 1]])
                .collect();
            let longest2 = corners.iter().flat_map(|&a| corners.iter().map(move |&b| distance2(a, b))).max();
            prop_assert_eq!(Some(longest2_cells(n_cols, &cells)), longest2);
        }
    }
}
