//! Fields side by side as text for a terminal, and as a table.

use std::fmt::Write as _;

use super::summary::{WIDTH, wrapped};
use super::tables::figure;
use crate::chemistry::Cation;
use crate::fields::{Field, Figure, Ground, HoldingClass, Part, SideBySide, Standing};
use crate::samples::Analyte;
use crate::units::thousands;

/// Width of the column of names; a longer name stands on a line of its own.
const NAME_WIDTH: usize = 21;
/// Most fields in the text; the table has them all.
const MOST_FIELDS: usize = 60;

/// The fields as text: at most 80 columns, plain words, no color needed.
pub fn field_table_text(result: &SideBySide) -> String {
    let mut text = String::new();
    head(&mut text, result);
    table(&mut text, result);
    section(&mut text, "In short", &result.in_short);
    spread(&mut text, result);
    section(&mut text, "Look in the field", &result.look);
    section(&mut text, "What this sheet does not tell", &result.not_known);
    if !result.evidence.is_empty() {
        text.push('\n');
        wrapped(&mut text, &result.evidence.join(" "), "");
    }
    text
}

fn head(text: &mut String, result: &SideBySide) {
    let count = |n: usize, one: &str, many: &str| match n {
        1 => format!("1 {one}"),
        n => format!("{} {many}", thousands(n as f64, 0)),
    };
    let n_fallow = result.fields.iter().filter(|field| field.test.ground == Ground::Fallow).count();
    let fallow = if n_fallow == 0 { String::new() } else { format!(", {} fallow", thousands(n_fallow as f64, 0)) };
    let rows = if result.n_rows == result.fields.len() {
        String::new()
    } else {
        format!(" from {}", count(result.n_rows, "row", "rows"))
    };
    let file = broken(&one_line(&result.file));
    wrapped(text, &format!("{file}   {}{rows}{fallow}", count(result.fields.len(), "field", "fields")), "");
    let mut about = Vec::new();
    if let Some(kind) = result.group.kind {
        let mut sources: Vec<String> =
            result.fields.iter().filter_map(|field| Some(field.test.cec.as_ref()?.source.words())).collect();
        sources.sort();
        sources.dedup();
        let unit = if kind.unit().is_empty() { "unit not printed" } else { kind.unit() };
        about.push(format!("CEC {unit} ({})", sources.join("; ")));
    }
    let media = media(result);
    if !media.is_empty() {
        let words = |medium: &Analyte| match medium {
            Analyte::PhWater if result.ph_medium_is_open => "pH (water or salt not said)",
            medium => medium.label(),
        };
        about.push(media.iter().map(words).collect::<Vec<_>>().join(", "));
    }
    if !about.is_empty() {
        wrapped(text, &about.join(";  "), "");
    }
}

/// What pH is measured in on this sheet.
fn media(result: &SideBySide) -> Vec<Analyte> {
    let mut media: Vec<Analyte> =
        result.fields.iter().filter_map(|field| field.test.ph.as_ref()).map(|(medium, _)| *medium).collect();
    media.sort();
    media.dedup();
    media
}

fn table(text: &mut String, result: &SideBySide) {
    let has_cec = result.fields.iter().any(|field| field.test.cec.is_some());
    let order =
        if has_cec { "Fields by what the ground holds, least first" } else { "Fields by name: the sheet gives no CEC" };
    let _ = writeln!(text, "\n{order}");
    let _ = writeln!(
        text,
        "  {:<NAME_WIDTH$} {:>5} {:>5} {:>4} {:>4} {:>4} {:>5}  holds",
        "field", "CEC", "pH", "Ca %", "Mg %", "K %", "Ca+Mg"
    );
    for field in result.fields.iter().take(MOST_FIELDS) {
        let name = one_line(&field.test.name);
        if name.chars().count() > NAME_WIDTH {
            wrapped(text, &broken(&name), "  ");
            line(text, "", field);
        } else {
            line(text, &name, field);
        }
    }
    if let Some(median) = result.group.median {
        let _ = writeln!(text, "  {:<NAME_WIDTH$} {median:>5.1}", "middle of the group");
    }
    if has_cec {
        text.push_str("  CEC: how much the ground can hold on to. Ca, Mg, K: percent of it.\n");
    }
    if let Some(more) = result.fields.len().checked_sub(MOST_FIELDS).filter(|more| *more > 0) {
        let more = thousands(more as f64, 0);
        wrapped(
            text,
            &format!("The first {MOST_FIELDS} are shown; {more} more stand in the table `fields.csv`."),
            "  ",
        );
    }
}

