//! The sections of a drafted field file.

use super::dates::{SampledOn, sampled_on};
use super::draft::{LeftAside, PlacesFound, Sources};
use super::lines::{Lines, quoted};
use super::sample_columns::{self, ReadColumns};
use crate::columns::{DepthUnit, Role};
use crate::rates::guide::Guide;
use crate::samples::{NameMatch, WordMeaning, depth_span};
use crate::sheet::{DecimalMark, SamplesIn, SheetForm, TextEncoding};

/// `[field]`
pub(super) fn field(lines: &mut Lines, sources: &Sources<'_>) {
    let stem = &field_name(stem(sources.outline_file));
    lines.line("[field]", "");
    lines.line(&format!("name = {}", quoted(stem)), "printed on every page and picture; from the outline's file name");
    lines.line(&format!("short = {}", quoted(&short(stem))), "starts file names: 1 to 6 letters or digits");
    let about = format!("the boundary: {:.1} ac", sources.boundary.area_ac());
    lines.line(&format!("outline = {}", quoted(sources.outline_file)), &about);
    if let Some(crs) = sources.outline_crs {
        lines.line(&format!("outline_crs = {}", quoted(crs)), "as stated on the command line; the file has none");
    }
    if sources.outline_line_closed {
        lines.line("outline_line = \"close\"", "the outline is a walked line; its ends are joined");
    }
    lines.open_line("crop = \"?\"", "field.crop", "corn | soybean | wheat; needed for rates, not for zones");
    lines.open_line("goal_bu_ac = \"?\"", "field.goal_bu_ac", "yield goal, one number or one a zone; needed for rates");
    lines.line("# season = 2026", "harvest year");
    lines.line("# issued = 2026-03-02", "date printed; the program never reads the clock");
    lines.line("units = \"us\"", "us | si");
}

/// `[samples]` and its columns.
pub(super) fn samples(lines: &mut Lines, sources: &Sources<'_>) -> ReadColumns {
    let mut read = sample_columns::read(sources);
    lines.line("[samples]", "");
    lines.line(&format!("file = {}", quoted(sources.lab_file)), &format!("{} rows", sources.table.rows.len()));
    if let Some(form) = sheet_form(sources.form) {
        match sources.form_reasons {
            [] => lines.line(&format!("sheet = {form}"), ""),
            [reason] => lines.line(&format!("sheet = {form}"), reason),
            reasons => {
                lines.line(&format!("sheet = {form}"), "how the sheet is read:");
                reasons.iter().for_each(|reason| lines.line("", &format!("  {reason}")));
            }
        }
    }
    match read.header_of(&Role::SampleId) {
        Some(id) => lines.line(&format!("id = {}", quoted(&id)), "column with the sample's name"),
        None => lines.line("id = { from = \"rows\" }", "the sheet has no names: rows are numbered from 1"),
    }
    places(lines, sources.places);
    taken(lines, sources, &mut read);
    if read.header_of(&Role::Cores).is_none() {
        lines.line("# cores_per_sample = 12", "how many cores went into one sample");
    }
    depth(lines, sources, &read);
    if read.has_blank_buffer {
        lines.open_line(
            "buffer_not_run_at_or_above_ph = \"?\"",
            "samples.buffer_not_run_at_or_above_ph",
            "buffer cells are blank: from which pH on does the lab not run it, for example 6.8?",
        );
    }
    words(lines, &read);
    lines.line("[samples.columns]", "one line an analyte: lab column, unit, method as the lab prints it");
    sample_columns::write(lines, &read);
    if !read.left_aside.is_empty() {
        lines.line("", "Columns left aside:");
        for LeftAside { column, why } in &read.left_aside {
            lines.line("", &format!("  `{column}`: {why}"));
        }
    }
    read
}

/// The form, as far as it departs from the plain one; `None` where the sheet is plain.
fn sheet_form(form: &SheetForm) -> Option<String> {
    let plain = SheetForm::plain();
    let mut parts = Vec::new();
    if let Some(name) = &form.name {
        parts.push(format!("name = {}", quoted(name)));
    }
    match form.encoding {
        TextEncoding::Utf8 => {}
        TextEncoding::Windows1252 => parts.push("text = \"windows-1252\"".to_owned()),
        TextEncoding::Utf16 => parts.push("text = \"utf-16\"".to_owned()),
    }
    if form.separator != plain.separator {
        let separator = if form.separator == '\t' { "tab".to_owned() } else { form.separator.to_string() };
        parts.push(format!("separator = {}", quoted(&separator)));
    }
    if form.decimal == DecimalMark::Comma {
        parts.push("decimal = \",\"".to_owned());
    }
    if !form.header.is_empty() && form.header != [1] {
        let header: Vec<String> = form.header.iter().map(usize::to_string).collect();
        parts.push(format!("header = [{}]", header.join(", ")));
    }
    if let Some(last) = form.last {
        parts.push(format!("last = {last}"));
    }
    if form.samples_in == SamplesIn::Columns {
        parts.push("samples_in = \"columns\"".to_owned());
    }
    (!parts.is_empty()).then(|| format!("{{ {} }}", parts.join(", ")))
}

