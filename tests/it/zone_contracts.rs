//! What every way to draw zones must hold to: one list of checks, run over all of them.

use std::sync::LazyLock;

use geo::{LineString, MultiPolygon, Polygon};
use holdground::cell_grid::{CellMask, Site};
use holdground::pipeline::Outcome;
use holdground::soil_surface::{SurfaceSet, Variable};
use holdground::zones::fuzzy_c_means::{FuzzySettings, fuzzy_c_means};
use holdground::zones::k_means::{KMeansSettings, k_means};
use holdground::zones::{
    ClassBreaks, Covariate, Pick, StatedZones, ZoneError, ZoneInputs, ZoneMap, ZoneMethod, ZonePolygonsFile,
    ZoneQuantity, ZoneSettings,
};

use crate::fixture::{folder, run_edited, run_folder};
use crate::mesh::Draws;

/// The demo field, mapped once for all checks.
static DEMO: LazyLock<Outcome> = LazyLock::new(|| run_edited("demo", |text| text));

fn surfaces() -> &'static SurfaceSet {
    &DEMO.surfaces
}

fn soil(variable: Variable) -> ZoneQuantity {
    ZoneQuantity::Soil(variable)
}

fn breaks(variable: Variable, edges: &[f64]) -> ClassBreaks {
    ClassBreaks { quantity: soil(variable), edges: edges.to_vec() }
}

fn settings(method: ZoneMethod, count: Option<usize>) -> ZoneSettings {
    ZoneSettings { from: ZoneSettings::DEFAULT_FROM.map(soil).to_vec(), method, count, line: 1 }
}

fn from_covariate(method: ZoneMethod, count: Option<usize>) -> ZoneSettings {
    ZoneSettings { from: vec![ZoneQuantity::Covariate("ec".to_owned())], ..settings(method, count) }
}

fn file() -> ZoneMethod {
    ZoneMethod::Polygons(ZonePolygonsFile {
        file: "zones.geojson".to_owned(),
        name: "ZONE".to_owned(),
        crs: None,
        line: 1,
    })
}

/// A covariate worked out for each cell's center, NaN outside the field.
fn covariate(of: impl Fn(Site) -> f64) -> ZoneInputs {
    let mask = surfaces().mask();
    let grid = mask.grid();
    let of_cell = |cell: usize| {
        if mask.inside()[cell] { of(grid.center(cell % grid.n_cols, cell / grid.n_cols)) } else { f64::NAN }
    };
    let values = (0..grid.n_cells()).map(of_cell).collect();
    ZoneInputs { covariates: vec![Covariate { name: "ec".to_owned(), unit: None, values }], ..ZoneInputs::default() }
}

fn rectangle(west: f64, east: f64, south: f64, north: f64) -> MultiPolygon<f64> {
    let ring = LineString::from(vec![(west, south), (east, south), (east, north), (west, north)]);
    MultiPolygon::new(vec![Polygon::new(ring, Vec::new())])
}

/// East, middle and west third of the raster, drawn in that order; a strip in the south stays open.
fn thirds() -> ZoneInputs {
    let grid = surfaces().mask().grid();
    let width = grid.n_cols as f64 * grid.cell_m;
    let at = |share: f64| grid.west_m + share * width;
    let (south, north) = (grid.south_m + 40.0, grid.south_m + grid.n_rows as f64 * grid.cell_m);
    let named = |name: &str, west, east| (name.to_owned(), rectangle(at(west), at(east), south, north));
    let drawn = [named("east", 0.66, 1.0), named("middle", 0.33, 0.66), named("west", 0.0, 0.33)];
    ZoneInputs { stated: Some(StatedZones::of_polygons(surfaces().mask(), &drawn)), ..ZoneInputs::default() }
}

/// A hollow beside the soils, unknown in one corner.
fn hollow() -> ZoneInputs {
    let grid = surfaces().mask().grid();
    let middle = grid.center(grid.n_cols / 2, grid.n_rows / 2);
    covariate(|at| match at.distance_m(grid.center(0, 0)) < 200.0 {
        true => f64::NAN,
        false => at.distance_m(middle),
    })
}

