//! Fields drawn as letters, and what places tell on them.

use super::*;
use crate::coverage::{Lattice, LatticePolygon, Vertex};
use crate::export::iso11783::{RatedGround, TaskProduct};
use crate::rates::RateUnit;
use proptest::prelude::*;

/// A cell, lattice steps: 0.0002 degree, 22 m northwards.
const STEPS: i32 = 2_000;

/// A field at the equator, where cells are square in degrees to a percent; rows are given north row first.
fn field(rows: &[&str], rates: &[(char, f64)]) -> TaskField {
    let n_rows = rows.len() as i32;
    let square = |col: usize, row: usize| {
        let (west, north) = (col as i32 * STEPS, (n_rows - row as i32) * STEPS);
        let corners = [(0, -1), (1, -1), (1, 0), (0, 0), (0, -1)];
        let exterior = corners.map(|(x, y)| Vertex { x: west + x * STEPS, y: north + y * STEPS }).to_vec();
        LatticePolygon { exterior, interiors: Vec::new() }
    };
    let of = |letter: char| -> Vec<LatticePolygon> {
        let cell = |(row, letters): (usize, &&str)| {
            let cols: Vec<usize> =
                letters.chars().enumerate().filter(|(_, l)| *l == letter).map(|(col, _)| col).collect();
            cols.into_iter().map(move |col| square(col, row))
        };
        rows.iter().enumerate().flat_map(cell).collect()
    };
    let ground = |&(letter, rate): &(char, f64)| RatedGround {
        name: letter.to_string(),
        rate,
        is_kept_off: letter == 'x',
        area_m2: 1.0,
        polygons: of(letter),
    };
    let grounds: Vec<RatedGround> = rates.iter().map(ground).collect();
    let product = TaskProduct { name: "P".to_owned(), unit: RateUnit::LbAc, grounds };
    TaskField {
        name: "F".to_owned(),
        short: "F".to_owned(),
        lattice: Lattice { lon0_e7: 100_000_000, lat0_e7: 0 },
        boundary: product.grounds.iter().flat_map(|ground| ground.polygons.clone()).collect(),
        area_m2: 1.0,
        cell_m: 44.6,
        passes: vec![TaskPass { number: 1, name: "P".to_owned(), products: vec![product] }],
    }
}

fn places(field: &TaskField, swath_ft: Option<f64>) -> CheckPlaces {
    CheckPlaces::of(field, &field.passes[0], swath_ft)
}

/// The rate of the letter a place lies on, by its own arithmetic.
fn rate_at(rows: &[&str], rates: &[(char, f64)], place: &CheckPlace) -> f64 {
    let (col, up) = ((place.lon - 10.0) / 0.0002, place.lat / 0.0002);
    let letter = rows[rows.len() - 1 - up as usize].chars().nth(col as usize).unwrap();
    rates.iter().find(|(l, _)| *l == letter).unwrap().1
}

#[test]
fn an_uneven_field_tells_all_seven_wrong_readings() {
    let rows = ["aaaaaabb", "aaaaabbb", "aaaabbbb", "aaccccbb", "aaccccbb"];
    let rates = [('a', 50.0), ('b', 90.0), ('c', 120.0)];
    let field = field(&rows, &rates);
    let found = places(&field, None);
    assert_eq!(found.not_told, []);
    assert_eq!(found.places.iter().map(|place| place.name).collect::<String>(), "ABC");
    for place in &found.places {
        assert_eq!(place.rates, [rate_at(&rows, &rates, place)]);
    }
    assert_eq!(found, places(&field, None), "the same places again");
}

#[test]
fn an_even_field_says_what_cannot_be_told() {
    let even = field(&["aaaa", "aaaa", "aaaa", "aaaa"], &[('a', 50.0)]);
    let found = places(&even, None);
    assert_eq!(found.not_told, Reading::WRONG);
    assert_eq!((found.places.len(), found.places[0].rates[0]), (1, 50.0));
    // Halves: upside down shows the same everywhere.
    let halves = field(&["aabb", "aabb", "aabb", "aabb"], &[('a', 50.0), ('b', 90.0)]);
    let words: Vec<&str> = places(&halves, None).not_told.iter().map(|reading| reading.words()).collect();
    assert_eq!(words, ["upside down"]);
}

