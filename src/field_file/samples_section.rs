//! `[samples]`: the lab's sheet, its columns, and where the samples lie.

use toml_edit::Item;

use super::Answer;
use super::reader::{MISSING_KEY, Reader, Section, UNKNOWN_KEY, WRONG_VALUE, choice, ranged, wrong};
use super::sheet_section;
use crate::samples::{
    Analyte, ColumnSetting, DepthSetting, DepthUnit, LabMethod, MethodSetting, NameMatch, NumberForm, OutsideRule,
    PlaceShape, PlacesSetting, SampleLines, SampleSettings, SheetCoordinates, WordMeaning,
};
use crate::units::LabUnit;

/// `[samples]`, with the day the cores were taken.
pub(super) fn samples<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> (Option<SampleSettings>, Option<String>) {
    let mut section = reader.section(root, "samples");
    let file = reader.text(&mut section, "file");
    let file = reader.required(&section, "file", file);
    let id_column = id_column(reader, &mut section);
    let lines = SampleLines {
        id: section.line_of(reader, "id"),
        places: section.line_of(reader, "places"),
        depth: section.line_of(reader, "depth_in"),
        taken: section.line_of(reader, "taken"),
        cores: section.line_of(reader, "cores_per_sample"),
        words: section.line_of(reader, "words"),
        leave_out: section.line_of(reader, "leave_out"),
    };
    let places = places(reader, &mut section);
    let depth = depth(reader, &mut section);
    let taken = reader.date(&mut section, "taken").given();
    let cores_per_sample = ranged(reader, &mut section, "cores_per_sample", 1.0, 1000.0);
    let words = words(reader, &mut section);
    let sheet = sheet_section::sheet(reader, &mut section);
    let rule_ph = ranged(reader, &mut section, "buffer_not_run_at_or_above_ph", 5.0, 8.5);
    let buffer_rule_is_open = reader.is_unanswered_key("samples.buffer_not_run_at_or_above_ph");
    let soil_lb_ac = ranged(reader, &mut section, "soil_lb_ac", 2e5, 2e7);
    let outside = choice(reader, &mut section, "outside", outside_rule, &["refuse", "leave-out"]);
    if matches!(outside, Answer::Absent) {
        reader.default_row("samples.outside", "refuse");
    }
    let leave_out = reader.texts(&mut section, "leave_out").given().unwrap_or_default();
    let mut column_section = reader.section(&mut section, "columns");
    let mut columns = Vec::new();
    for (key, item) in column_section.entries() {
        columns.extend(column(reader, &column_section, &key, item, &depth, soil_lb_ac.is_some()));
    }
    repeated_columns(reader, &columns);
    if let (None, Some(DepthSetting::Fixed { top_in, bottom_in })) = (soil_lb_ac, &depth)
        && columns.iter().any(|column: &ColumnSetting| column.unit.needs_depth())
    {
        let soil_lb_ac = crate::units::soil_lb_ac(bottom_in - top_in);
        reader.default_row("samples.soil_lb_ac", &format!("{soil_lb_ac:.0}, from the depth"));
    }
    // A column that waits for its unit is an analyte named.
    if columns.is_empty() && reader.faults.is_empty() && !reader.is_open_below("samples.columns") {
        let message = "`samples.columns` names no analyte".to_owned();
        reader.fault(&MISSING_KEY, section.line, "samples.columns", message, "add one line an analyte");
    }
    reader.finish(section);
    let settings = match (file, id_column, places, depth) {
        (Some(file), Some(id_column), Some(places), Some(depth)) => Some(SampleSettings {
            id_column,
            places,
            depth,
            columns,
            buffer_not_run_at_or_above_ph: rule_ph,
            buffer_rule_is_open,
            outside: outside.given().unwrap_or(OutsideRule::Refuse),
            leave_out,
            soil_lb_ac,
            numbers: NumberForm { decimal: sheet.decimal, words },
            sheet,
            cores_per_sample,
            taken: taken.clone(),
            season: None,
            file,
            field_file: reader.file.to_owned(),
            lines,
        }),
        _ => None,
    };
    (settings, taken)
}

