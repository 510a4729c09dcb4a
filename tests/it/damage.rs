//! A damaged sheet: whatever happens to bytes, cells, rows and columns of the demo's `lab.csv`, nothing panics, and a
//! sample whose own line survives under a header that survives has the name, place and readings it had.

use std::cell::Cell;

use holdground::boundary::FieldBoundary;
use holdground::crs::WorkCrsChoice;
use holdground::field_file::FieldFile;
use holdground::samples::{Sample, SampleSettings, SampleTable, check};
use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::{Config, TestCaseError, TestRunner};

use crate::fixture::{folder, geo_json_rings};

type Grid = Vec<Vec<String>>;

#[derive(Debug, Clone)]
enum Damage {
    Byte(Index, u8),
    Cut(Index),
    DropRow(Index),
    RepeatRow(Index),
    SwapRows(Index, Index),
    DropCell(Index, Index),
    RepeatCell(Index, Index),
    SwapCells(Index, Index, Index),
    ReplaceCell(Index, Index, String),
    DropColumn(Index),
    RepeatColumn(Index),
    SwapColumns(Index, Index),
}

fn damage() -> impl Strategy<Value = Damage> {
    let at = any::<Index>;
    let byte = prop_oneof![any::<u8>(), proptest::sample::select(b"\"\",;\n\r\t 0159.-<".to_vec())];
    let text = "\\PC{0,8}|[<>]?-?[0-9]{1,4}([.,][0-9]{1,3})?|\"|NA|n/a|1e9|\u{feff}| {1,3}";
    prop_oneof![
        2 => (at(), byte).prop_map(|(at, byte)| Damage::Byte(at, byte)),
        1 => at().prop_map(Damage::Cut),
        2 => at().prop_map(Damage::DropRow),
        1 => at().prop_map(Damage::RepeatRow),
        2 => (at(), at()).prop_map(|(a, b)| Damage::SwapRows(a, b)),
        1 => (at(), at()).prop_map(|(row, cell)| Damage::DropCell(row, cell)),
        1 => (at(), at()).prop_map(|(row, cell)| Damage::RepeatCell(row, cell)),
        2 => (at(), at(), at()).prop_map(|(row, a, b)| Damage::SwapCells(row, a, b)),
        3 => (at(), at(), text).prop_map(|(row, cell, text)| Damage::ReplaceCell(row, cell, text)),
        1 => at().prop_map(Damage::DropColumn),
        1 => at().prop_map(Damage::RepeatColumn),
        2 => (at(), at()).prop_map(|(a, b)| Damage::SwapColumns(a, b)),
    ]
}

impl Damage {
    fn is_of_columns(&self) -> bool {
        matches!(self, Damage::DropColumn(_) | Damage::RepeatColumn(_) | Damage::SwapColumns(..))
    }

    /// Columns are counted as in the whole sheet, so that they move alike with and without the other damage.
    fn to_lines(&self, lines: &mut Grid, n_columns: usize) {
        let n = lines.len();
        let in_line = |lines: &mut Grid, row: &Index, act: &dyn Fn(&mut Vec<String>)| {
            if let Some(line) = lines.get_mut(row.index(n.max(1))).filter(|line| !line.is_empty()) {
                act(line);
            }
        };
        match self {
            Damage::Byte(..) | Damage::Cut(_) => {}
            _ if n == 0 => {}
            Damage::DropRow(row) => drop(lines.remove(row.index(n))),
            Damage::RepeatRow(row) => lines.push(lines[row.index(n)].clone()),
            Damage::SwapRows(a, b) => lines.swap(a.index(n), b.index(n)),
            Damage::DropCell(row, cell) => in_line(lines, row, &|line| drop(line.remove(cell.index(line.len())))),
            Damage::RepeatCell(row, cell) => in_line(lines, row, &|line| {
                let at = cell.index(line.len());
                line.insert(at, line[at].clone());
            }),
            Damage::SwapCells(row, a, b) => {
                in_line(lines, row, &|line| {
                    let n_cells = line.len();
                    line.swap(a.index(n_cells), b.index(n_cells))
                });
            }
            Damage::ReplaceCell(row, cell, text) => in_line(lines, row, &|line| {
                let at = cell.index(line.len());
                line[at].clone_from(text);
            }),
            Damage::DropColumn(column) => each_with(lines, column.index(n_columns), &|line, at| drop(line.remove(at))),
            Damage::RepeatColumn(column) => {
                each_with(lines, column.index(n_columns), &|line, at| line.insert(at, line[at].clone()));
            }
            Damage::SwapColumns(a, b) => {
                let (a, b) = (a.index(n_columns), b.index(n_columns));
                each_with(lines, a.max(b), &|line, _| line.swap(a, b));
            }
        }
    }

    fn to_bytes(&self, bytes: &mut Vec<u8>) {
        match self {
            Damage::Byte(at, byte) if !bytes.is_empty() => {
                let at = at.index(bytes.len());
                bytes[at] = *byte;
            }
            Damage::Cut(at) => bytes.truncate(at.index(bytes.len() + 1)),
            _ => {}
        }
    }
}

