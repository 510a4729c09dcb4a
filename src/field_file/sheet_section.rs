//! `samples.sheet`: how the lab's sheet is to be read, where it is not a plain one.

use super::reader::{Reader, Section, choice, whole, wrong};
use crate::sheet::{DecimalMark, SamplesIn, SheetForm, TextEncoding};

/// Lines a sheet may have.
const MOST_LINES: f64 = 1e7;
/// Header rows a sheet may have.
const MOST_HEADER_ROWS: usize = 6;

/// `samples.sheet`; the plain form where it is absent.
pub(super) fn sheet<'a>(reader: &mut Reader<'a>, parent: &mut Section<'a>) -> SheetForm {
    let mut form = SheetForm::plain();
    let mut section = reader.section(parent, "sheet");
    form.name = reader.text(&mut section, "name").given();
    let encodings = &["utf-8", "windows-1252", "utf-16"];
    form.encoding = choice(reader, &mut section, "text", encoding, encodings).given().unwrap_or(form.encoding);
    let separators = &[",", ";", "tab", "|"];
    form.separator = choice(reader, &mut section, "separator", separator, separators).given().unwrap_or(form.separator);
    form.decimal = choice(reader, &mut section, "decimal", decimal, &[".", ","]).given().unwrap_or(form.decimal);
    if let Some(header) = reader.numbers(&mut section, "header").given() {
        let lines: Vec<usize> = header.iter().map(|line| *line as usize).collect();
        let are_lines = header.iter().all(|line| line.fract() == 0.0 && (1.0..=MOST_LINES).contains(line));
        let rise = lines.windows(2).all(|pair| pair[0] < pair[1]);
        if are_lines && rise && (1..=MOST_HEADER_ROWS).contains(&lines.len()) {
            form.header = lines;
        } else {
            let message = format!("`header` must name 1 to {MOST_HEADER_ROWS} lines in rising order, such as [2, 3]");
            wrong(reader, &section, "header", message);
        }
    }
    form.last = whole(reader, &mut section, "last", 1.0, MOST_LINES);
    let samples_in = choice(reader, &mut section, "samples_in", samples_in, &["rows", "columns"]);
    form.samples_in = samples_in.given().unwrap_or(form.samples_in);
    reader.finish(section);
    form
}

fn encoding(text: &str) -> Option<TextEncoding> {
    match text {
        "utf-8" => Some(TextEncoding::Utf8),
        "windows-1252" | "cp1252" => Some(TextEncoding::Windows1252),
        "utf-16" => Some(TextEncoding::Utf16),
        _ => None,
    }
}

fn separator(text: &str) -> Option<char> {
    match text {
        "," | ";" | "|" => text.chars().next(),
        "tab" | "\t" => Some('\t'),
        _ => None,
    }
}

fn decimal(text: &str) -> Option<DecimalMark> {
    match text {
        "." => Some(DecimalMark::Point),
        "," => Some(DecimalMark::Comma),
        _ => None,
    }
}

fn samples_in(text: &str) -> Option<SamplesIn> {
    match text {
        "rows" => Some(SamplesIn::Rows),
        "columns" => Some(SamplesIn::Columns),
        _ => None,
    }
}
