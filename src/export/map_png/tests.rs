//! Pictures of a small invented field, looked at pixel by pixel.

use super::*;
use crate::cell_grid::CellGrid;

/// A square field of 5 m cells with one class a cell.
pub(super) struct Demo {
    pub(super) mask: CellMask,
    pub(super) classes: Vec<u8>,
    outline: Vec<Vec<Site>>,
}

/// The demo's own classes on the ground palette.
pub(super) fn zones_of<'a>(demo: &'a Demo, names: &'a [String]) -> Shade<'a> {
    Shade::Classes { classes: &demo.classes, names, palette: Palette::Ground }
}

impl Demo {
    /// `n` by `n` cells.
    pub(super) fn square(n: usize, classes: Vec<u8>) -> Demo {
        let grid = CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 5.0, n_cols: n, n_rows: n };
        let side_m = n as f64 * grid.cell_m;
        Demo { mask: CellMask::all(grid), classes, outline: vec![Demo::ring(0.0, side_m, 0.0, side_m)] }
    }

    pub(super) fn ring(west: f64, east: f64, south: f64, north: f64) -> Vec<Site> {
        let corners = [(west, south), (east, south), (east, north), (west, north)];
        corners.map(|(east_m, north_m)| Site { east_m, north_m }).to_vec()
    }

    /// A picture of nothing but the ground.
    pub(super) fn picture<'a>(&'a self, shade: Shade<'a>) -> MapPicture<'a> {
        MapPicture {
            title: "Map 1. Where does the ground hold least?",
            field_line: "North field (invented)   64 samples, 0 to 7 in",
            quantity: "CEC, meq/100 g",
            mask: &self.mask,
            shade,
            outline: &self.outline,
            zones: &[],
            borders: &[],
            keep_off: &[],
            samples: &[],
            beyond: None,
            sand: None,
            caption: &[],
            units: UnitSystem::Us,
            area_m2: self.mask.n_inside() as f64 * self.mask.grid().cell_area_m2(),
        }
    }

    /// Left, right, top and bottom of the square outline, found as the ink on the middle column and row of the map.
    pub(super) fn inked_square(canvas: &Canvas) -> (u32, u32, u32, u32) {
        let column = 540;
        // The outline is the first and the longest upright pair of full ink lines: look along a row inside the map.
        let row = 500;
        let inked = |x: u32, y: u32| canvas.color_at(x, y).contrast(INK) < 1.05;
        let left = (0..column).find(|&x| inked(x, row)).expect("a west line");
        let right = (column..1080).rev().find(|&x| inked(x, row)).expect("an east line");
        let top = (0..row).rev().find(|&y| inked(column, y)).expect("a north line");
        // The field is square.
        (left, right, top, top + (right - left))
    }
}

/// Three upright strips of 10, 4 and 6 columns.
fn strips() -> Demo {
    let class = |cell: usize| {
        if cell % 20 < 10 {
            0
        } else if cell % 20 < 14 {
            1
        } else {
            2
        }
    };
    Demo::square(20, (0..400).map(class).collect())
}

fn names() -> Vec<String> {
    ["1  CEC 5.1", "2  CEC 9", "3  CEC 20"].map(str::to_owned).to_vec()
}

/// Where a site lies in a square demo's picture: found from the picture's own layout.
fn color_at(picture: &MapPicture, east_share: f64, north_share: f64) -> Rgb {
    let canvas = canvas_of(picture);
    let (left, right, top, bottom) = Demo::inked_square(&canvas);
    let x = f64::from(left) + east_share * f64::from(right - left);
    let y = f64::from(bottom) - north_share * f64::from(bottom - top);
    canvas.color_at(x as u32, y as u32)
}

#[test]
fn the_middle_of_a_class_has_its_color_and_north_is_up() {
    let demo = strips();
    let names = names();
    let picture = demo.picture(zones_of(&demo, &names));
    let steps = Palette::Ground.steps(3);
    for (east, step) in [(0.25, steps[0]), (0.6, steps[1]), (0.85, steps[2])] {
        assert_eq!(color_at(&picture, east, 0.5), step);
    }
    let values: Vec<f64> = (0..400).map(|cell| if cell < 200 { 1.0 } else { 9.0 }).collect();
    let shade = Shade::Surface { values: &values, breaks: &[5.0], palette: Palette::Rate };
    let picture = demo.picture(shade);
    assert_eq!(color_at(&picture, 0.5, 0.2), Palette::Rate.steps(2)[0], "the south row is row 0");
    assert_eq!(color_at(&picture, 0.5, 0.8), Palette::Rate.steps(2)[1]);
}

#[test]
fn the_same_picture_gives_the_same_bytes() {
    let demo = strips();
    let names = names();
    let picture = demo.picture(zones_of(&demo, &names));
    let bytes = draw(&picture);
    assert_eq!(bytes, draw(&picture));
    let back = image::load_from_memory(&bytes).expect("a png").into_rgb8();
    assert_eq!(back.width(), WIDTH_PX);
    assert!(f64::from(back.height()) <= f64::from(MOST_HEIGHT_PX) + 1.0);
}

