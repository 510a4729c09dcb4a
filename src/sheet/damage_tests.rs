//! Random bytes, random damage, and random sheets that read back as they were written.

use proptest::prelude::*;

use super::tests::is_known;
use super::*;

const HEADERS: [&str; 5] = ["Sample ID", "pH", "K ppm", "P ppm", "Mg ppm"];

/// Every way in.
fn read_all(bytes: &[u8]) {
    let _ = detect("lab", bytes, None, &is_known).map(|detected| {
        let read = SampleTable::read("lab", bytes, &detected.form).expect("reads in the form found");
        assert_eq!(read, detected.table);
        for row in &read.rows {
            assert_eq!(row.cells.len(), read.header.len());
        }
    });
    for encoding in [TextEncoding::Utf8, TextEncoding::Windows1252, TextEncoding::Utf16] {
        for samples_in in [SamplesIn::Rows, SamplesIn::Columns] {
            let form = SheetForm {
                encoding,
                separator: ';',
                header: vec![2, 1],
                last: Some(3),
                samples_in,
                ..SheetForm::plain()
            };
            let _ = SampleTable::read("lab", bytes, &form);
        }
    }
}

/// A sheet whose cells name their own row and column: a cell under the wrong header gives itself away.
fn sheet(n_rows: usize) -> Vec<Vec<String>> {
    let mut lines = vec![HEADERS.map(str::to_owned).to_vec()];
    for row in 0..n_rows {
        let cell = |column: usize| if column == 0 { format!("S{row}") } else { format!("{row}.{column}5") };
        lines.push((0..HEADERS.len()).map(cell).collect());
    }
    lines
}

fn text(lines: &[Vec<String>]) -> String {
    lines.iter().map(|line| line.join(",") + "\n").collect()
}

#[derive(Debug, Clone)]
enum Damage {
    Byte(prop::sample::Index, u8),
    CutFrom(prop::sample::Index),
    DropRow(prop::sample::Index),
    RepeatRow(prop::sample::Index),
    SwapRows(prop::sample::Index, prop::sample::Index),
    DropCell(prop::sample::Index, prop::sample::Index),
    RepeatCell(prop::sample::Index, prop::sample::Index),
    SwapCells(prop::sample::Index, prop::sample::Index, prop::sample::Index),
    DropColumn(prop::sample::Index),
    RepeatColumn(prop::sample::Index),
    SwapColumns(prop::sample::Index, prop::sample::Index),
}

fn damage() -> impl Strategy<Value = Damage> {
    let index = any::<prop::sample::Index>;
    prop_oneof![
        (index(), prop_oneof![any::<u8>(), Just(b'"'), Just(b','), Just(b'\n'), Just(b'\r'), Just(b';')])
            .prop_map(|(at, byte)| Damage::Byte(at, byte)),
        index().prop_map(Damage::CutFrom),
        index().prop_map(Damage::DropRow),
        index().prop_map(Damage::RepeatRow),
        (index(), index()).prop_map(|(a, b)| Damage::SwapRows(a, b)),
        (index(), index()).prop_map(|(a, b)| Damage::DropCell(a, b)),
        (index(), index()).prop_map(|(a, b)| Damage::RepeatCell(a, b)),
        (index(), index(), index()).prop_map(|(a, b, c)| Damage::SwapCells(a, b, c)),
        index().prop_map(Damage::DropColumn),
        index().prop_map(Damage::RepeatColumn),
        (index(), index()).prop_map(|(a, b)| Damage::SwapColumns(a, b)),
    ]
}

impl Damage {
    fn to_lines(&self, lines: &mut Vec<Vec<String>>) {
        if lines.is_empty() {
            return;
        }
        let n = lines.len();
        match self {
            Damage::Byte(..) | Damage::CutFrom(_) => (),
            Damage::DropRow(row) => drop(lines.remove(row.index(n))),
            Damage::RepeatRow(row) => lines.push(lines[row.index(n)].clone()),
            Damage::SwapRows(a, b) => lines.swap(a.index(n), b.index(n)),
            Damage::DropCell(row, cell) => {
                let line = &mut lines[row.index(n)];
                if !line.is_empty() {
                    line.remove(cell.index(line.len()));
                }
            }
            Damage::RepeatCell(row, cell) => {
                let line = &mut lines[row.index(n)];
                if !line.is_empty() {
                    let at = cell.index(line.len());
                    line.insert(at, line[at].clone());
                }
            }
            Damage::SwapCells(row, a, b) => {
                let line = &mut lines[row.index(n)];
                if !line.is_empty() {
                    let (a, b) = (a.index(line.len()), b.index(line.len()));
                    line.swap(a, b);
                }
            }
            Damage::DropColumn(column) => lines.iter_mut().filter(|line| !line.is_empty()).for_each(|line| {
                let at = column.index(HEADERS.len());
                if at < line.len() {
                    line.remove(at);
                }
            }),
            Damage::RepeatColumn(column) => lines.iter_mut().for_each(|line| {
                let at = column.index(HEADERS.len());
                if at < line.len() {
                    line.insert(at, line[at].clone());
                }
            }),
            Damage::SwapColumns(a, b) => lines.iter_mut().for_each(|line| {
                let (a, b) = (a.index(HEADERS.len()), b.index(HEADERS.len()));
                if a.max(b) < line.len() {
                    line.swap(a, b);
                }
            }),
        }
    }

