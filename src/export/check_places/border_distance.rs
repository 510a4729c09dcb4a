//! How far each cell lies from the nearest cell of other ground.

use crate::export::iso11783::GridFrame;

/// Distance from each cell's center to the nearest border of its kind of ground, meters, less than a cell wrong.
///
/// Borders run through the middle between unlike neighbors; beyond the grid lies other ground. Columns first, then each
/// row asks the columns beside it, nearest first, until none can be nearer.
pub(super) fn border_distance_m(frame: &GridFrame, kinds: &[u16]) -> Vec<f64> {
    let up_and_down = to_border_in_column(frame, kinds);
    let half_m = frame.cell_east_m.min(frame.cell_north_m) / 2.0;
    let mut distances = vec![0.0; kinds.len()];
    for row in 0..frame.n_rows {
        for col in 0..frame.n_cols {
            let mut nearest = f64::INFINITY;
            for steps in 0..frame.n_cols {
                let across_m = steps as f64 * frame.cell_east_m;
                if across_m >= nearest {
                    break;
                }
                for other in [col.checked_sub(steps), Some(col + steps).filter(|&other| other < frame.n_cols)] {
                    let along_m = other.map(|other| up_and_down[frame.index(other, row)]);
                    nearest = along_m.map_or(nearest, |along_m| nearest.min(across_m.hypot(along_m)));
                }
            }
            distances[frame.index(col, row)] = nearest + half_m;
        }
    }
    distances
}

/// Distance along the column from each cell to the nearest cell that has a neighbor of other ground, meters.
fn to_border_in_column(frame: &GridFrame, kinds: &[u16]) -> Vec<f64> {
    let is_at_border = |col: usize, row: usize| {
        let kind = kinds[frame.index(col, row)];
        let is_inner = col > 0 && row > 0 && col + 1 < frame.n_cols && row + 1 < frame.n_rows;
        let beside = |col: usize, row: usize| kinds[frame.index(col, row)] != kind;
        !is_inner || beside(col - 1, row) || beside(col + 1, row) || beside(col, row - 1) || beside(col, row + 1)
    };
    let mut distances = vec![f64::INFINITY; kinds.len()];
    for col in 0..frame.n_cols {
        let mut steps = f64::INFINITY;
        let mut pass = |row: usize| {
            steps = if is_at_border(col, row) { 0.0 } else { steps + 1.0 };
            let distance = &mut distances[frame.index(col, row)];
            *distance = distance.min(steps * frame.cell_north_m);
        };
        (0..frame.n_rows).for_each(&mut pass);
        (0..frame.n_rows).rev().for_each(&mut pass);
    }
    distances
}