#[test]
fn slant_lines_lie_where_beyond_and_nowhere_else() {
    let demo = strips();
    let names = names();
    let beyond: Vec<bool> = (0..400).map(|cell| cell / 20 >= 15).collect();
    let plain = demo.picture(zones_of(&demo, &names));
    let (left, right, top, bottom) = Demo::inked_square(&canvas_of(&plain));
    let canvas = canvas_of(&MapPicture { beyond: Some(&beyond), ..plain });
    let other_than = |step: Rgb, east: f64, south: f64| {
        let x = left + (east * f64::from(right - left)) as u32;
        let y = top + (south * f64::from(bottom - top)) as u32;
        let pixels = (0..40).flat_map(|dy| (0..40).map(move |dx| (x + dx, y + dy)));
        let colors: Vec<Rgb> = pixels.map(|(x, y)| canvas.color_at(x, y)).collect();
        (colors.iter().filter(|&&color| color != step).count(), colors)
    };
    let steps = Palette::Ground.steps(3);
    let (n, colors) = other_than(steps[0], 0.2, 0.1);
    assert!(n > 100 && colors.contains(&INK), "ink slants on the pale fill");
    let (n, colors) = other_than(steps[2], 0.85, 0.1);
    assert!(n > 100 && colors.contains(&PAPER), "paper slants on the dark fill");
    assert_eq!(other_than(steps[0], 0.2, 0.5).0, 0);
    assert_eq!(other_than(steps[2], 0.85, 0.5).0, 0);
}

#[test]
fn sand_lies_on_the_zone_that_holds_little_only() {
    let demo = strips();
    let names = names();
    let density: Vec<f64> = demo.classes.iter().map(|&class| [1.0, 0.4, 0.0][usize::from(class)]).collect();
    let plain = demo.picture(zones_of(&demo, &names));
    let (left, right, top, bottom) = Demo::inked_square(&canvas_of(&plain));
    let canvas = canvas_of(&MapPicture { sand: Some(&density), ..plain });
    let grains = |from: f64, to: f64, step: Rgb| {
        let (first, last) = (from * f64::from(right - left), to * f64::from(right - left));
        let columns = left + first as u32..left + last as u32;
        let n_all = columns.len() * (bottom - top - 40) as usize;
        let marked = columns.flat_map(|x| (top + 20..bottom - 20).map(move |y| (x, y)));
        marked.filter(|&(x, y)| canvas.color_at(x, y) != step).count() as f64 / n_all as f64
    };
    let steps = Palette::Ground.steps(3);
    let (dense, thin, none) = (grains(0.1, 0.4, steps[0]), grains(0.55, 0.65, steps[1]), grains(0.75, 0.95, steps[2]));
    assert!(dense > 1.8 * thin && thin > 0.0, "{dense} {thin}");
    assert!(none.abs() < f64::EPSILON);
}

#[test]
fn kept_off_ground_is_bare_paper() {
    let demo = strips();
    let names = names();
    let keep_off = [Demo::ring(30.0, 50.0, 40.0, 60.0)];
    let picture = MapPicture { keep_off: &keep_off, ..demo.picture(zones_of(&demo, &names)) };
    assert_eq!(color_at(&picture, 0.4, 0.5), PAPER);
}

#[test]
fn hostile_text_and_shapes_do_not_panic() {
    let demo = strips();
    let hostile = [
        "W".repeat(200),
        "\u{1f33e}\u{1f69c} field \u{1f468}\u{200d}\u{1f33e}".repeat(12),
        "\u{5e9}\u{5d3}\u{5d4} \u{202e}\u{5e6}\u{5e4}\u{5d5}\u{5e0}\u{5d9} \u{627}\u{644}\u{62d}\u{642}\u{644}"
            .to_owned(),
        "a\n\t\u{0}b  ".to_owned(),
        String::new(),
    ];
    for text in &hostile {
        let names = vec![text.clone(), text.clone(), text.clone()];
        let caption = [text.clone()];
        let zones = [ZoneRings {
            zone: 12,
            class: Some(1),
            rings: vec![Demo::ring(0.0, 9.0, 0.0, 9.0), Vec::new()],
            words: text.clone(),
            label_at: Site { east_m: 4.0, north_m: 4.0 },
        }];
        let shade = Shade::Classes { classes: &demo.classes, names: &names, palette: Palette::Rate };
        let picture = MapPicture {
            title: text,
            field_line: text,
            quantity: text,
            caption: &caption,
            zones: &zones,
            borders: &[],
            ..demo.picture(shade)
        };
        assert!(draw(&picture).len() > 1000);
    }
    let names = names();
    let empty = CellMask::new(*demo.mask.grid(), vec![false; 400]);
    assert!(draw(&MapPicture { mask: &empty, ..demo.picture(zones_of(&demo, &names)) }).len() > 1000);
    let thread = [Demo::ring(0.0, 100.0, 50.0, 50.0)];
    assert!(draw(&MapPicture { outline: &thread, ..demo.picture(zones_of(&demo, &names)) }).len() > 1000);
}

#[test]
#[should_panic(expected = "a name for each class")]
fn a_class_without_a_name_is_refused() {
    let demo = strips();
    let names = names();
    draw(&demo.picture(zones_of(&demo, &names[..2])));
}