fn line(text: &mut String, name: &str, field: &Field) {
    let test = &field.test;
    let percent = |cation: Cation, decimals: usize| {
        let share = test.share(Part::Base(cation));
        share.map_or("-".to_owned(), |share| fitted(&share.figure, decimals, 4))
    };
    let cec = test.cec.as_ref().map_or("-".to_owned(), |cec| fitted(&cec.figure, 1, 5));
    let ph = test.ph.as_ref().map_or("-".to_owned(), |(_, ph)| fitted(ph, 1, 5));
    let ca_mg = test.ca_mg_percent().map_or("-".to_owned(), |sum| format!("{sum:.0}"));
    let line = format!(
        "  {name:<NAME_WIDTH$} {cec:>5} {ph:>5} {:>4} {:>4} {:>4} {ca_mg:>5}  {}",
        percent(Cation::Ca, 0),
        percent(Cation::Mg, 0),
        percent(Cation::K, 1),
        holds(field)
    );
    let _ = writeln!(text, "{}", line.trim_end());
}

/// A figure as printed, with fewer decimals where its column is too narrow.
fn fitted(figure: &Figure, decimals: usize, width: usize) -> String {
    let texts = [figure.text(decimals), figure.rounded(decimals), figure.rounded(0)];
    texts.iter().find(|text| text.len() <= width).unwrap_or(&texts[2]).clone()
}

/// How much a field holds, in a word or three; `*` where lime counts in its CEC.
fn holds(field: &Field) -> String {
    let class = match field.class {
        Some(HoldingClass::Little) => "little",
        Some(HoldingClass::Some) => "some",
        Some(HoldingClass::Much) => "much",
        None => "",
    };
    let mark = if field.test.counts_lime() { "*" } else { "" };
    let standing = match (field.test.ground, field.standing, field.class) {
        (Ground::Fallow, _, _) => "fallow",
        (_, Standing::HoldsLeast, Some(HoldingClass::Much)) => "yet least here",
        (_, Standing::HoldsLeast, _) => "least here",
        _ => "",
    };
    let class = format!("{class}{mark}");
    let parts: Vec<&str> = [class.as_str(), standing].into_iter().filter(|part| !part.is_empty()).collect();
    parts.join(", ")
}

fn section(text: &mut String, heading: &str, sentences: &[String]) {
    if sentences.is_empty() {
        return;
    }
    let _ = writeln!(text, "\n{heading}");
    for sentence in sentences {
        let mut paragraph = String::new();
        wrapped(&mut paragraph, &broken(&one_line(sentence)), "    ");
        // The first line of a sentence stands out, so that sentences are told apart.
        text.push_str("  - ");
        text.push_str(paragraph.trim_start());
    }
}

fn spread(text: &mut String, result: &SideBySide) {
    let Some(applications) = &result.applications else { return };
    if applications.by_field.iter().all(Vec::is_empty) {
        return;
    }
    let years = applications.years.map_or(String::new(), |[first, last]| {
        if first == last { format!(", {first}") } else { format!(", {first} to {last} together") }
    });
    let _ = writeln!(text, "\nWhat was spread{years}");
    let spread = result.fields.iter().enumerate().filter(|(at, _)| !applications.by_field[*at].is_empty());
    for (at, field) in spread.take(MOST_FIELDS) {
        let words = spread_words(result, at);
        wrapped(text, &broken(&one_line(&format!("{}: {words}", field.test.name))), "  ");
    }
}