#[test]
fn places_keep_a_swath_from_borders_and_off_kept_off_ground() {
    let mut rows = vec!["xxxxxxxxxxxx"];
    rows.extend(["aaaabbbbbbbb"; 6]);
    rows.extend(["ccccccccbbbb"; 6]);
    let uneven = field(&rows, &[('a', 50.0), ('b', 90.0), ('c', 120.0), ('x', 0.0)]);
    let found = places(&uneven, Some(60.0));
    assert_eq!((found.places.len(), &found.not_told[..]), (3, &[][..]));
    assert!(found.places.iter().all(|place| place.clear_m >= 60.0 * M_PER_FOOT && place.rates[0] > 0.0), "{found:#?}");
    // No place is 400 ft from every border: they are given all the same.
    let near = places(&uneven, Some(400.0));
    assert_eq!((near.places.len(), near.not_told), (3, Vec::new()));
}

proptest! {
    #[test]
    fn no_place_tells_more_than_all_cells_do(
        letters in proptest::collection::vec(0..4_u8, 12..48), n_cols in 3..8_usize,
    ) {
        let n_rows = letters.len() / n_cols;
        prop_assume!(n_rows >= 2 && letters[..n_rows * n_cols].contains(&0));
        let rows: Vec<String> =
            letters.chunks_exact(n_cols).map(|row| row.iter().map(|l| char::from(b'a' + l)).collect()).collect();
        let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
        // Letter d lies outside the field.
        let rates = [('a', 50.0), ('b', 90.0), ('c', 50.0)];
        let field = field(&rows, &rates);
        let found = places(&field, None);
        prop_assert!((1..=3).contains(&found.places.len()));
        for place in &found.places {
            prop_assert_eq!(place.rates[0], rate_at(&rows, &rates, place));
        }
        // By brute force over all cells: no three of them tell more readings.
        let masks = all_masks(&field, &rows, &rates);
        let mut most = 0;
        for a in &masks {
            for b in &masks {
                for c in &masks {
                    most = most.max((a | b | c).count_ones());
                }
            }
        }
        prop_assert_eq!(7 - found.not_told.len() as u32, most);
    }
}

/// For each kind of mask that occurs: which readings a cell of the field tells, by letters turned and mirrored here.
fn all_masks(field: &TaskField, rows: &[&str], rates: &[(char, f64)]) -> Vec<u8> {
    let frame = GridFrame::covering(field);
    // The frame starts at the field's own south-west corner and may be smaller than the letters.
    let first_col = (frame.west_e9 - 10_000_000_000) / 200_000;
    let first_row = frame.south_e9 / 200_000;
    let rate = |col: i64, row: i64| {
        let row = rows.len() as i64 - 1 - (row + first_row);
        let letter = usize::try_from(row)
            .ok()
            .and_then(|row| rows.get(row))
            .and_then(|letters| usize::try_from(col + first_col).ok().and_then(|col| letters.chars().nth(col)));
        rates.iter().find(|(l, _)| Some(*l) == letter).map(|(_, rate)| *rate)
    };
    let (n_cols, n_rows) = (frame.n_cols as i64, frame.n_rows as i64);
    let mut masks = std::collections::BTreeSet::new();
    for row in 0..n_rows {
        for col in 0..n_cols {
            let Some(own) = rate(col, row) else { continue };
            let mut mask = 0;
            for bit in 1..8_u8 {
                let (swaps, from_east, from_north) = (bit >= 4, bit & 2 != 0, bit & 1 != 0);
                let (wide, high) = if swaps { (n_rows, n_cols) } else { (n_cols, n_rows) };
                let (x, y) =
                    (if from_east { wide - 1 - col } else { col }, if from_north { high - 1 - row } else { row });
                let read = if col >= wide || row >= high {
                    0.0
                } else {
                    rate(if swaps { y } else { x }, if swaps { x } else { y }).unwrap_or(0.0)
                };
                mask |= u8::from(read != own) << (bit - 1);
            }
            masks.insert(mask);
        }
    }
    masks.into_iter().collect()
}