/// `samples.words`: what words in the place of numbers stand for.
fn words<'a>(reader: &mut Reader<'a>, parent: &mut Section<'a>) -> Vec<(String, WordMeaning)> {
    let mut section = reader.section(parent, "words");
    let keys: Vec<String> = section.entries().into_iter().map(|(key, _)| key).collect();
    let mut words = Vec::new();
    for key in keys {
        let meaning = match reader.text(&mut section, &key) {
            Answer::Given(text) if text == "blank" => WordMeaning::Blank,
            Answer::Given(text) => match NumberForm::default().reading(&text) {
                Some(reading) => WordMeaning::Number(reading),
                None => {
                    let message = format!("`{text}` is neither \"blank\" nor a number or limit such as \"<0.1\"");
                    wrong(reader, &section, &key, message);
                    continue;
                }
            },
            Answer::Unknown => WordMeaning::Blank,
            Answer::Open => WordMeaning::Open,
            Answer::Absent => continue,
        };
        words.push((key, meaning));
    }
    words
}

/// Two analytes in one column: one of them would be read from the other's numbers.
fn repeated_columns(reader: &mut Reader<'_>, columns: &[ColumnSetting]) {
    for (index, column) in columns.iter().enumerate() {
        if let Some(first) = columns[..index].iter().find(|first| first.column == column.column) {
            let key = format!("samples.columns.{}", column.analyte.key());
            let message = format!("column `{}` is named for `{}` already", column.column, first.analyte.key());
            reader.fault(&WRONG_VALUE, column.line, &key, message, "name the column of this analyte");
        }
    }
}

fn outside_rule(text: &str) -> Option<OutsideRule> {
    match text {
        "refuse" => Some(OutsideRule::Refuse),
        "leave-out" => Some(OutsideRule::LeaveOut),
        _ => None,
    }
}

/// `samples.id`: a column, or `{ from = "rows" }`.
fn id_column<'a>(reader: &mut Reader<'a>, parent: &mut Section<'a>) -> Option<Option<String>> {
    if parent.is_table("id") {
        let mut section = reader.section(parent, "id");
        let from = choice(reader, &mut section, "from", |text| (text == "rows").then_some(()), &["rows"]);
        let from = reader.required(&section, "from", from);
        reader.finish(section);
        return from.map(|()| None);
    }
    let id = reader.text(parent, "id");
    reader.required(parent, "id", id).map(Some)
}

fn name_match(text: &str) -> Option<NameMatch> {
    match text {
        "letters" => Some(NameMatch::Letters),
        "number" => Some(NameMatch::Number),
        _ => None,
    }
}

fn place_shape(text: &str) -> Option<PlaceShape> {
    match text {
        "points" => Some(PlaceShape::Points),
        "polygons" => Some(PlaceShape::Polygons),
        _ => None,
    }
}