/// Every method, with what it needs.
fn methods() -> Vec<(&'static str, ZoneInputs, ZoneSettings)> {
    let fuzzy = |fuzziness| ZoneMethod::FuzzyCMeans { fuzziness };
    let cec = vec![breaks(Variable::Cec, &[8.0, 16.0])];
    let both = vec![breaks(Variable::Cec, &[8.0, 16.0]), breaks(Variable::CaMgSaturation, &[80.0])];
    let mut mixed = settings(ZoneMethod::KMeans, Some(4));
    mixed.from.push(ZoneQuantity::Covariate("ec".to_owned()));
    vec![
        ("k-means", ZoneInputs::default(), settings(ZoneMethod::KMeans, None)),
        ("k-means of five", ZoneInputs::default(), settings(ZoneMethod::KMeans, Some(5))),
        ("fuzzy", ZoneInputs::default(), settings(fuzzy(2.0), None)),
        ("sharp fuzzy", ZoneInputs::default(), settings(fuzzy(1.3), Some(3))),
        ("one break", ZoneInputs::default(), settings(ZoneMethod::Breaks(cec), None)),
        ("two breaks", ZoneInputs::default(), settings(ZoneMethod::Breaks(both), None)),
        ("polygons", thirds(), ZoneSettings { from: Vec::new(), ..settings(file(), None) }),
        ("soil and covariate", hollow(), mixed),
        ("covariate alone", hollow(), from_covariate(fuzzy(2.0), Some(3))),
    ]
}

fn as_drawn(_count: usize, labels: &[u16]) -> Vec<u16> {
    labels.to_vec()
}

fn draw(on: &SurfaceSet, inputs: &ZoneInputs, settings: &ZoneSettings) -> ZoneMap {
    ZoneMap::draw(on, inputs, settings, &mut as_drawn).unwrap_or_else(|error| panic!("{error}")).value
}

#[test]
fn zones_are_ordered_numbered_without_gap_and_share_the_zoned_ground() {
    for (name, inputs, settings) in methods() {
        let map = draw(surfaces(), &inputs, &settings);
        let cec = surfaces().values(Variable::Cec).unwrap();
        let counts: Vec<usize> = map.candidates().iter().map(|candidate| candidate.count).collect();
        let expected: Vec<usize> = match settings.method.states_its_zones() {
            true => vec![1, *counts.last().unwrap()],
            false => (1..=6).collect(),
        };
        assert_eq!(counts, expected, "{name}");
        assert_eq!(map.verdict().rows.iter().map(|row| row.count).collect::<Vec<_>>(), counts, "{name}");
        for candidate in map.candidates() {
            assert_eq!(candidate.zones.len(), candidate.count, "{name}");
            let n_cells: usize = candidate.zones.iter().map(|zone| zone.n_cells).sum();
            assert_eq!(n_cells, candidate.labels.iter().filter(|label| **label > 0).count(), "{name}");
            let means = candidate.zones.iter().map(|zone| {
                let of_zone = |(_, label): &(&f64, &u16)| usize::from(**label) == zone.zone;
                let own: Vec<f64> = cec.iter().zip(&candidate.labels).filter(of_zone).map(|(cec, _)| *cec).collect();
                assert_eq!(own.len(), zone.n_cells, "{name}");
                assert!(zone.n_cells > 0, "{name}");
                let mean = own.iter().sum::<f64>() / own.len() as f64;
                assert!((mean - zone.mean(Variable::Cec).unwrap()).abs() < 1e-9, "{name}");
                mean
            });
            assert!(means.collect::<Vec<f64>>().is_sorted(), "{name}: zone 1 holds least");
            let inside = surfaces().mask().inside();
            assert!(candidate.labels.iter().zip(inside).all(|(&label, &inside)| label == 0 || inside), "{name}");
        }
        let picked = map.candidates().iter().find(|candidate| candidate.count == map.verdict().drawn).unwrap();
        assert_eq!(picked.labels, map.labels(), "{name}");
        assert!(map.labels().iter().zip(map.mask().inside()).all(|(&label, &zoned)| (label > 0) == zoned), "{name}");
    }
}