fn places(lines: &mut Lines, found: &PlacesFound) {
    match found {
        PlacesFound::Degrees { lon, lat } => lines.line(
            &format!(
                "places = {{ from = \"file\", lon = {}, lat = {}, crs = \"EPSG:4326\" }}",
                quoted(lon),
                quoted(lat)
            ),
            "degrees, by name and range; WGS 84 is what receivers and phones give",
        ),
        PlacesFound::Metric { east, north, crs: Some((crs, why)) } => lines.line(
            &format!(
                "places = {{ from = \"file\", east = {}, north = {}, crs = {} }}",
                quoted(east),
                quoted(north),
                quoted(crs)
            ),
            why,
        ),
        PlacesFound::Metric { east, north, crs: None } => lines.open_line(
            &format!("places = {{ from = \"file\", east = {}, north = {}, crs = \"?\" }}", quoted(east), quoted(north)),
            "samples.places.crs",
            "which CRS the coordinates are in, for example EPSG:26915; nothing can be mapped without",
        ),
        PlacesFound::Points { file, attribute, matching, polygons } => {
            let matching_key = match matching {
                NameMatch::Letters => "",
                NameMatch::Number => ", match = \"number\"",
            };
            let take = if *polygons { ", take = \"polygons\"" } else { "" };
            let why = match matching {
                NameMatch::Letters => "names meet letter by letter, one to one",
                NameMatch::Number => "the numbers in the names meet one to one: look whether that is meant",
            };
            lines.line(
                &format!("places = {{ from = {}, id = {}{take}{matching_key} }}", quoted(file), quoted(attribute)),
                why,
            );
        }
        PlacesFound::Unknown(why) => {
            lines.open_line("places = \"?\"", "samples.places", &format!("{why}; nothing can be mapped without"));
        }
    }
}

fn taken(lines: &mut Lines, sources: &Sources<'_>, read: &mut ReadColumns) {
    let Some((index, header)) = read.position_of(&Role::SampledOn) else {
        lines.line("# taken = 2025-10-14", "day the cores were taken");
        return;
    };
    match sampled_on(sources.table.rows.iter().map(|row| row.cells[index].as_str())) {
        SampledOn::Day(day) => lines.line(&format!("taken = {day}"), &format!("from `{header}`")),
        SampledOn::Last(day, n) => {
            lines.line(&format!("taken = {day}"), &format!("the last of {n} days in `{header}`"));
        }
        SampledOn::Ambiguous(example) => lines.open_line(
            "taken = \"?\"",
            "samples.taken",
            &format!("`{example}` in `{header}` may be day or month first; for example 2025-10-14"),
        ),
        SampledOn::Unreadable => {
            let why = "no dates this program reads".to_owned();
            read.left_aside.push(LeftAside { column: header, why });
        }
    }
}

fn depth(lines: &mut Lines, sources: &Sources<'_>, read: &ReadColumns) {
    let needed = "how deep the cores went, for example [0, 8]";
    let Some((bottom_index, bottom, bottom_unit)) = read.depth_column(|role| match role {
        Role::DepthBottom(unit) => Some(unit.clone()),
        _ => None,
    }) else {
        lines.open_line("depth_in = \"?\"", "samples.depth_in", needed);
        return;
    };
    let top = read.depth_column(|role| match role {
        Role::DepthTop(unit) => Some(unit.clone()),
        _ => None,
    });
    let unit = bottom_unit.value();
    let number =
        |index: usize, row: &crate::sheet::Row| sources.numbers.reading(&row.cells[index]).map(|reading| reading.value);
    let mut depths: Vec<[f64; 2]> = sources
        .table
        .rows
        .iter()
        .filter_map(|row| match &top {
            None => depth_span(&row.cells[bottom_index], sources.numbers),
            Some((top, ..)) => Some([number(*top, row)?, number(bottom_index, row)?]),
        })
        .collect();
    depths.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    depths.dedup();
    // A slip in one cell is told by `check`; it is not the depth to map.
    let most = 60.0 / unit.map_or(1.0, DepthUnit::inches);
    depths.retain(|[top, bottom]| 0.0 <= *top && top < bottom && *bottom <= most);
    let mut parts = Vec::new();
    if let Some((_, top, _)) = &top {
        parts.push(format!("top = {}", quoted(top)));
    }
    parts.push(format!("bottom = {}", quoted(&bottom)));
    match unit {
        Some(DepthUnit::Inches) => {}
        Some(unit) => parts.push(format!("unit = {}", quoted(unit.name()))),
        None => parts.push("unit = \"?\"".to_owned()),
    }
    let comment = match &depths[..] {
        [] => {
            lines.open_line("depth_in = \"?\"", "samples.depth_in", needed);
            return;
        }
        [_] if top.is_none() => "the sheet prints one depth; taken from the surface down".to_owned(),
        [_] => "one depth, as the sheet prints it".to_owned(),
        [first, others @ ..] => {
            parts.push(format!("take = [{}, {}]", first[0], first[1]));
            format!("the topmost of {} depths on the sheet; rows of the others are set aside", others.len() + 1)
        }
    };
    let line = format!("depth_in = {{ {} }}", parts.join(", "));
    match unit {
        Some(_) => lines.line(&line, &comment),
        None => {
            let needed = format!("in | cm? the sheet does not print it; {comment}");
            lines.open_line(&line, "samples.depth_in.unit", &needed);
        }
    }
}

