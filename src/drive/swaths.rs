//! Where the machine drives: parallel swaths over a field, back and forth.

use crate::cell_grid::Site;

/// A stretch of a swath, as distances along the heading from the work origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Where it starts, meters.
    pub from_m: f64,
    /// Where it ends, meters.
    pub to_m: f64,
}

/// A swath with what it drives of the field.
#[derive(Debug, Clone, PartialEq)]
pub struct Swath {
    /// Its middle, meters to the right of the work origin.
    pub right_m: f64,
    /// Lines across it, meters to the right of the work origin; an odd number, the middle one among them.
    pub lines_m: Vec<f64>,
    /// Its stretches over the field, in the order of the heading.
    pub runs: Vec<Run>,
    /// Driven against the heading.
    pub is_back: bool,
}

/// The plane turned so that the heading is one axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Turned {
    sin: f64,
    cos: f64,
}

impl Turned {
    pub(super) fn new(heading_deg: f64) -> Self {
        let (sin, cos) = heading_deg.to_radians().sin_cos();
        Turned { sin, cos }
    }

    /// Meters along the heading, meters to the right of it.
    pub(super) fn of(self, site: Site) -> (f64, f64) {
        (site.east_m * self.sin + site.north_m * self.cos, site.east_m * self.cos - site.north_m * self.sin)
    }

    pub(super) fn site(self, (along_m, right_m): (f64, f64)) -> Site {
        Site { east_m: along_m * self.sin + right_m * self.cos, north_m: along_m * self.cos - right_m * self.sin }
    }
}

/// Swaths over closed rings (local meters; inside is what an odd number of rings surrounds), the first along the field's
/// left side, every second one driven back.
///
/// A swath is driven wherever any of its lines lies in the field; lines are at most `line_m` apart.
pub fn swaths(rings: &[Vec<Site>], heading_deg: f64, swath_m: f64, line_m: f64) -> Vec<Swath> {
    let turned = Turned::new(heading_deg);
    let rings: Vec<Vec<(f64, f64)>> =
        rings.iter().map(|ring| ring.iter().map(|site| turned.of(*site)).collect()).collect();
    let rights = rings.iter().flatten().map(|place| place.1);
    let (left_m, right_m) =
        rights.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), right| (low.min(right), high.max(right)));
    if left_m >= right_m {
        return Vec::new();
    }
    // A width that is whole swaths but for rounding needs no further one.
    let n_swaths = ((right_m - left_m) / swath_m - 1e-9).ceil().max(1.0) as usize;
    let n_lines = (swath_m / line_m).ceil().max(1.0) as usize | 1;
    let swath = |index: usize| {
        let left_m = left_m + index as f64 * swath_m;
        let lines_m: Vec<f64> =
            (0..n_lines).map(|line| left_m + (line as f64 + 0.5) / n_lines as f64 * swath_m).collect();
        let stretches = lines_m.iter().flat_map(|right| stretches(&rings, *right)).collect();
        Swath { right_m: left_m + 0.5 * swath_m, lines_m, runs: joined(stretches), is_back: index % 2 == 1 }
    };
    (0..n_swaths).map(swath).collect()
}

/// Stretches of a line along the heading that lie inside the rings.
fn stretches(rings: &[Vec<(f64, f64)>], right_m: f64) -> Vec<Run> {
    let mut crossings = Vec::new();
    for edge in rings.iter().flat_map(|ring| ring.windows(2)) {
        let (low, high) = if edge[0].1 <= edge[1].1 { (edge[0], edge[1]) } else { (edge[1], edge[0]) };
        if low.1 <= right_m && right_m < high.1 {
            crossings.push(low.0 + (right_m - low.1) / (high.1 - low.1) * (high.0 - low.0));
        }
    }
    crossings.sort_unstable_by(f64::total_cmp);
    crossings.chunks_exact(2).map(|pair| Run { from_m: pair[0], to_m: pair[1] }).collect()
}

/// Stretches that touch or overlap made one, in order.
fn joined(mut stretches: Vec<Run>) -> Vec<Run> {
    stretches.sort_by(|a, b| a.from_m.total_cmp(&b.from_m));
    let mut runs: Vec<Run> = Vec::new();
    for stretch in stretches {
        match runs.last_mut().filter(|run| stretch.from_m <= run.to_m) {
            Some(run) => run.to_m = run.to_m.max(stretch.to_m),
            None => runs.push(stretch),
        }
    }
    runs
}