/// All that one field got: "K2O 480 lb/ac; lime 2 short tons/ac".
fn spread_words(result: &SideBySide, at: usize) -> String {
    let Some(applications) = &result.applications else { return String::new() };
    let spread = applications.by_field.get(at).map_or(&[][..], Vec::as_slice);
    let words = spread.iter().map(|spread| {
        let decimals = if spread.amount.fract() == 0.0 { 0 } else { 1 };
        format!("{} {} {}", spread.what, thousands(spread.amount, decimals), spread.unit).trim_end().to_owned()
    });
    words.collect::<Vec<_>>().join("; ")
}

/// A name on one line, without marks that move a terminal's pen.
fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// Words longer than a line broken, so that no line is longer than the terminal.
fn broken(text: &str) -> String {
    const MOST: usize = WIDTH - 8;
    let mut out = String::new();
    let mut n_in_word = 0;
    for letter in text.chars() {
        n_in_word = if letter.is_whitespace() { 0 } else { n_in_word + 1 };
        if n_in_word > MOST {
            out.push(' ');
            n_in_word = 1;
        }
        out.push(letter);
    }
    out
}

/// The fields as a table, one row a field.
pub fn field_table_csv(result: &SideBySide) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let header = [
        "field",
        "lines",
        "ground",
        "cec",
        "cec_unit",
        "cec_from",
        "holds",
        "least_of_group",
        "ph",
        "ph_in",
        "ca_percent",
        "mg_percent",
        "k_percent",
        "na_percent",
        "acidity_percent",
        "ca_mg_percent",
        "k_printed",
        "k_unit",
        "programme",
        "spread",
        "remarks",
    ];
    writer.write_record(header).expect("memory takes a row");
    for (at, field) in result.fields.iter().enumerate() {
        writer.write_record(csv_row(result, at, field)).expect("rows are as long as the header");
    }
    String::from_utf8(writer.into_inner().expect("memory takes a row")).unwrap_or_default()
}

fn csv_row(result: &SideBySide, at: usize, field: &Field) -> Vec<String> {
    let test = &field.test;
    let lines: Vec<String> = test.lines.iter().map(usize::to_string).collect();
    let share = |part: Part| test.share(part).map_or(String::new(), |share| share.figure.text(2));
    let mut remarks: Vec<String> = test.lime_sign.iter().filter(|_| test.counts_lime()).cloned().collect();
    if !remarks.is_empty() {
        remarks[0] += ": lime counts in CEC and calcium";
    }
    remarks.extend(test.remarks.iter().cloned());
    remarks.extend(test.unread.iter().cloned());
    remarks.extend(test.missing.iter().map(|missing| format!("no {}: {}", missing.what, missing.why)));
    let cec = test.cec.as_ref();
    let mut row = vec![
        test.name.clone(),
        lines.join(" "),
        match test.ground {
            Ground::Cropped => String::new(),
            Ground::Fallow => "fallow".to_owned(),
        },
        cec.map_or(String::new(), |cec| cec.figure.text(2)),
        cec.map_or(String::new(), |cec| cec.kind.unit().to_owned()),
        cec.map_or(String::new(), |cec| cec.source.words()),
        super::summary::holding_words(field.class).to_owned(),
        match field.standing {
            Standing::HoldsLeast => "yes".to_owned(),
            Standing::WithTheOthers => "no".to_owned(),
            Standing::NotCompared => String::new(),
        },
        test.ph.as_ref().map_or(String::new(), |(_, ph)| ph.text(2)),
        test.ph.as_ref().map_or(String::new(), |(medium, _)| medium.key().to_owned()),
    ];
    row.extend(Part::ALL.map(share));
    row.push(figure(test.ca_mg_percent(), 2));
    row.push(test.k_printed.as_ref().map_or(String::new(), |k| k.text(2)));
    row.push(test.k_printed.as_ref().map_or(String::new(), |_| result.k_unit.clone()));
    row.push(test.programme.clone().unwrap_or_default());
    row.push(spread_words(result, at));
    row.push(remarks.join("; "));
    row
}
