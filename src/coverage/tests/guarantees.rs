//! Every guarantee, case by case.

use std::collections::{BTreeMap, BTreeSet};

use geo::{LineString, Polygon, Validation};

use super::scenario::{Random, Scenario, to_lon_lat};
use crate::coverage::label_growth::{GrownLabels, RIM};
use crate::coverage::segments::{conflict, doubled_area, for_pairs_near, is_inside, turn};
use crate::coverage::{Coverage, CoverageError, Lattice, LatticePolygon, Vertex};

/// Cases by seed. 400 of them take the second look by `geo`, whose cost grows with the square of the vertices.
const N_CASES: u64 = 1500;
const N_SECOND_LOOKS: u64 = 400;

/// What the cases came to.
#[derive(Default, Debug)]
struct Figures {
    n_cases: usize,
    n_refused: usize,
    n_faces: usize,
    n_vertices: usize,
    n_centers: usize,
    n_places: usize,
    worst_area_share: f64,
    worst_area_steps2: f64,
    worst_border_off_steps: f64,
    n_lost_vertices: usize,
}

#[test]
fn random_fields_keep_every_guarantee() {
    let mut figures = Figures::default();
    for seed in 0..N_CASES {
        check(seed, &mut figures);
    }
    assert!(figures.n_cases >= 1400, "{figures:?}");
    assert!(figures.n_centers > 20_000 && figures.n_places > 100_000, "{figures:?}");
    assert_eq!(figures.n_lost_vertices, 0, "{figures:?}");
    // Half a step, and a step more where several lines meet.
    assert!(figures.worst_border_off_steps < 1.5, "{figures:?}");
    // Fields of 0.1 ha and less; see the next test for whole fields.
    assert!(figures.worst_area_share < 2e-4, "{figures:?}");
}

/// Share by which the area of a field may change.
const TOL_AREA_SHARE: f64 = 1e-6;

#[test]
fn whole_fields_keep_their_area_to_a_millionth() {
    let mut figures = Figures::default();
    for seed in 0..60 {
        let scenario = Scenario::whole_field(seed);
        let coverage = scenario.coverage().unwrap();
        let faces: Vec<&LatticePolygon> = coverage.faces.iter().map(|face| &face.polygon).collect();
        let border = check_polygons(&faces, seed);
        check_boundary(&scenario, &coverage, &border, &mut figures, seed);
    }
    assert!(figures.worst_area_share < TOL_AREA_SHARE && figures.worst_area_share > 0.0, "{figures:?}");
    assert_eq!(figures.n_lost_vertices, 0);
}

fn check(seed: u64, figures: &mut Figures) {
    let scenario = Scenario::of(seed);
    let coverage = match scenario.coverage() {
        Ok(coverage) => coverage,
        // Fields thinner than a lattice step.
        Err(CoverageError::NoArea { .. }) => return figures.n_refused += 1,
        Err(error) => panic!("seed {seed}: {error}"),
    };
    figures.n_cases += 1;
    figures.n_faces += coverage.faces.len();
    let faces: Vec<&LatticePolygon> = coverage.faces.iter().map(|face| &face.polygon).collect();
    let border = check_polygons(&faces, seed);
    if seed < N_SECOND_LOOKS {
        check_by_geo(&coverage, seed);
    }
    check_boundary(&scenario, &coverage, &border, figures, seed);
    check_centers(&scenario, &coverage, figures, seed);
    check_setbacks(&scenario, &coverage, figures, seed);
    check_order(&scenario, &coverage, seed);
    for chosen in [vec![], vec![0], vec![1, 2], vec![0, 1, 2, 3]] {
        check_merged(&coverage, &chosen, &border, seed);
    }
}

/// Valid polygons that match edge by edge; gives the edges that have ground on one side only.
fn check_polygons(polygons: &[&LatticePolygon], seed: u64) -> BTreeSet<[Vertex; 2]> {
    let mut directed = BTreeSet::new();
    for polygon in polygons {
        for (number, ring) in polygon.rings().enumerate() {
            assert!(ring.len() >= 4 && ring.first() == ring.last(), "seed {seed}: closed");
            let distinct: BTreeSet<&Vertex> = ring.iter().collect();
            assert_eq!(distinct.len(), ring.len() - 1, "seed {seed}: no ring passes a vertex twice");
            assert_eq!(doubled_area(ring) > 0, number == 0, "seed {seed}: direction");
            for edge in ring.windows(2) {
                assert!(directed.insert([edge[0], edge[1]]), "seed {seed}: an edge twice in one direction");
            }
        }
        let exterior = [&polygon.exterior[..]];
        for (number, hole) in polygon.interiors.iter().enumerate() {
            let middle = (i64::from(hole[0].x + hole[1].x), i64::from(hole[0].y + hole[1].y));
            assert!(is_inside(middle, 2, exterior), "seed {seed}: holes lie inside");
            let others = polygon.interiors.iter().enumerate().filter(|&(other, _)| other != number);
            assert!(
                others.into_iter().all(|(_, other)| !is_inside(middle, 2, [&other[..]])),
                "seed {seed}: holes apart"
            );
        }
        assert!(polygon.doubled_area() > 0);
    }
    let single: Vec<[Vertex; 2]> =
        directed.iter().copied().filter(|edge| edge[0] < edge[1] || !directed.contains(&[edge[1], edge[0]])).collect();
    for_pairs_near(&single, |i, j| {
        assert!(!conflict(single[i], single[j]), "seed {seed}: {:?} meets {:?}", single[i], single[j]);
    });
    directed.iter().copied().filter(|edge| !directed.contains(&[edge[1], edge[0]])).collect()
}