#[test]
fn the_same_asked_twice_gives_the_same() {
    for (name, inputs, settings) in methods() {
        let (first, again) = (draw(surfaces(), &inputs, &settings), draw(surfaces(), &inputs, &settings));
        assert_eq!(first.verdict(), again.verdict(), "{name}");
        for (a, b) in first.candidates().iter().zip(again.candidates()) {
            assert_eq!(a.labels, b.labels, "{name}");
        }
    }
}

#[test]
fn the_order_of_the_samples_changes_nothing() {
    let place = tempfile::tempdir().unwrap();
    let read = |file: &str| std::fs::read_to_string(folder("demo").join(file)).unwrap();
    let sheet = read("lab.csv");
    let (header, rows) = sheet.split_once('\n').unwrap();
    let rows: Vec<&str> = rows.lines().rev().collect();
    std::fs::write(place.path().join("lab.csv"), format!("{header}\n{}\n", rows.join("\n"))).unwrap();
    for file in ["outline.geojson", "field.toml"] {
        std::fs::write(place.path().join(file), read(file)).unwrap();
    }
    let turned = run_folder(place.path(), |text| text, |place| place);
    for (name, inputs, settings) in methods() {
        let (map, other) = (draw(surfaces(), &inputs, &settings), draw(&turned.surfaces, &inputs, &settings));
        assert_eq!(map.labels(), other.labels(), "{name}");
        assert_eq!(map.verdict(), other.verdict(), "{name}");
    }
}

#[test]
fn fitted_labels_are_summed_up_and_numbered_anew() {
    for (name, inputs, settings) in methods() {
        // Zone 2 joins zone 1 wherever there is one: numbers close up, the order holds, every candidate is told.
        let mut seen = Vec::new();
        let mut join = |count: usize, labels: &[u16]| {
            seen.push(count);
            labels.iter().map(|&label| if label == 2 { 1 } else { label }).collect()
        };
        let fitted = ZoneMap::draw(surfaces(), &inputs, &settings, &mut join).unwrap().value;
        let drawn = draw(surfaces(), &inputs, &settings);
        assert_eq!(seen, drawn.candidates().iter().map(|candidate| candidate.count).collect::<Vec<_>>(), "{name}");
        for (fitted, drawn) in fitted.candidates().iter().zip(drawn.candidates()) {
            assert_eq!(fitted.zones.len(), drawn.count.saturating_sub(1).max(1), "{name}");
            assert_eq!(fitted.labels.iter().max().map(|&most| usize::from(most)), Some(fitted.zones.len()), "{name}");
            let cec: Vec<f64> = fitted.zones.iter().map(|zone| zone.mean(Variable::Cec).unwrap()).collect();
            assert!(cec.is_sorted(), "{name}");
        }
        // A number of zones of which one has no ground left is not suggested; here that is each of them.
        assert_eq!(fitted.verdict().suggested, 1, "{name}");
        // A hollow that has nothing to do with the soil is not worth zones, whatever is fitted.
        assert_eq!(drawn.verdict().suggested > 1, name != "covariate alone", "{name}");
        // A fit that takes all cells their zone takes none.
        let mut none = |_: usize, labels: &[u16]| vec![0; labels.len()];
        let kept = ZoneMap::draw(surfaces(), &inputs, &settings, &mut none).unwrap().value;
        assert_eq!(kept.labels(), drawn.labels(), "{name}");
    }
}