fn words(lines: &mut Lines, read: &ReadColumns) {
    if read.words.is_empty() {
        return;
    }
    let spelled: Vec<String> = read
        .words
        .iter()
        .map(|(word, meaning)| {
            let meaning = if *meaning == WordMeaning::Open { "?" } else { "blank" };
            format!("{} = {}", quoted(word), quoted(meaning))
        })
        .collect();
    let line = format!("words = {{ {} }}", spelled.join(", "));
    let open: Vec<&str> =
        read.words.iter().filter(|(_, meaning)| *meaning == WordMeaning::Open).map(|(word, _)| word.as_str()).collect();
    if open.is_empty() {
        lines.line(&line, "words in the place of numbers; blank = nothing was measured");
    } else {
        let needed = format!(
            "what `{}` means: \"blank\" = nothing was measured, or a limit such as \"<5\"; blank until then",
            open.join("`, `")
        );
        lines.open_line(&line, "samples.words", &needed);
    }
}

/// `[surface]` and `[zones]`
pub(super) fn surface_and_zones(lines: &mut Lines, variables: &[&str]) {
    lines.line("[surface]", "");
    lines.line("method = \"mesh\"", "how values between samples are made");
    lines.line("cell_m = 5", "cell size");
    if !variables.is_empty() {
        lines.line("[zones]", "");
        let from: Vec<String> = variables.iter().map(|variable| quoted(variable)).collect();
        lines.line(&format!("from = [{}]", from.join(", ")), "what makes ground alike");
        lines.line("method = \"k-means\"", "how alike ground is found");
        lines.line("count = \"suggest\"", "as many as the samples support; or 1 to 6");
    } else {
        lines.line("", "no [zones]: the sheet prints too little for CEC and the shares of calcium and magnesium");
    }
}

/// `[need]`, `[products]`, `[passes]`, `[machine]`
pub(super) fn rates(lines: &mut Lines, read: &ReadColumns) {
    lines.line("[need]", "");
    let fitting = |guide: &&Guide| {
        guide.k.as_ref().zip(read.k_method()).is_some_and(|(rule, method)| rule.extractants.contains(&method))
    };
    let needed = match read.k_method() {
        Some(_) if Guide::built_in().iter().any(|guide| fitting(&guide)) => {
            let names = Guide::built_in().iter().filter(fitting).map(|guide| guide.name.as_str());
            let names: Vec<&str> = names.collect();
            format!(
                "{{ guide = \"{}\" }} where it fits, or an adviser's figures: {{ k2o_lb_ac = [90, 69, 0] }}",
                names.join("\" or \"")
            )
        }
        Some(method) => {
            format!("no guide here fits {}: an adviser's figures, such as {{ k2o_lb_ac = [90, 69, 0] }}", method.name())
        }
        None => "a guide that fits the sheet, or an adviser's figures: { k2o_lb_ac = [90, 69, 0] }".to_owned(),
    };
    lines.open_line("k = \"?\"", "need.k", &needed);
    lines.line("# [products]", "short name = printed name, content, delivered price");
    lines.line("# POT = { name = \"Potash 0-0-60\", k2o_percent = 60, usd_short_ton = 440 }", "");
    lines.line("# [passes]", "in the order driven");
    lines.line("# order = [ { name = \"Before planting\", products = [\"POT\"], usd_ac = 9 } ]", "");
    lines.line("[machine]", "needed for the rate file only");
    lines.open_line("rate_lb_ac = \"?\"", "machine.rate_lb_ac", "for example { least = 50, most = 400, step = 5 }");
    lines.open_line("below_least = \"?\"", "machine.below_least", "zero | least: when a rate falls under the least");
}

/// A name that does not read as an answer still to be given.
fn field_name(stem: &str) -> String {
    if ["?", "unknown", ""].contains(&stem) { format!("Field {stem}").trim_end().to_owned() } else { stem.to_owned() }
}

/// File name without folders and ending.
fn stem(file: &str) -> &str {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    match name.rsplit_once('.') {
        Some((stem, _)) if !stem.is_empty() => stem,
        _ => name,
    }
}

/// The first six letters or digits, in capitals; `FIELD` where there are none.
fn short(stem: &str) -> String {
    let short: String = stem.chars().filter(char::is_ascii_alphanumeric).take(6).collect();
    if short.is_empty() { "FIELD".to_owned() } else { short.to_uppercase() }
}
