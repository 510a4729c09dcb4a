//! Check places A, B, C: where a person looks at the screen to see that the grid was read the right way round.
//!
//! The corners of a grid mostly lie outside the field and read 0 in a right and in a wrong reading. So places inside the
//! zones are chosen such that each of the seven turned or mirrored readings shows another rate at one of them.

mod border_distance;
mod reading;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

pub use reading::Reading;

use super::iso11783::{GridFrame, TaskField, TaskPass, ground_of_cells};
use crate::coverage::LatticePolygon;
use crate::units::M_PER_FOOT;

/// How many places are given at most.
const N_PLACES: usize = 3;
/// Places are printed with five decimals, about a meter.
const PLACES_PER_DEG: f64 = 1e5;
/// Farthest from a border that counts where no swath is stated, cells.
const CLEAR_CELLS: f64 = 2.0;
/// Most candidates that triples are tried of.
const MOST_CANDIDATES: usize = 200;

/// One place.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckPlace {
    /// `A`, `B` or `C`.
    pub name: char,
    /// Longitude, degrees, five decimals.
    pub lon: f64,
    /// Latitude, degrees, five decimals.
    pub lat: f64,
    /// What the screen should show: one rate a product of the pass.
    pub rates: Vec<f64>,
    /// From the nearest border of a zone or the field, meters; to about a cell.
    pub clear_m: f64,
}

/// The places of a pass.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckPlaces {
    /// At most three, all inside the field and on ground that is not kept off.
    pub places: Vec<CheckPlace>,
    /// Wrong readings that show the same at all of them: the field is too even to tell.
    pub not_told: Vec<Reading>,
}

impl CheckPlaces {
    /// Chooses the places of a pass on the grid of its task.
    ///
    /// First as many wrong readings as possible are told, then places lie a swath from all borders, then they show as
    /// many unlike rates as possible, then they lie far from borders. The same pass gives the same places.
    ///
    /// # Units
    /// `swath_ft`: working width in feet; `None` = not stated.
    pub fn of(field: &TaskField, pass: &TaskPass, swath_ft: Option<f64>) -> Self {
        let frame = GridFrame::covering(field);
        let ground = CellGround::of(&frame, field, pass);
        let clear_m = border_distance::border_distance_m(&frame, &ground.kinds);
        let wanted_m = swath_ft.map_or(CLEAR_CELLS * frame.cell_east_m, |swath_ft| swath_ft * M_PER_FOOT);
        let all = candidates(&frame, &ground, &clear_m, 0.0);
        let clear = candidates(&frame, &ground, &clear_m, wanted_m);
        let (near, far) = (best(&all), best(&clear));
        // A swath from the borders only where no less is told there.
        let chosen =
            if far.is_empty() || told(&all, &near) > told(&clear, &far) { (&all, near) } else { (&clear, far) };
        let chosen: Vec<&Candidate> = chosen.1.into_iter().map(|index| &chosen.0[index]).collect();
        let mask = chosen.iter().fold(0, |mask, candidate| mask | candidate.told);
        let place = |(name, candidate): (char, &&Candidate)| {
            let (lon, lat) = printed_center(&frame, candidate.cell);
            let rates = ground.rates[usize::from(candidate.kind)].clone();
            CheckPlace { name, lon, lat, rates, clear_m: clear_m[candidate.cell] }
        };
        let not_told = Reading::WRONG.into_iter().enumerate().filter(|(bit, _)| mask & (1 << bit) == 0);
        CheckPlaces {
            places: ('A'..='Z').zip(&chosen).map(place).collect(),
            not_told: not_told.map(|(_, reading)| reading).collect(),
        }
    }
}

/// What lies in each cell, over all products of a pass.
struct CellGround {
    /// Kind of ground of each cell; 0 lies outside the field.
    kinds: Vec<u16>,
    /// Rates of each kind, one a product; of kind 0 all 0.
    rates: Vec<Vec<f64>>,
    /// Whether places may lie there: in the field, and no product keeps off.
    is_open: Vec<bool>,
}

impl CellGround {
    fn of(frame: &GridFrame, field: &TaskField, pass: &TaskPass) -> Self {
        let of_product: Vec<Vec<u16>> = pass
            .products
            .iter()
            .map(|product| {
                let grounds: Vec<&[LatticePolygon]> =
                    product.grounds.iter().map(|ground| &ground.polygons[..]).collect();
                ground_of_cells(frame, &field.lattice, &grounds)
            })
            .collect();
        let outside = vec![0; pass.products.len()];
        let mut ground = CellGround { kinds: Vec::new(), rates: Vec::new(), is_open: Vec::new() };
        let mut known: BTreeMap<Vec<u16>, u16> = BTreeMap::new();
        for cell in std::iter::once(None).chain((0..frame.n_cells()).map(Some)) {
            let at = cell.map_or(outside.clone(), |cell| of_product.iter().map(|cells| cells[cell]).collect());
            let kind = known.get(&at).copied().unwrap_or_else(|| {
                let of = |(product, &index): (&super::iso11783::TaskProduct, &u16)| {
                    let ground = usize::from(index).checked_sub(1).map(|index| &product.grounds[index]);
                    (ground.map_or(0.0, |ground| ground.rate), ground.is_some_and(|ground| !ground.is_kept_off))
                };
                let (rates, open): (Vec<f64>, Vec<bool>) = pass.products.iter().zip(&at).map(of).unzip();
                ground.rates.push(rates);
                ground.is_open.push(open.into_iter().all(|open| open) && !at.is_empty());
                let kind = known.len() as u16;
                known.insert(at.clone(), kind);
                kind
            });
            ground.kinds.extend(cell.map(|_| kind));
        }
        ground
    }
}

