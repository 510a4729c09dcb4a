//! One page for the cab.

use super::column::Column;
use crate::drive::PATTERN_TEST;
use crate::export::figure::{Figure, WIDTH, line, rect};
use crate::export::map_png::PAPER;
use crate::export::page::lettering::Lettering;
use crate::export::page::{Paper, Sheet};
use crate::units::UnitSystem;

/// Letters are read at arm's length, in sun, with gloves on: 14 points, the small print 10.
const SIZE: f64 = 14.0;
const SMALL: f64 = 10.0;
const MARGIN: f64 = 34.0;
const MAP_WIDTH: f64 = 244.0;
/// Indent of words beside a name.
const INDENT: f64 = 92.0;
const RECORD_LINE: f64 = 19.5;

/// A place to compare the screen at.
pub(super) struct Place {
    pub(super) name: char,
    pub(super) at: String,
    pub(super) rate: String,
}

/// A line of what to carry.
pub(super) struct Carried {
    pub(super) ground: String,
    pub(super) area: String,
    pub(super) rate: String,
    pub(super) total: String,
}

/// Everything on the page.
pub(super) struct CabSheet {
    pub(super) head: String,
    pub(super) field: String,
    pub(super) product: String,
    pub(super) unit: String,
    pub(super) map: Option<Figure>,
    pub(super) load: Vec<String>,
    pub(super) screen: Vec<String>,
    pub(super) places: Vec<Place>,
    /// Whether the places cannot tell every wrong reading of the map.
    pub(super) not_told: bool,
    pub(super) carried: Vec<Carried>,
    pub(super) in_all: String,
    pub(super) machine: Option<String>,
    pub(super) lost_place: Option<String>,
    pub(super) keep_off: String,
    pub(super) cautions: Vec<&'static str>,
}

impl CabSheet {
    /// Sets the page; cautions and the box for the pen go to a second one where the first is full.
    pub(super) fn set(&self, paper: &Paper, lettering: &Lettering) -> Vec<Sheet> {
        let height = paper.height.unwrap_or(792.0);
        let room = paper.width - 2.0 * MARGIN;
        let mut column = Column::new(lettering, [MARGIN, MARGIN, room]);
        column.words(&self.head, SIZE, true);
        column.words(&self.field, SMALL + 1.0, false);
        column.gap(4.0);
        column.words(&self.product, 24.0, true);
        column.words(&self.unit, SIZE, true);
        column.gap(6.0);
        column.svg += &line([MARGIN, column.top], [MARGIN + room, column.top], 1.6);
        column.gap(6.0);
        self.map_and_screen(&mut column);
        column.gap(6.0);
        column.named("LOAD", &self.load, SMALL + 2.5, INDENT);
        column.gap(6.0);
        self.carry(&mut column);
        column.gap(4.0);
        if let Some(machine) = &self.machine {
            column.named("MACHINE", std::slice::from_ref(machine), SMALL + 2.0, INDENT);
            column.gap(4.0);
        }
        if let Some(lost_place) = &self.lost_place {
            let words = format!("If it loses its place: {}{}", lost_place[..1].to_lowercase(), &lost_place[1..]);
            column.named("RECEIVER", &[words], SMALL + 2.0, INDENT);
            column.gap(4.0);
        }
        column.named("KEEP OFF", std::slice::from_ref(&self.keep_off), SIZE, INDENT);
        column.gap(4.0);
        let mut sheets = Vec::new();
        let caution = self.cautions.join(" ");
        // Smaller letters before a second page.
        for size in [SMALL, SMALL - 0.75, SMALL - 1.5] {
            let mut rest = Column::new(lettering, [MARGIN, column.top, room]);
            rest.words(&format!("CAUTION. {caution}"), size, false);
            rest.gap(5.0);
            record_box(&mut rest);
            if rest.top <= height - MARGIN {
                column.svg += &rest.svg;
                sheets.push(Sheet { width: paper.width, height, svg: column.svg });
                return sheets;
            }
        }
        column.words("Cautions and the box for the pen: next page.", SMALL, true);
        sheets.push(Sheet { width: paper.width, height, svg: column.svg });
        let mut second = Column::new(lettering, [MARGIN, MARGIN, room]);
        second.words(&format!("{}: {}", self.head, self.product), SIZE, true);
        second.words(&self.field, SMALL + 1.0, false);
        second.gap(10.0);
        second.named("CAUTION", &[caution], SMALL + 2.0, INDENT);
        second.gap(14.0);
        record_box(&mut second);
        sheets.push(Sheet { width: paper.width, height, svg: second.svg });
        sheets
    }