fn places<'a>(reader: &mut Reader<'a>, parent: &mut Section<'a>) -> Option<PlacesSetting> {
    let mut section = reader.section(parent, "places");
    if section.is_open() {
        return Some(PlacesSetting::Open);
    }
    if !section.is_there() {
        let message = "`samples.places` is missing".to_owned();
        let help = "write `places = { from = \"file\", lon = \"..\", lat = \"..\", crs = \"EPSG:4326\" }`, or name a point file";
        reader.fault(&MISSING_KEY, parent.line, "samples.places", message, help);
        return None;
    }
    let from = reader.text(&mut section, "from");
    let from = reader.required(&section, "from", from)?;
    let crs = reader.text(&mut section, "crs");
    let crs_is_open = matches!(crs, Answer::Open | Answer::Unknown);
    let result = if from == "file" {
        // Degrees are lon and lat; meters or feet are east and north. Either pair, not both.
        let (lon, lat) = (reader.text(&mut section, "lon"), reader.text(&mut section, "lat"));
        let (east, north) = (reader.text(&mut section, "east"), reader.text(&mut section, "north"));
        let (degrees, metric) = (lon.given().zip(lat.given()), east.given().zip(north.given()));
        let both = degrees.is_some() && metric.is_some();
        let pair = degrees.or(metric).filter(|_| !both);
        if pair.is_none() {
            let message =
                "`samples.places` needs the columns `lon` and `lat`, or `east` and `north`, not both".to_owned();
            reader.fault(&MISSING_KEY, section.line, "samples.places", message, "");
        }
        let offset = reader.numbers(&mut section, "offset_m").given();
        let offset = match offset.as_deref() {
            None => Some([0.0; 2]),
            Some([east, north]) => Some([*east, *north]),
            Some(_) => {
                wrong(reader, &section, "offset_m", "`offset_m` must be two numbers, east and north".to_owned());
                None
            }
        };
        let crs = reader.required(&section, "crs", crs);
        match (pair, crs, offset) {
            _ if crs_is_open => Some(PlacesSetting::Open),
            (Some((x_column, y_column)), Some(crs), Some(offset)) => {
                Some(PlacesSetting::Sheet(SheetCoordinates { x_column, y_column, crs, offset }))
            }
            _ => None,
        }
    } else {
        let id = reader.text(&mut section, "id");
        let id = reader.required(&section, "id", id);
        let take = choice(reader, &mut section, "take", place_shape, &["points", "polygons"]);
        let take = take.given().unwrap_or(PlaceShape::Points);
        let matching = choice(reader, &mut section, "match", name_match, &["letters", "number"]);
        let matching = matching.given().unwrap_or(NameMatch::Letters);
        id.map(|id| PlacesSetting::Points { file: from, id, matching, crs: crs.given(), take })
    };
    reader.finish(section);
    result
}

fn depth_unit(text: &str) -> Option<DepthUnit> {
    [DepthUnit::Inches, DepthUnit::Centimeters].into_iter().find(|unit| unit.name() == text)
}

fn depth<'a>(reader: &mut Reader<'a>, parent: &mut Section<'a>) -> Option<DepthSetting> {
    let line = parent.line_of(reader, "depth_in");
    let check = |reader: &mut Reader<'a>, [top_in, bottom_in]: [f64; 2]| {
        let fits = 0.0 <= top_in && top_in < bottom_in && bottom_in <= 60.0;
        if !fits {
            let message =
                format!("[{top_in}, {bottom_in}] is not a depth: top and bottom in inches, 0 to 60, top first");
            reader.fault(&WRONG_VALUE, line, "samples.depth_in", message, "for example `depth_in = [0, 7]`");
        }
        fits
    };
    if parent.is_table("depth_in") {
        let mut section = reader.section(parent, "depth_in");
        let top = reader.text(&mut section, "top").given();
        let bottom = reader.text(&mut section, "bottom");
        let bottom = reader.required(&section, "bottom", bottom);
        let unit = match choice(reader, &mut section, "unit", depth_unit, &["in", "cm"]) {
            Answer::Given(unit) => unit,
            Answer::Absent => DepthUnit::Inches,
            Answer::Open | Answer::Unknown => DepthUnit::Open,
        };
        let take = reader.numbers(&mut section, "take").given();
        reader.finish(section);
        let take = take.map(|list| list.into_iter().map(|depth| depth * unit.inches()).collect::<Vec<_>>());
        let take_in = match take.as_deref() {
            None => None,
            Some([top_in, bottom_in]) if check(reader, [*top_in, *bottom_in]) => Some([*top_in, *bottom_in]),
            Some(list) => {
                if list.len() != 2 {
                    let message = "`take` must be two numbers, top and bottom".to_owned();
                    reader.fault(&WRONG_VALUE, line, "samples.depth_in.take", message, "");
                }
                return None;
            }
        };
        return Some(DepthSetting::Columns { top, bottom: bottom?, unit, take_in });
    }
    let numbers = reader.numbers(parent, "depth_in");
    if matches!(numbers, Answer::Unknown | Answer::Open) {
        return Some(DepthSetting::Unknown);
    }
    let numbers = reader.required(parent, "depth_in", numbers)?;
    let [top_in, bottom_in] = numbers[..] else {
        let message = "`samples.depth_in` must be two numbers, top and bottom in inches".to_owned();
        reader.fault(&WRONG_VALUE, line, "samples.depth_in", message, "for example `depth_in = [0, 7]`");
        return None;
    };
    check(reader, [top_in, bottom_in]).then_some(DepthSetting::Fixed { top_in, bottom_in })
}