/// A cell that may become a place.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    cell: usize,
    kind: u16,
    /// One bit a wrong reading that shows another rate here.
    told: u8,
    clear_m: f64,
}

/// The clearest cell for each kind of ground and each set of readings told; none that another one is better than.
fn candidates(frame: &GridFrame, ground: &CellGround, clear_m: &[f64], least_m: f64) -> Vec<Candidate> {
    let mut clearest: BTreeMap<(u8, u16), Candidate> = BTreeMap::new();
    for (cell, &own_clear_m) in clear_m.iter().enumerate() {
        let kind = ground.kinds[cell];
        if !ground.is_open[usize::from(kind)] || own_clear_m < least_m {
            continue;
        }
        let (col, row) = (cell % frame.n_cols, cell / frame.n_cols);
        // What is printed must lie in the cell that was looked at.
        if frame.cell_at(printed_center(frame, cell)) != Some((col, row)) {
            continue;
        }
        let rates = |kind: u16| &ground.rates[usize::from(kind)];
        let shows_another = |reading: Reading| {
            let read = reading.cell_read(frame, (col, row)).map_or(0, |cell| ground.kinds[cell]);
            rates(read) != rates(kind)
        };
        let told = Reading::WRONG
            .into_iter()
            .enumerate()
            .fold(0, |told, (bit, reading)| told | (u8::from(shows_another(reading)) << bit));
        let candidate = Candidate { cell, kind, told, clear_m: own_clear_m };
        let slot = clearest.entry((told, kind)).or_insert(candidate);
        if candidate.clear_m > slot.clear_m {
            *slot = candidate;
        }
    }
    let all: Vec<Candidate> = clearest.into_values().collect();
    let is_beaten = |a: &Candidate| {
        let beats =
            |b: &&Candidate| b.kind == a.kind && a.told != b.told && a.told & !b.told == 0 && b.clear_m >= a.clear_m;
        all.iter().any(|b| beats(&b))
    };
    let mut kept: Vec<Candidate> = all.iter().filter(|a| !is_beaten(a)).copied().collect();
    if kept.len() > MOST_CANDIDATES {
        // Those that tell most, then the clearest.
        kept.sort_by(|a, b| {
            let order = b.told.count_ones().cmp(&a.told.count_ones());
            order.then(b.clear_m.total_cmp(&a.clear_m)).then(a.cell.cmp(&b.cell))
        });
        kept.truncate(MOST_CANDIDATES);
    }
    kept.sort_by_key(|candidate| candidate.cell);
    kept
}

/// Indices of at most three candidates, by cell.
fn best(candidates: &[Candidate]) -> Vec<usize> {
    let n = candidates.len();
    let size = n.min(N_PLACES);
    let mut best: Option<((u32, usize, f64), Vec<usize>)> = None;
    let mut try_them = |chosen: Vec<usize>| {
        let of = || chosen.iter().map(|&index| &candidates[index]);
        let mut kinds: Vec<u16> = of().map(|candidate| candidate.kind).collect();
        kinds.sort_unstable();
        kinds.dedup();
        let clear_m = of().fold(f64::INFINITY, |least, candidate| least.min(candidate.clear_m));
        let score = (told(candidates, &chosen), kinds.len(), clear_m);
        if best.as_ref().is_none_or(|(other, _)| score > *other) {
            best = Some((score, chosen));
        }
    };
    for a in 0..n {
        match size {
            1 => try_them(vec![a]),
            2 => (a + 1..n).for_each(|b| try_them(vec![a, b])),
            _ => (a + 1..n).for_each(|b| (b + 1..n).for_each(|c| try_them(vec![a, b, c]))),
        }
    }
    best.map_or(Vec::new(), |(_, chosen)| chosen)
}

/// How many wrong readings candidates tell together.
fn told(candidates: &[Candidate], chosen: &[usize]) -> u32 {
    chosen.iter().fold(0, |mask, &index| mask | candidates[index].told).count_ones()
}

/// The center of a cell as it is printed, degrees.
fn printed_center(frame: &GridFrame, cell: usize) -> (f64, f64) {
    let (lon, lat) = frame.center(cell % frame.n_cols, cell / frame.n_cols);
    let printed = |degrees: f64| (degrees * PLACES_PER_DEG).round() / PLACES_PER_DEG;
    (printed(lon), printed(lat))
}