    /// The map at the left, what the screen should show beside it.
    fn map_and_screen(&self, column: &mut Column<'_>) {
        let top = column.top;
        let mut bottom = top;
        let left = match &self.map {
            Some(map) => {
                let scale = MAP_WIDTH / WIDTH;
                // On paper the system of units is the file's.
                let svg = map.svg_in(UnitSystem::Us);
                column.svg +=
                    &format!("<g transform=\"translate({:.2} {top:.2}) scale({scale:.4})\">{svg}</g>", column.left);
                bottom += map.height * scale;
                MAP_WIDTH + 10.0
            }
            None => 0.0,
        };
        let mut beside = Column::new(column.lettering, [column.left + left, top, column.room - left]);
        beside.words("THE SCREEN SHOULD SHOW", SIZE, true);
        for words in &self.screen {
            beside.words(words, SIZE, false);
        }
        beside.gap(5.0);
        for place in &self.places {
            beside.words(&format!("at {}: {}", place.name, place.rate), SIZE, true);
            beside.words(&place.at, SMALL + 2.0, false);
        }
        beside.gap(4.0);
        beside.words("Outside the line and on ground kept off: 0.", SMALL + 2.0, false);
        beside.words(
            "If one of these differs, do not start: wrong file, wrong field or wrong unit.",
            SMALL + 2.0,
            true,
        );
        if self.not_told {
            beside.words(
                "The field is too even for A, B, C to tell a turned map: compare the picture too.",
                SMALL,
                false,
            );
        }
        column.svg += &beside.svg;
        column.top = bottom.max(beside.top);
    }

    fn carry(&self, column: &mut Column<'_>) {
        column.words("CARRY", SIZE, true);
        for carried in &self.carried {
            let cells = [(0.02, &*carried.ground), (0.27, &carried.area), (0.74, &carried.rate), (1.0, &carried.total)];
            column.cells(&cells, SIZE, false);
        }
        column.words(&self.in_all, SIZE, true);
    }
}

/// Lines for the pen.
fn record_box(column: &mut Column<'_>) {
    let top = column.top;
    let lines = [
        "Spread by _____________________   date ______________   wind ______________",
        "Product lot _____________________   start weight __________   end weight __________",
        "Pattern test: CV at least rate ______ %   at most rate ______ %   on ____________",
    ];
    column.gap(4.0);
    let [left, room] = [column.left, column.room];
    (column.left, column.room) = (left + 8.0, room - 16.0);
    for words in lines {
        column.gap(RECORD_LINE - 1.24 * (SMALL + 2.0));
        column.words(words, SMALL + 2.0, false);
    }
    column.gap(4.0);
    column.words(PATTERN_TEST, SMALL - 2.5, false);
    column.gap(2.0);
    (column.left, column.room) = (left, room);
    let frame = rect([left, top, room, column.top - top], PAPER, 1.2);
    column.svg = frame + &column.svg;
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(n_cautions: usize) -> CabSheet {
        let text = |words: &str| words.to_owned();
        CabSheet {
            head: text("Pass 2 of 4   Before corn"),
            field: text("North <field> (invented)"),
            product: text("POTASH 0-0-60"),
            unit: text("All rates are POUNDS of PRODUCT an acre, not of nutrient."),
            map: None,
            load: vec![text("NORTH_2_POT")],
            screen: vec![text("3 rates")],
            places: vec![Place { name: 'A', at: text("41.0 N 93.5 W"), rate: text("75 lb/ac") }],
            not_told: true,
            carried: vec![Carried {
                ground: text("zone 1"),
                area: text("38.0 ac"),
                rate: text("75 lb/ac"),
                total: text("2,850 lb"),
            }],
            in_all: text("In all 2,850 lb."),
            machine: None,
            lost_place: Some(text("it stops.")),
            keep_off: text("well, 100 ft."),
            cautions: vec!["Keep dust off skin, eyes and lungs."; n_cautions],
        }
    }

    #[test]
    fn a_pass_is_one_page_and_what_finds_no_room_goes_to_the_next() {
        let lettering = Lettering::new();
        for units in [UnitSystem::Us, UnitSystem::Si] {
            let paper = Paper::of(units);
            assert_eq!(sheet(4).set(&paper, &lettering).len(), 1);
            let two = sheet(150).set(&paper, &lettering);
            assert_eq!(two.len(), 2);
            let all: String = two.iter().map(|sheet| sheet.svg.as_str()).collect();
            assert_eq!(all.matches("dust").count(), 150);
            assert!(all.contains("Pattern test") && all.contains("2,850 lb") && all.contains("&lt;field&gt;"));
        }
    }
}