fn check_by_geo(coverage: &Coverage, seed: u64) {
    for face in &coverage.faces {
        let plain = |vertex: &Vertex| (f64::from(vertex.x), f64::from(vertex.y));
        let ring = |ring: &[Vertex]| -> LineString { ring.iter().map(plain).collect() };
        let polygon = &face.polygon;
        let polygon = Polygon::new(ring(&polygon.exterior), polygon.interiors.iter().map(|hole| ring(hole)).collect());
        assert!(polygon.is_valid(), "seed {seed}: {:?}", polygon.validation_errors());
    }
}

/// Rounded rings of the boundary.
fn rounded(scenario: &Scenario, lattice: &Lattice) -> Vec<Vec<Vertex>> {
    let mut rings = Vec::new();
    for polygon in &scenario.boundary {
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            rings.push(ring.0.iter().map(|at| lattice.nearest((at.x, at.y)).unwrap()).collect());
        }
    }
    rings
}

fn distance(place: Vertex, edge: &[Vertex]) -> f64 {
    let [p, a, b] = [place, edge[0], edge[1]].map(|at| (f64::from(at.x), f64::from(at.y)));
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let squared = dx * dx + dy * dy;
    let share = if squared > 0.0 { ((p.0 - a.0) * dx + (p.1 - a.1) * dy) / squared } else { 0.0 };
    let share = share.clamp(0.0, 1.0);
    (p.0 - a.0 - share * dx).hypot(p.1 - a.1 - share * dy)
}

fn check_boundary(
    scenario: &Scenario,
    coverage: &Coverage,
    border: &BTreeSet<[Vertex; 2]>,
    figures: &mut Figures,
    seed: u64,
) {
    let rings = rounded(scenario, &coverage.lattice);
    let origin = Vertex { x: 0, y: 0 };
    let around: i64 = border.iter().map(|edge| turn(origin, edge[0], edge[1])).sum();
    let faces: i64 = coverage.faces.iter().map(|face| face.polygon.doubled_area()).sum();
    assert_eq!(around, faces, "seed {seed}: no gap, no overlap");
    let mut area = 0;
    let mut at = 0;
    for polygon in &scenario.boundary {
        for number in 0..=polygon.interiors().len() {
            area += doubled_area(&rings[at]).abs() * if number == 0 { 1 } else { -1 };
            at += 1;
        }
    }
    let off = faces.abs_diff(area) as f64;
    figures.worst_area_steps2 = figures.worst_area_steps2.max(off / 2.0);
    // Fields of a few steps across are all rounding.
    if area > 20_000_000 {
        figures.worst_area_share = figures.worst_area_share.max(off / area as f64);
    }
    let kept: BTreeSet<Vertex> = border.iter().flatten().copied().collect();
    let edges: Vec<&[Vertex]> = rings.iter().flat_map(|ring| ring.windows(2)).collect();
    for vertex in &kept {
        let off = edges.iter().map(|edge| distance(*vertex, edge)).fold(f64::INFINITY, f64::min);
        figures.worst_border_off_steps = figures.worst_border_off_steps.max(off);
    }
    figures.n_vertices += kept.len();
    let n_lost = rings.iter().flatten().filter(|vertex| !kept.contains(vertex)).count();
    if n_lost > 0 {
        // Only where rounding makes the boundary touch itself may a vertex be a place inside it.
        let touches = |vertex: &Vertex| edges.iter().filter(|edge| distance(*vertex, edge) < 1.5).count();
        figures.n_lost_vertices +=
            rings.iter().flatten().filter(|vertex| !kept.contains(vertex) && touches(vertex) < 3).count();
    }
}

fn face_at(coverage: &Coverage, place: Vertex) -> Option<usize> {
    let at = (i64::from(place.x), i64::from(place.y));
    coverage.faces.iter().position(|face| is_inside(at, 1, face.polygon.rings()))
}