/// West and east half, 10 apart with a little scatter, drawn by every method that could.
#[test]
fn two_obvious_bodies_are_found() {
    let grid = *surfaces().mask().grid();
    let middle = grid.corner(grid.n_cols / 2, 0).east_m;
    let scatter = |at: Site| (at.east_m * 12.9898 + at.north_m * 78.233).sin();
    let inputs = covariate(|at| if at.east_m < middle { scatter(at) } else { 10.0 + scatter(at) });
    let edge = ClassBreaks { quantity: ZoneQuantity::Covariate("ec".to_owned()), edges: vec![5.0] };
    for method in [ZoneMethod::KMeans, ZoneMethod::FuzzyCMeans { fuzziness: 2.0 }, ZoneMethod::Breaks(vec![edge])] {
        let map = draw(surfaces(), &inputs, &from_covariate(method.clone(), Some(2)));
        assert_eq!(map.zones().len(), 2, "{method:?}");
        let west_is =
            map.labels()[surfaces().mask().cells().find(|cell| cell % grid.n_cols < grid.n_cols / 2).unwrap()];
        for cell in surfaces().mask().cells() {
            let is_west = cell % grid.n_cols < grid.n_cols / 2;
            assert_eq!(map.labels()[cell] == west_is, is_west, "{method:?}");
        }
    }
}

#[test]
fn as_many_zones_as_cells_are_unlike_and_no_more() {
    let grid = *surfaces().mask().grid();
    let third = |at: Site| ((at.east_m - grid.west_m) / (grid.n_cols as f64 * grid.cell_m) * 3.0).floor();
    let inputs = covariate(third);
    for method in [ZoneMethod::KMeans, ZoneMethod::FuzzyCMeans { fuzziness: 2.0 }] {
        let map = draw(surfaces(), &inputs, &from_covariate(method.clone(), Some(3)));
        assert_eq!(map.candidates().len(), 3);
        for zone in map.zones() {
            let own = surfaces().mask().cells().filter(|&cell| usize::from(map.labels()[cell]) == zone.zone);
            let values: Vec<f64> = own.map(|cell| inputs.covariates[0].values[cell]).collect();
            assert!(values.iter().all(|value| *value == values[0]), "{method:?}");
        }
        let refused = ZoneMap::draw(surfaces(), &inputs, &from_covariate(method.clone(), Some(4)), &mut as_drawn);
        assert_eq!(refused.unwrap_err(), ZoneError::TooMany { asked: 4, distinct: 3 }, "{method:?}");
        let one = draw(surfaces(), &inputs, &from_covariate(method, Some(1)));
        assert_eq!((one.zones().len(), one.zones()[0].n_cells), (1, surfaces().mask().n_inside()));
    }
}

/// Rows of two values and a number of groups to labels.
type Clusterer = dyn Fn(&[f64], usize) -> Result<Vec<u16>, String>;

/// The two clusterers on rows, whatever they stand for.
#[test]
fn clusterers_find_blobs_whatever_the_order_of_rows_and_refuse_what_is_no_number() {
    let mut draws = Draws(7);
    let mut rows: Vec<[f64; 2]> = (0..60)
        .map(|row| [0.0, 9.0][row % 2])
        .map(|at| [at + draws.between(-1.0, 1.0), at + draws.between(-1.0, 1.0)])
        .collect();
    let start = |k| KMeansSettings { k, n_starts: 10, seed: 3, max_iter: 500 };
    let by_k_means =
        move |data: &[f64], k| k_means(data, 2, &start(k)).map(|fit| fit.labels).map_err(|e| e.to_string());
    let by_fuzzy = move |data: &[f64], k| {
        let settings = FuzzySettings { start: start(k), fuzziness: 2.0 };
        fuzzy_c_means(data, 2, &settings).map(|fit| fit.labels).map_err(|e| e.to_string())
    };
    let clusterers: [&Clusterer; 2] = [&by_k_means, &by_fuzzy];
    for _ in 0..2 {
        let data: Vec<f64> = rows.iter().flatten().copied().collect();
        for clusterer in clusterers {
            let labels = clusterer(&data, 2).unwrap();
            let low = labels[rows.iter().position(|row| row[0] < 4.0).unwrap()];
            assert!(rows.iter().zip(&labels).all(|(row, &label)| (row[0] < 4.0) == (label == low)));
            assert_eq!(clusterer(&data, 1).unwrap(), vec![0; 60]);
            let mut each = clusterer(&data, 60).unwrap();
            each.sort_unstable();
            assert_eq!(each, (0..60).collect::<Vec<u16>>(), "a row each");
            assert!(clusterer(&data, 61).is_err());
            let spoilt = [&data[..118], &[f64::NAN, 1.0][..]].concat();
            assert!(clusterer(&spoilt, 2).unwrap_err().contains("row 59"));
        }
        rows.reverse();
        rows.rotate_left(13);
    }
}