fn column<'a>(
    reader: &mut Reader<'a>,
    parent: &Section<'a>,
    key: &str,
    item: &'a Item,
    depth: &Option<DepthSetting>,
    soil_is_stated: bool,
) -> Option<ColumnSetting> {
    let path = parent.path_of(key);
    let mut section = reader.section_of(item, path.clone());
    let line = section.line;
    let Some(analyte) = Analyte::from_key(key) else {
        let known: Vec<&str> = Analyte::ALL.iter().map(|analyte| analyte.key()).collect();
        let help = format!("analytes of this version: `{}`", known.join("`, `"));
        reader.fault(&UNKNOWN_KEY, line, &path, format!("`{key}` is not an analyte this version reads"), &help);
        return None;
    };
    let column = reader.text(&mut section, "column");
    let column = reader.required(&section, "column", column);
    let unit_text = reader.text(&mut section, "unit");
    let unit_text = reader.required(&section, "unit", unit_text);
    let unit = unit_text.and_then(|text| {
        let unit = LabUnit::parse(&text).filter(|unit| unit.factor(analyte.quantity(), 1.0).is_some());
        if unit.is_none() {
            let message = format!("`{text}` is not a unit of {}", analyte.label());
            let help = format!("units that fit: `{}`", LabUnit::fitting(analyte.quantity()).join("`, `"));
            reader.fault(&WRONG_VALUE, line, &section.path_of("unit"), message, &help);
        }
        unit
    });
    let depth_is_open =
        matches!(depth, None | Some(DepthSetting::Unknown | DepthSetting::Columns { unit: DepthUnit::Open, .. }));
    let waits_for_depth = unit.is_some_and(LabUnit::needs_depth) && depth_is_open && !soil_is_stated;
    if waits_for_depth && reader.is_open_below("samples.depth_in") {
        // Left out until the depth is told; said with the other open answers.
        reader.open.push((line, format!("{path} (its unit needs samples.depth_in)")));
        return None;
    }
    if waits_for_depth {
        let message = format!("{} needs the depth of the cores", unit.map_or(String::new(), LabUnit::name));
        reader.fault(&MISSING_KEY, line, &path, message, "answer `samples.depth_in`, or state `samples.soil_lb_ac`");
    }
    let fitting = LabMethod::fitting(analyte);
    let method = if section.is_table("method") {
        let mut method_section = reader.section(&mut section, "method");
        let header = reader.text(&mut method_section, "column");
        let header = reader.required(&method_section, "column", header);
        reader.finish(method_section);
        header.map(MethodSetting::Column)
    } else {
        let text = reader.text(&mut section, "method");
        match text {
            Answer::Given(text) => {
                let method = LabMethod::parse(&text).filter(|method| fitting.contains(method));
                if method.is_none() {
                    let names: Vec<&str> = fitting.iter().map(|method| method.name()).collect();
                    let message = format!("`{text}` is not a method of {}", analyte.label());
                    let help = format!("methods of this version: `{}`", names.join("`, `"));
                    reader.fault(&WRONG_VALUE, line, &section.path_of("method"), message, &help);
                }
                method.map(MethodSetting::Fixed)
            }
            Answer::Unknown | Answer::Open => Some(MethodSetting::Fixed(LabMethod::Unknown)),
            Answer::Absent if fitting.len() == 2 => Some(MethodSetting::Fixed(fitting[0])),
            Answer::Absent => {
                reader.required(&section, "method", Answer::<String>::Absent);
                None
            }
        }
    };
    reader.finish(section);
    Some(ColumnSetting { analyte, column: column?, unit: unit?, method: method?, line })
}