/// Acts on every line that has a cell at a place.
fn each_with(lines: &mut Grid, at: usize, act: &dyn Fn(&mut Vec<String>, usize)) {
    lines.iter_mut().filter(|line| at < line.len()).for_each(|line| act(line, at));
}

/// The demo, with samples outside left out: a moved place then spoils its own sample only.
struct Demo {
    lines: Grid,
    settings: SampleSettings,
    boundary: FieldBoundary,
    samples: Vec<Sample>,
}

impl Demo {
    fn read() -> Self {
        let read = |name: &str| std::fs::read_to_string(folder("demo").join(name)).unwrap();
        let field = read("field.toml").replacen("[samples]\n", "[samples]\noutside = \"leave-out\"\n", 1);
        let settings = FieldFile::parse("field.toml", &field).unwrap_or_else(|f| panic!("{f:#?}")).samples;
        let rings = geo_json_rings(&read("outline.geojson"));
        let boundary = FieldBoundary::from_rings(&rings, None, &WorkCrsChoice::Derived).unwrap().value;
        let text = read("lab.csv");
        // No cell of the demo holds a comma or a quote.
        assert!(!text.contains('"'));
        let lines: Grid = text.lines().map(|line| line.split(',').map(str::to_owned).collect()).collect();
        let mut demo = Demo { lines, settings, boundary, samples: Vec::new() };
        demo.samples = demo.samples_of(text.as_bytes()).expect("the demo is whole");
        assert_eq!(demo.samples.len(), 63);
        demo
    }

    fn samples_of(&self, bytes: &[u8]) -> Option<Vec<Sample>> {
        let table = SampleTable::read("lab.csv", bytes, &self.settings.sheet).ok()?;
        Some(check(&table, &self.settings, None, &self.boundary).ok()?.value.samples)
    }

    /// Damages the sheet; how many samples could be compared.
    fn survives(&self, damages: &[Damage]) -> Result<usize, TestCaseError> {
        let (mut lines, mut whole) = (self.lines.clone(), self.lines.clone());
        for damage in damages {
            let n_columns = whole[0].len().max(1);
            damage.to_lines(&mut lines, n_columns);
            if damage.is_of_columns() {
                damage.to_lines(&mut whole, n_columns);
            }
        }
        let joined = |lines: &Grid| lines.iter().map(|line| line.join(",")).collect::<Vec<String>>();
        let mut bytes = (joined(&lines).join("\n") + "\n").into_bytes();
        damages.iter().for_each(|damage| damage.to_bytes(&mut bytes));
        let Some(found) = self.samples_of(&bytes) else { return Ok(0) };
        let text = String::from_utf8_lossy(&bytes).replace("\r\n", "\n");
        let (written, whole): (Vec<&str>, _) = (text.split(['\n', '\r']).collect(), joined(&whole));
        if written[0] != whole[0] {
            return Ok(0);
        }
        let mut n_compared = 0;
        for sample in &found {
            let Some(at) = whole[1..].iter().position(|line| line == written[sample.line - 1]) else { continue };
            let before = &self.samples[at];
            prop_assert_eq!(&sample.id, &before.id);
            prop_assert_eq!((sample.lon, sample.lat), (before.lon, before.lat), "{}", sample.id);
            prop_assert_eq!(&sample.readings, &before.readings, "{}", sample.id);
            n_compared += 1;
        }
        Ok(n_compared)
    }
}

#[test]
fn a_surviving_line_keeps_its_name_place_and_readings() {
    let demo = Demo::read();
    let config = Config { failure_persistence: None, ..Config::with_cases(600) };
    let (n_accepted, n_columns_moved) = (Cell::new(0), Cell::new(0));
    let damages = proptest::collection::vec(damage(), 1..4);
    let result = TestRunner::new(config).run(&damages, |damages| {
        let n_compared = demo.survives(&damages)?;
        let has_columns = damages.iter().any(Damage::is_of_columns);
        n_accepted.set(n_accepted.get() + usize::from(n_compared > 30));
        n_columns_moved.set(n_columns_moved.get() + usize::from(n_compared > 30 && has_columns));
        Ok(())
    });
    result.unwrap_or_else(|error| panic!("{error}"));
    // Most damage is refused; enough is not, so that the property was put to the test.
    assert!(n_accepted.get() >= 60, "{} of 600 damaged sheets were taken", n_accepted.get());
    assert!(n_columns_moved.get() >= 10, "{} with whole columns moved", n_columns_moved.get());
}

#[test]
fn any_bytes_read_by_the_demos_field_file_never_panic() {
    let demo = Demo::read();
    let config = Config { failure_persistence: None, ..Config::with_cases(200) };
    let header = demo.lines[0].join(",");
    let bytes = (any::<bool>(), proptest::collection::vec(any::<u8>(), 0..300));
    let result = TestRunner::new(config).run(&bytes, |(has_header, tail)| {
        let start = if has_header { format!("{header}\n") } else { String::new() };
        demo.samples_of(&[start.as_bytes(), &tail].concat());
        Ok(())
    });
    result.unwrap_or_else(|error| panic!("{error}"));
}