#[test]
fn ground_without_a_covariate_has_no_zone_and_is_told() {
    let inputs = hollow();
    let settings = from_covariate(ZoneMethod::KMeans, Some(3));
    let drawn = ZoneMap::draw(surfaces(), &inputs, &settings, &mut as_drawn).unwrap();
    let mask: &CellMask = surfaces().mask();
    let unknown = |cell: &usize| inputs.covariates[0].values[*cell].is_nan();
    assert!(mask.cells().all(|cell| unknown(&cell) == (drawn.value.labels()[cell] == 0)));
    let n_unknown = mask.cells().filter(unknown).count();
    let note = drawn.warnings.iter().find(|note| note.code.name == "ground-without-covariate").unwrap();
    assert!(n_unknown > 0 && note.message.starts_with(&format!("{n_unknown} of {} cells", mask.n_inside())));
    let missing = ZoneMap::draw(surfaces(), &ZoneInputs::default(), &settings, &mut as_drawn);
    assert_eq!(missing.unwrap_err(), ZoneError::NoCovariate("ec".to_owned()));
}

#[test]
fn breaks_part_where_they_say_and_name_their_zones() {
    let method = ZoneMethod::Breaks(vec![breaks(Variable::Cec, &[8.0, 16.0])]);
    let map = draw(surfaces(), &ZoneInputs::default(), &settings(method, None));
    let cec = surfaces().values(Variable::Cec).unwrap();
    for cell in surfaces().mask().cells() {
        let class = [8.0, 16.0].iter().filter(|&&edge| cec[cell] >= edge).count();
        assert_eq!(usize::from(map.labels()[cell]), class + 1);
    }
    let names: Vec<&str> = map.zones().iter().map(|zone| zone.name.as_deref().unwrap()).collect();
    assert_eq!(names, ["CEC below 8", "CEC 8 to 16", "CEC 16 and above"]);
    assert_eq!(map.verdict().pick, Pick::Drawn);
    assert!(map.verdict().worth_zoning(), "{}", map.verdict().sentence());
}

#[test]
fn too_many_combinations_are_refused_with_their_number_and_idle_edges_are_told() {
    let narrow = breaks(Variable::Cec, &[6.0, 8.0, 10.0, 12.0, 14.0]);
    let method =
        ZoneMethod::Breaks(vec![narrow, breaks(Variable::Reading(holdground::samples::Analyte::PhWater), &[6.4])]);
    let refused =
        ZoneMap::draw(surfaces(), &ZoneInputs::default(), &settings(method, None), &mut as_drawn).unwrap_err();
    let ZoneError::TooManyClasses { found, most: 6 } = refused else { panic!("{refused}") };
    assert!((7..=12).contains(&found) && refused.help().is_some());
    let method = ZoneMethod::Breaks(vec![breaks(Variable::Cec, &[0.5, 90.0])]);
    let idle = ZoneMap::draw(surfaces(), &ZoneInputs::default(), &settings(method, None), &mut as_drawn).unwrap();
    assert_eq!((idle.value.zones().len(), idle.value.candidates().len()), (1, 1));
    assert_eq!(idle.warnings.iter().filter(|warning| warning.code.name == "break-beyond-map").count(), 2);
    assert!(idle.value.verdict().sentence().starts_with("one zone"));
}