    fn is_of_columns(&self) -> bool {
        matches!(self, Damage::DropColumn(_) | Damage::RepeatColumn(_) | Damage::SwapColumns(..))
    }

    fn to_bytes(&self, bytes: &mut Vec<u8>) {
        match self {
            Damage::Byte(at, byte) if !bytes.is_empty() => {
                let at = at.index(bytes.len());
                bytes[at] = *byte;
            }
            Damage::CutFrom(at) => bytes.truncate(at.index(bytes.len() + 1)),
            _ => (),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn no_bytes_whatsoever_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        read_all(&bytes);
    }

    #[test]
    fn no_text_whatsoever_panics(
        start in "|\u{feff}|<|<ModusResult>|Sample ID,pH\n|Sample ID;pH\n|,|Sample ID\t|pH\n",
        rest in "[Kap60-2,.;|\t\"\n\r <>/&=%\u{a0}\u{e9}]{0,120}",
    ) {
        read_all(format!("{start}{rest}").as_bytes());
    }

    #[test]
    fn damaged_workbooks_and_modus_never_panic(
        which in 0..4_usize,
        flips in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..12),
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let whole: [&[u8]; 4] = [
            include_bytes!("../../fixtures/sheets/groups.xlsx"),
            include_bytes!("../../fixtures/sheets/groups.xls"),
            include_bytes!("../../fixtures/sheets/groups.ods"),
            include_bytes!("../../fixtures/sheets/two_depths.xml"),
        ];
        let mut bytes = whole[which].to_vec();
        for (at, byte) in flips {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        read_all(&bytes);
    }

    /// Where the header line survives, so does every row whose line survives: the same cells under the same headers.
    #[test]
    fn rows_that_survive_damage_stand_under_the_right_headers(
        n_rows in 3..9_usize,
        damages in prop::collection::vec(damage(), 1..4),
    ) {
        let mut lines = sheet(n_rows);
        damages.iter().for_each(|damage| damage.to_lines(&mut lines));
        let mut bytes = text(&lines).into_bytes();
        damages.iter().for_each(|damage| damage.to_bytes(&mut bytes));
        read_all(&bytes);
        // Whole columns moved are another sheet, not a damaged one.
        let mut whole = sheet(n_rows);
        damages.iter().filter(|damage| damage.is_of_columns()).for_each(|damage| damage.to_lines(&mut whole));
        let whole_lines: Vec<String> = whole.iter().map(|line| line.join(",")).collect();
        let damaged = String::from_utf8_lossy(&bytes).replace("\r\n", "\n");
        let written: Vec<&str> = damaged.split(['\n', '\r']).collect();
        let mut of_header = written.iter().filter(|line| line.contains("pH") || line.contains("ppm")).peekable();
        let has_header = of_header.peek().is_some() && of_header.all(|line| *line == whole_lines[0]);
        let found = detect("lab.csv", &bytes, None, &is_known).map(|detected| detected.table).ok();
        let plain = SampleTable::read_csv("lab.csv", &bytes).ok().filter(|_| written[0] == whole_lines[0]);
        for table in [found, plain].into_iter().flatten().filter(|_| has_header) {
            prop_assert_eq!(&table.header, &assemble::unlike_names(whole[0].clone()), "{}", damaged);
            for row in &table.rows {
                if let Some(at) = whole_lines[1..].iter().position(|line| *line == written[row.line - 1]) {
                    prop_assert_eq!(&row.cells, &whole[at + 1], "{}", damaged);
                }
            }
        }
    }

    /// What was written is found again, whatever the separator, encoding, decimal mark and header rows.
    #[test]
    fn a_written_sheet_is_found_again(
        values in prop::collection::vec(prop::collection::vec((1..90_u32, 0..10_u32), 4), 2..12),
        separator in prop::sample::select(vec![',', ';', '\t', '|']),
        encoding in prop::sample::select(vec![TextEncoding::Utf8, TextEncoding::Windows1252, TextEncoding::Utf16]),
        has_mark in any::<bool>(),
        decimal in prop::sample::select(vec![DecimalMark::Point, DecimalMark::Comma]),
        n_header_rows in 1..4_usize,
        n_titles in 0..3_usize,
        has_footer in any::<bool>(),
        line_end in prop::sample::select(vec!["\n", "\r\n", "\r"]),
        samples_in in prop::sample::select(vec![SamplesIn::Rows, SamplesIn::Columns]),
    ) {
        let mark = if decimal == DecimalMark::Comma { "," } else { "." };
        let header_rows: Vec<Vec<&str>> = match n_header_rows {
            1 => vec![vec!["Sample ID", "pH", "K ppm", "P ppm", "OM %"]],
            2 => vec![vec!["Sample ID", "pH", "K", "P", "OM"], vec!["", "", "ppm", "ppm", "%"]],
            _ => vec![
                vec!["Sample ID", "pH", "Calcium", "", "Potassium"],
                vec!["", "", "Desired", "Found", ""],
                vec!["", "", "ppm", "ppm", "ppm"],
            ],
        };
        let names: Vec<&str> = match n_header_rows {
            1 | 2 => vec!["Sample ID", "pH", "K ppm", "P ppm", "OM %"],
            _ => vec!["Sample ID", "pH", "Calcium Desired ppm", "Calcium Found ppm", "Potassium ppm"],
        };
        let samples: Vec<Vec<String>> = values.iter().enumerate().map(|(n, row)| {
            let numbers = row.iter().map(|(whole, tenth)| format!("{whole}{mark}{tenth}"));
            std::iter::once(format!("Gr\u{f6}\u{df}e {n}")).chain(numbers).collect()
        }).collect();
        let owned = |row: &Vec<&str>| row.iter().map(|cell| (*cell).to_owned()).collect();
        let mut grid: Vec<Vec<String>> = header_rows.iter().map(owned).collect();
        grid.extend(samples.clone());
        if has_footer {
            grid.push(vec!["Average".to_owned(), format!("6{mark}1"), "1".to_owned(), "2".to_owned(), "3".to_owned()]);
        }
        if samples_in == SamplesIn::Columns {
            grid = (0..5).map(|column| grid.iter().map(|line| line[column].clone()).collect()).collect();
        }
        let quoted = |cell: &String| if cell.contains(separator) { format!("\"{cell}\"") } else { cell.clone() };
        let mut lines: Vec<String> = (0..n_titles).map(|n| format!("Report {n}")).collect();
        lines.extend(grid.iter().map(|line| line.iter().map(quoted).collect::<Vec<_>>().join(&separator.to_string())));
        let text: String = lines.iter().map(|line| format!("{line}{line_end}")).collect();
        let bytes: Vec<u8> = match encoding {
            TextEncoding::Utf8 => [if has_mark { "\u{feff}" } else { "" }, &text].concat().into_bytes(),
            // The letters used here have the same numbers in Windows-1252 as in Unicode.
            TextEncoding::Windows1252 => text.chars().map(|c| c as u8).collect(),
            TextEncoding::Utf16 => {
                let units = if has_mark { format!("\u{feff}{text}") } else { text };
                let is_big = n_titles == 1;
                units.encode_utf16().flat_map(|unit| if is_big { unit.to_be_bytes() } else { unit.to_le_bytes() }).collect()
            }
        };
        let detected = detect("lab.csv", &bytes, None, &is_known).map_err(|f| TestCaseError::fail(format!("{f:?}")))?;
        prop_assert_eq!(detected.form.encoding, encoding);
        prop_assert_eq!(detected.form.separator, separator);
        prop_assert_eq!(detected.form.decimal, decimal);
        prop_assert_eq!(detected.form.samples_in, samples_in);
        prop_assert_eq!(&detected.table.header, &names);
        let cells: Vec<Vec<String>> = detected.table.rows.iter().map(|row| row.cells.clone()).collect();
        prop_assert_eq!(cells, samples);
        let first = if samples_in == SamplesIn::Rows { n_titles } else { 0 } + n_header_rows + 1;
        prop_assert_eq!(detected.table.rows[0].line, first);
        let n_aside = n_titles + usize::from(has_footer);
        prop_assert_eq!(detected.left_aside.len(), n_aside);
        let read = SampleTable::read("lab.csv", &bytes, &detected.form).expect("reads in the form found");
        prop_assert_eq!(read, detected.table);
    }
}