/// Cell centers far from unlike labels lie in their zone.
fn check_centers(scenario: &Scenario, coverage: &Coverage, figures: &mut Figures, seed: u64) {
    let grid = &scenario.grid;
    let raster = GrownLabels::of(grid, &scenario.labels).unwrap();
    let reach = scenario.tolerance_m / grid.cell_m + 0.5;
    let window = reach.ceil() as i64 + 1;
    for row in 0..grid.n_rows {
        for col in 0..grid.n_cols {
            let label_at = |col: i64, row: i64| {
                let inside = (0..raster.n_cols as i64).contains(&col) && (0..raster.n_rows as i64).contains(&row);
                inside.then(|| raster.labels[row as usize * raster.n_cols + col as usize])
            };
            let (at_col, at_row) = ((col + RIM) as i64, (row + RIM) as i64);
            let Some(label) = label_at(at_col, at_row) else { continue };
            // The raster's own label borders: unlike cells' nearest sides.
            let is_far = (-window..=window).all(|north| {
                (-window..=window).all(|east| {
                    let other = label_at(at_col + east, at_row + north);
                    let side = |steps: i64| (steps.abs() as f64 - 0.5).max(0.0);
                    other.is_none_or(|other| other == label) || side(east).hypot(side(north)) > reach
                })
            });
            if !is_far {
                continue;
            }
            let place = coverage.lattice.nearest(to_lon_lat(grid.center(col, row)).unwrap()).unwrap();
            if let Some(face) = face_at(coverage, place) {
                figures.n_centers += 1;
                assert_eq!(coverage.faces[face].zone, label, "seed {seed}: center of {col}, {row}");
            }
        }
    }
}

/// Random places know the setbacks over them, but beside an outline.
fn check_setbacks(scenario: &Scenario, coverage: &Coverage, figures: &mut Figures, seed: u64) {
    let mut random = Random::new(seed + 1_000_000);
    let lattice = &coverage.lattice;
    let setbacks: Vec<Vec<Vec<Vertex>>> = scenario
        .setbacks
        .iter()
        .map(|area| rounded(&Scenario { boundary: area.clone(), ..scenario.clone() }, lattice))
        .collect();
    let highest = |of: fn(&Vertex) -> i32| {
        coverage.faces.iter().flat_map(|face| &face.polygon.exterior).map(of).max().unwrap_or(0)
    };
    let (east, north) = (f64::from(highest(|at| at.x)), f64::from(highest(|at| at.y)));
    for _ in 0..150 {
        let place = Vertex { x: random.between(0.0, east) as i32, y: random.between(0.0, north) as i32 };
        let Some(face) = face_at(coverage, place) else { continue };
        let edges = || setbacks.iter().flatten().flat_map(|ring| ring.windows(2));
        if edges().any(|edge| distance(place, edge) < 12.0) {
            continue;
        }
        figures.n_places += 1;
        let at = (i64::from(place.x), i64::from(place.y));
        let over: Vec<usize> =
            (0..setbacks.len()).filter(|&index| is_inside(at, 1, setbacks[index].iter().map(Vec::as_slice))).collect();
        assert_eq!(coverage.faces[face].setbacks, over, "seed {seed}: {place:?}");
    }
}

/// The same again, and with setbacks, parts and directions of rings in reverse order.
fn check_order(scenario: &Scenario, coverage: &Coverage, seed: u64) {
    assert_eq!(scenario.coverage().as_ref(), Ok(coverage), "seed {seed}: deterministic");
    let mut other = scenario.clone();
    other.setbacks.reverse();
    other.boundary.0.reverse();
    let n = other.setbacks.len();
    let mut turned = other.coverage().unwrap();
    for face in &mut turned.faces {
        face.setbacks.iter_mut().for_each(|index| *index = n - 1 - *index);
        face.setbacks.reverse();
    }
    assert_eq!(&turned, coverage, "seed {seed}: order of setbacks");
}

fn check_merged(coverage: &Coverage, chosen: &[usize], border: &BTreeSet<[Vertex; 2]>, seed: u64) {
    let zones = coverage.merge(chosen).unwrap();
    let polygons: Vec<&LatticePolygon> = zones.iter().flat_map(|zone| &zone.polygons).collect();
    assert_eq!(&check_polygons(&polygons, seed), border, "seed {seed}: the field's own border stays");
    let mut area: BTreeMap<(u16, bool), i64> = BTreeMap::new();
    for face in &coverage.faces {
        let is_set_back = face.setbacks.iter().any(|index| chosen.contains(index));
        *area.entry((face.zone, is_set_back)).or_default() += face.polygon.doubled_area();
    }
    let merged: Vec<i64> =
        zones.iter().map(|zone| zone.polygons.iter().map(LatticePolygon::doubled_area).sum()).collect();
    assert_eq!(area.values().copied().collect::<Vec<_>>(), merged, "seed {seed}: areas of zones");
    // Dissolved: no border between two polygons of one zone and kind.
    for zone in &zones {
        let mut edges = BTreeSet::new();
        for polygon in &zone.polygons {
            edges.extend(polygon.rings().flat_map(|ring| ring.windows(2)).map(|edge| [edge[0], edge[1]]));
        }
        assert!(edges.iter().all(|edge| !edges.contains(&[edge[1], edge[0]])), "seed {seed}: dissolved");
    }
}