#[test]
fn drawn_zones_are_judged_by_the_place_of_the_samples() {
    // The demo's own soils drawn by hand tell the samples; stripes across them do not.
    let soils = draw(surfaces(), &ZoneInputs::default(), &settings(ZoneMethod::KMeans, Some(3)));
    let stated = |of_cell: Vec<Option<usize>>| {
        let names = ["a", "b", "c"].map(str::to_owned).to_vec();
        let stated = StatedZones { names, of_cell, n_overlapped: 0, n_uncovered: 0, without_cells: Vec::new() };
        ZoneInputs { stated: Some(stated), ..ZoneInputs::default() }
    };
    // Drawn in another order than they hold: zone 1 still holds least.
    let of_soil = |&label: &u16| (label > 0).then(|| [2, 0, 1][usize::from(label) - 1]);
    let drawn = draw(surfaces(), &stated(soils.labels().iter().map(of_soil).collect()), &settings(file(), None));
    assert_eq!(drawn.labels(), soils.labels());
    assert_eq!(drawn.zones().iter().map(|zone| zone.name.as_deref().unwrap()).collect::<Vec<_>>(), ["c", "a", "b"]);
    assert!(drawn.verdict().worth_zoning() && !drawn.verdict().is_overridden());
    let grid = surfaces().mask().grid();
    let stripe = |cell: usize| surfaces().mask().inside()[cell].then_some(cell % grid.n_cols / 4 % 3);
    let stripes = draw(surfaces(), &stated((0..grid.n_cells()).map(stripe).collect()), &settings(file(), None));
    assert_eq!((stripes.zones().len(), stripes.verdict().told()), (3, Some(false)));
    let sentence = stripes.verdict().sentence();
    assert!(sentence.starts_with("not worth zoning") && sentence.ends_with("your zones are kept"), "{sentence}");
}

#[test]
fn zones_of_a_covariate_are_judged_by_what_the_samples_measure() {
    // A survey that follows the soils is worth zoning by; one that knows nothing of them is not.
    let cec = surfaces().values(Variable::Cec).unwrap();
    let grid = *surfaces().mask().grid();
    let at = |site: Site| grid.cell_at(site).map(|(col, row)| grid.index(col, row)).unwrap();
    let survey = covariate(|site| 40.0 + 2.0 * cec[at(site)]);
    let map = draw(surfaces(), &survey, &from_covariate(ZoneMethod::KMeans, None));
    assert!(map.verdict().worth_zoning(), "{}", map.verdict().sentence());
    assert!(map.zones().iter().all(|zone| zone.covariate_mean("ec").is_some()));
    let blind = covariate(|site| (site.east_m / 35.0).sin() * (site.north_m / 27.0).cos());
    let map = draw(surfaces(), &blind, &from_covariate(ZoneMethod::KMeans, None));
    assert_eq!(map.verdict().told(), Some(false), "{}", map.verdict().sentence());
}

#[test]
fn the_demo_is_worth_three_or_four_zones_by_both_clusterers_and_says_why() {
    for method in
        [ZoneMethod::KMeans, ZoneMethod::FuzzyCMeans { fuzziness: 2.0 }, ZoneMethod::FuzzyCMeans { fuzziness: 1.3 }]
    {
        let map = draw(surfaces(), &ZoneInputs::default(), &settings(method.clone(), None));
        let verdict = map.verdict();
        assert!((3..=4).contains(&verdict.suggested), "{method:?}: {verdict:#?}");
        assert!(
            verdict.sentence().starts_with(&format!("{} zones: the ", verdict.suggested)),
            "{}",
            verdict.sentence()
        );
        let is_fuzzy = matches!(method, ZoneMethod::FuzzyCMeans { .. });
        for row in verdict.rows.iter().skip(1) {
            assert_eq!(row.partition_coefficient.is_some(), is_fuzzy);
            let k = row.count as f64;
            assert!(row.partition_coefficient.is_none_or(|c| (1.0 / k..=1.0).contains(&c)));
            assert!(row.partition_entropy.is_none_or(|e| (0.0..=k.ln()).contains(&e)));
        }
        let five = draw(surfaces(), &ZoneInputs::default(), &settings(method, Some(5)));
        assert!(five.verdict().is_overridden() && five.verdict().sentence().ends_with("; your count is kept"));
        assert_eq!((five.zones().len(), five.verdict().pick), (5, Pick::Count));
    }
}
