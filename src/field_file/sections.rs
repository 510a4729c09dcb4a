//! The sections of the field file, one function each.

use toml_edit::Item;

use super::reader::{MISSING_KEY, Reader, Section, WRONG_VALUE};
use super::{Answer, FieldSettings};
use crate::rates::{BelowLeast, Crop, GoalYield, KNeed, Machine, Pass, Product, RateSettings, tri_state_1995};
use crate::samples::{
    Analyte, ColumnSetting, DepthSetting, LabMethod, MethodSetting, OutsideRule, PlacesSetting, SampleLines,
    SampleSettings, SheetCoordinates,
};
use crate::soil_surface::{SurfaceSettings, Variable};
use crate::surface::mesh_setting::{MeshSetting, Power};
use crate::surface::method::Method;
use crate::units::{LabUnit, UnitSystem};
use crate::zones::ZoneSettings;

/// Largest number of zones.
const MAX_ZONES: f64 = 6.0;

/// `[field]`, with crop and goal for the rates.
pub(super) fn field<'a>(
    reader: &mut Reader<'a>,
    root: &mut Section<'a>,
) -> (Option<FieldSettings>, Option<Crop>, Option<GoalYield>) {
    let mut section = reader.section(root, "field");
    let name = reader.text(&mut section, "name");
    let name = reader.required(&section, "name", name);
    let short = reader.text(&mut section, "short");
    let short = reader.required(&section, "short", short).filter(|short| {
        let fits = (1..=6).contains(&short.len()) && short.chars().all(|c| c.is_ascii_alphanumeric());
        if !fits {
            wrong(
                reader,
                &section,
                "short",
                format!("`{short}` must be 1 to 6 letters or digits; it starts file names"),
            );
        }
        fits
    });
    let outline = reader.text(&mut section, "outline");
    let outline = reader.required(&section, "outline", outline);
    let outline_line = section.line_of(reader, "outline");
    let outline_crs = reader.text(&mut section, "outline_crs").given();
    let work_crs = reader.text(&mut section, "work_crs").given();
    let crop = choice(reader, &mut section, "crop", Crop::parse, &Crop::ALL.map(Crop::name)).given();
    let season = reader.number(&mut section, "season").given().map(|year| year as u32);
    let goal = reader.numbers(&mut section, "goal_bu_ac").given().and_then(|goals| {
        if goals.iter().any(|&goal| !(0.0..=400.0).contains(&goal)) || goals.is_empty() {
            wrong(reader, &section, "goal_bu_ac", "`field.goal_bu_ac` must lie between 0 and 400 bu/ac".to_owned());
            return None;
        }
        Some(if goals.len() == 1 { GoalYield::Field(goals[0]) } else { GoalYield::Zones(goals) })
    });
    let issued = reader.date(&mut section, "issued").given();
    let units = choice(reader, &mut section, "units", unit_system, &["us", "si"]);
    if matches!(units, Answer::Absent) {
        reader.default_row("field.units", "us");
    }
    reader.finish(section);
    let settings = match (name, short, outline) {
        (Some(name), Some(short), Some(outline)) => Some(FieldSettings {
            name,
            short: short.to_uppercase(),
            outline,
            outline_crs,
            outline_line,
            work_crs,
            season,
            issued,
            units: units.given().unwrap_or(UnitSystem::Us),
        }),
        _ => None,
    };
    (settings, crop, goal)
}

fn unit_system(text: &str) -> Option<UnitSystem> {
    match text {
        "us" => Some(UnitSystem::Us),
        "si" => Some(UnitSystem::Si),
        _ => None,
    }
}

/// `[samples]`, with the day the cores were taken.
pub(super) fn samples<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> (Option<SampleSettings>, Option<String>) {
    let mut section = reader.section(root, "samples");
    let file = reader.text(&mut section, "file");
    let file = reader.required(&section, "file", file);
    let id_column = reader.text(&mut section, "id");
    let id_column = reader.required(&section, "id", id_column);
    let lines = SampleLines {
        id: section.line_of(reader, "id"),
        places: section.line_of(reader, "places"),
        depth: section.line_of(reader, "depth_in"),
    };
    let places = places(reader, &mut section);
    let depth = depth(reader, &mut section);
    let taken = reader.date(&mut section, "taken").given();
    let rule_ph = reader.number(&mut section, "buffer_not_run_at_or_above_ph").given();
    let soil_lb_ac = reader.number(&mut section, "soil_lb_ac").given();
    let outside = choice(reader, &mut section, "outside", outside_rule, &["refuse", "leave-out"]);
    if matches!(outside, Answer::Absent) {
        reader.default_row("samples.outside", "refuse");
    }
    let mut column_section = reader.section(&mut section, "columns");
    let mut columns = Vec::new();
    for (key, item) in column_section.entries() {
        columns.extend(column(reader, &column_section, &key, item, &depth, soil_lb_ac.is_some()));
    }
    if columns.is_empty() && reader.faults.is_empty() {
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
            outside: outside.given().unwrap_or(OutsideRule::Refuse),
            soil_lb_ac,
            file,
            field_file: reader.file.to_owned(),
            lines,
        }),
        _ => None,
    };
    (settings, taken)
}

fn outside_rule(text: &str) -> Option<OutsideRule> {
    match text {
        "refuse" => Some(OutsideRule::Refuse),
        "leave-out" => Some(OutsideRule::LeaveOut),
        _ => None,
    }
}

fn places<'a>(reader: &mut Reader<'a>, parent: &mut Section<'a>) -> Option<PlacesSetting> {
    let mut section = reader.section(parent, "places");
    if !section.is_there() {
        let message = "`samples.places` is missing".to_owned();
        let help = "write `places = { from = \"file\", lon = \"..\", lat = \"..\", crs = \"EPSG:4326\" }`, or name a point file";
        reader.fault(&MISSING_KEY, parent.line, "samples.places", message, help);
        return None;
    }
    let from = reader.text(&mut section, "from");
    let from = reader.required(&section, "from", from)?;
    let crs = reader.text(&mut section, "crs");
    let result = if from == "file" {
        // Degrees are lon and lat; metres or feet are east and north. Either pair, not both.
        let (lon, lat) = (reader.text(&mut section, "lon"), reader.text(&mut section, "lat"));
        let (east, north) = (reader.text(&mut section, "east"), reader.text(&mut section, "north"));
        let pair = lon.given().zip(lat.given()).or(east.given().zip(north.given()));
        if pair.is_none() {
            let message = "`samples.places` needs the columns `lon` and `lat`, or `east` and `north`".to_owned();
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
            (Some((x_column, y_column)), Some(crs), Some(offset)) => {
                Some(PlacesSetting::Sheet(SheetCoordinates { x_column, y_column, crs, offset }))
            }
            _ => None,
        }
    } else {
        let id = reader.text(&mut section, "id");
        let id = reader.required(&section, "id", id);
        id.map(|id| PlacesSetting::Points { file: from, id, crs: crs.given() })
    };
    reader.finish(section);
    result
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
        let top = reader.text(&mut section, "top");
        let top = reader.required(&section, "top", top);
        let bottom = reader.text(&mut section, "bottom");
        let bottom = reader.required(&section, "bottom", bottom);
        let take = reader.numbers(&mut section, "take").given();
        reader.finish(section);
        let take_in = match take.as_deref() {
            None => None,
            Some([top_in, bottom_in]) if check(reader, [*top_in, *bottom_in]) => Some([*top_in, *bottom_in]),
            Some(list) => {
                if list.len() != 2 {
                    let message = "`take` must be two numbers, top and bottom in inches".to_owned();
                    reader.fault(&WRONG_VALUE, line, "samples.depth_in.take", message, "");
                }
                return None;
            }
        };
        return Some(DepthSetting::Columns { top: top?, bottom: bottom?, take_in });
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
        reader.fault(&super::UNKNOWN_KEY, line, &path, format!("`{key}` is not an analyte this version reads"), &help);
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
    if unit == Some(LabUnit::LbAc) && matches!(depth, Some(DepthSetting::Unknown)) && !soil_is_stated {
        let message = "pounds an acre need the depth of the cores".to_owned();
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

/// `[surface]`
pub(super) fn surface<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> Option<SurfaceSettings> {
    let mut section = reader.section(root, "surface");
    let names = ["mesh", "mean", "nearest", "triangle", "natural-neighbor", "distance"];
    let named =
        choice(reader, &mut section, "method", |text| names.iter().find(|name| **name == text).copied(), &names);
    if matches!(named, Answer::Absent) {
        reader.default_row("surface.method", "mesh");
    }
    let name = named.given().unwrap_or("mesh");
    let power = reader.number(&mut section, "power").given().and_then(|exponent| {
        let power = Power::from_exponent(exponent);
        if power.is_none() {
            wrong(reader, &section, "power", format!("power {exponent} is not one of 1, 1.5, 2, 3, 4"));
        }
        power
    });
    let rings = ranged(reader, &mut section, "rings", 1.0, 3.0);
    let slope_share = ranged(reader, &mut section, "slope_share", 0.0, 1.0);
    let nearest = ranged(reader, &mut section, "nearest", 1.0, 1000.0).map(|n| n as usize);
    let cell_m = ranged(reader, &mut section, "cell_m", 0.5, 100.0);
    if cell_m.is_none() {
        reader.default_row("surface.cell_m", "5");
    }
    let stated = power.is_some() || rings.is_some() || slope_share.is_some();
    let setting = stated.then(|| MeshSetting {
        power: power.unwrap_or(Power::P2),
        rings: rings.unwrap_or(1.0) as usize,
        trend_share: slope_share.unwrap_or(0.0),
    });
    reader.finish(section);
    let method = match name {
        "mean" => Method::Mean,
        "nearest" => Method::Nearest,
        "triangle" => Method::Triangle,
        "natural-neighbor" => Method::NaturalNeighbor,
        "distance" => Method::Distance { power: power.unwrap_or(Power::P2), nearest },
        _ => Method::Mesh(setting),
    };
    Some(SurfaceSettings { method, cell_m: cell_m.unwrap_or(5.0) })
}

/// `[zones]`
pub(super) fn zones<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> Option<ZoneSettings> {
    let mut section = reader.section(root, "zones");
    if !section.is_there() {
        return None;
    }
    let from = reader.texts(&mut section, "from");
    if matches!(from, Answer::Absent) {
        reader.default_row("zones.from", "[\"cec\", \"ca_saturation\", \"mg_saturation\"]");
    }
    let from = match from.given() {
        None => ZoneSettings::DEFAULT_FROM.to_vec(),
        Some(keys) => {
            let line = section.line_of(reader, "from");
            keys.iter()
                .filter_map(|key| {
                    let variable = Variable::from_key(key);
                    if variable.is_none() {
                        let known: Vec<&str> = Variable::all().iter().map(|variable| variable.key()).collect();
                        let help = format!("zones can be drawn from: `{}`", known.join("`, `"));
                        reader.fault(
                            &WRONG_VALUE,
                            line,
                            "zones.from",
                            format!("`{key}` is not a mapped quantity"),
                            &help,
                        );
                    }
                    variable
                })
                .collect()
        }
    };
    let method = choice(reader, &mut section, "method", |text| (text == "k-means").then_some(()), &["k-means"]);
    if matches!(method, Answer::Absent) {
        reader.default_row("zones.method", "k-means");
    }
    let line = section.line_of(reader, "count");
    let count = if section.is_text("count") {
        choice(reader, &mut section, "count", |text| (text == "suggest").then_some(0.0), &["suggest"])
    } else {
        reader.number(&mut section, "count")
    };
    let count = match count {
        Answer::Given(count) if count == 0.0 || (1.0..=MAX_ZONES).contains(&count) && count.fract() == 0.0 => {
            Some(count as usize)
        }
        Answer::Given(count) => {
            let message = format!("`zones.count = {count}`, but 1 to {MAX_ZONES} zones can be drawn");
            reader.fault(
                &WRONG_VALUE,
                line,
                "zones.count",
                message,
                "write a whole number from 1 to 6, or \"suggest\"",
            );
            None
        }
        other => reader.required(&section, "count", other).map(|count| count as usize),
    };
    reader.finish(section);
    count.map(|count| ZoneSettings { from, count: (count > 0).then_some(count) })
}

/// `[need]`, `[products]`, `[passes]`, `[machine]`
pub(super) fn rates<'a>(
    reader: &mut Reader<'a>,
    root: &mut Section<'a>,
    crop: Option<Crop>,
    goal: Option<GoalYield>,
) -> RateSettings {
    let mut section = reader.section(root, "need");
    let need = if section.is_text("k") {
        reader.text(&mut section, "k").and_then(|_| None)
    } else {
        k_need(reader, &mut section)
    };
    reader.finish(section);
    let mut section = reader.section(root, "products");
    let mut products = Vec::new();
    for (short, item) in section.entries() {
        products.extend(product(reader, &section, &short, item));
    }
    reader.finish(section);
    let passes = passes(reader, root, &products);
    let machine = machine(reader, root);
    RateSettings { crop, goal, need: need.given(), products, passes, machine }
}

fn k_need<'a>(reader: &mut Reader<'a>, parent: &mut Section<'a>) -> Answer<KNeed> {
    let mut section = reader.section(parent, "k");
    if !section.is_there() {
        return Answer::Absent;
    }
    let guide = choice(
        reader,
        &mut section,
        "guide",
        |text| (text == tri_state_1995::NAME).then_some(()),
        &[tri_state_1995::NAME],
    );
    let line = section.line_of(reader, "k2o_lb_ac");
    let fixed = reader.numbers(&mut section, "k2o_lb_ac");
    let need = match (guide, fixed) {
        (Answer::Given(()), Answer::Absent) => Answer::Given(KNeed::TriState1995),
        (Answer::Absent, Answer::Given(rates)) if rates.iter().all(|rate| (0.0..=600.0).contains(rate)) => {
            Answer::Given(KNeed::Fixed(rates))
        }
        (Answer::Absent, Answer::Given(_)) => {
            let message = "`need.k.k2o_lb_ac` must lie between 0 and 600 lb/ac".to_owned();
            reader.fault(&WRONG_VALUE, line, "need.k.k2o_lb_ac", message, "");
            Answer::Absent
        }
        (Answer::Given(()), Answer::Given(_)) => {
            let message = "`need.k` states both a guide and fixed figures".to_owned();
            reader.fault(&WRONG_VALUE, section.line, "need.k", message, "keep one of them");
            Answer::Absent
        }
        (Answer::Absent, Answer::Absent) => {
            let message = "`need.k` states neither a guide nor fixed figures".to_owned();
            let help = "write `k = { guide = \"tri-state-1995\" }` or `k = { k2o_lb_ac = [90, 69, 0] }`";
            reader.fault(&MISSING_KEY, section.line, "need.k", message, help);
            Answer::Absent
        }
        _ => Answer::Open,
    };
    reader.finish(section);
    need
}

fn product<'a>(reader: &mut Reader<'a>, parent: &Section<'a>, short: &str, item: &'a Item) -> Option<Product> {
    let mut section = reader.section_of(item, parent.path_of(short));
    if !(1..=4).contains(&short.len()) || !short.chars().all(|c| c.is_ascii_alphabetic()) {
        let message = format!("`{short}` must be 1 to 4 letters; it stands in file names");
        reader.fault(&WRONG_VALUE, section.line, &section.path, message, "");
    }
    let name = reader.text(&mut section, "name");
    let name = reader.required(&section, "name", name);
    let k2o_percent = reader.number(&mut section, "k2o_percent");
    let k2o_percent = reader.required(&section, "k2o_percent", k2o_percent).filter(|&percent| {
        let fits = percent > 0.0 && percent <= 65.0;
        if !fits {
            wrong(reader, &section, "k2o_percent", format!("{percent} % K2O: must be above 0 and at most 65"));
        }
        fits
    });
    let usd_short_ton = ranged(reader, &mut section, "usd_short_ton", 0.0, 5000.0);
    reader.finish(section);
    Some(Product { short: short.to_uppercase(), name: name?, k2o_percent: k2o_percent?, usd_short_ton })
}

fn passes<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>, products: &[Product]) -> Vec<Pass> {
    let mut section = reader.section(root, "passes");
    let mut passes = Vec::new();
    if let Some(list) = reader.tables(&mut section, "order").given() {
        if list.len() > 1 {
            let message = format!("{} passes, but this version plans one", list.len());
            reader.fault(&WRONG_VALUE, section.line, "passes.order", message, "name the pass that brings the potash");
        }
        for (index, value) in list.into_iter().enumerate() {
            passes.extend(pass(reader, value, format!("passes.order[{}]", index + 1), products));
        }
    }
    reader.finish(section);
    passes
}

fn pass<'a>(reader: &mut Reader<'a>, value: &'a toml_edit::Value, path: String, products: &[Product]) -> Option<Pass> {
    let mut section = reader.section_of_value(value, path);
    let name = reader.text(&mut section, "name");
    let name = reader.required(&section, "name", name);
    let allowed = reader.texts(&mut section, "products");
    let allowed = reader.required(&section, "products", allowed);
    let product = allowed.and_then(|allowed| match &allowed[..] {
        [one] if products.iter().any(|p| p.short == one.to_uppercase()) => Some(one.to_uppercase()),
        [one] => {
            wrong(reader, &section, "products", format!("`{one}` is not one of `[products]`"));
            None
        }
        _ => {
            wrong(
                reader,
                &section,
                "products",
                format!("{} products, but this version spreads one a pass", allowed.len()),
            );
            None
        }
    });
    let usd_ac = ranged(reader, &mut section, "usd_ac", 0.0, 500.0);
    reader.finish(section);
    Some(Pass { name: name?, product: product?, usd_ac })
}

fn machine<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> Option<Machine> {
    let mut section = reader.section(root, "machine");
    if !section.is_there() {
        return None;
    }
    let mut rate = reader.section(&mut section, "rate_lb_ac");
    let least = ranged(reader, &mut rate, "least", 0.0, 20_000.0);
    let most = ranged(reader, &mut rate, "most", 0.0, 20_000.0);
    let step = ranged(reader, &mut rate, "step", 0.1, 1000.0);
    let line = rate.line;
    for (key, value) in [("least", least), ("most", most), ("step", step)] {
        if value.is_none() {
            reader.required(&rate, key, Answer::<f64>::Absent);
        }
    }
    reader.finish(rate);
    let below = |text: &str| match text {
        "zero" => Some(BelowLeast::Zero),
        "least" => Some(BelowLeast::Least),
        _ => None,
    };
    let below_least = choice(reader, &mut section, "below_least", below, &["zero", "least"]);
    let below_least = reader.required(&section, "below_least", below_least);
    reader.finish(section);
    let (least_lb_ac, most_lb_ac, step_lb_ac) = (least?, most?, step?);
    if least_lb_ac > most_lb_ac || step_lb_ac > most_lb_ac {
        let message = format!("least {least_lb_ac}, most {most_lb_ac}, step {step_lb_ac} lb/ac contradict each other");
        reader.fault(&WRONG_VALUE, line, "machine.rate_lb_ac", message, "least and step must not exceed most");
        return None;
    }
    Some(Machine { least_lb_ac, most_lb_ac, step_lb_ac, below_least: below_least? })
}

/// A number within a range; a fault outside it.
fn ranged<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>, key: &str, least: f64, most: f64) -> Option<f64> {
    let number = reader.number(section, key).given()?;
    if (least..=most).contains(&number) {
        return Some(number);
    }
    wrong(reader, section, key, format!("{number} must lie between {least} and {most}"));
    None
}

/// One of a few words; a fault that lists them otherwise.
fn choice<'a, T>(
    reader: &mut Reader<'a>,
    section: &mut Section<'a>,
    key: &str,
    parse: impl Fn(&str) -> Option<T>,
    words: &[&str],
) -> Answer<T> {
    let answer = reader.text(section, key);
    answer.and_then(|text| {
        let parsed = parse(&text);
        if parsed.is_none() {
            let path = section.path_of(key);
            let line = section.line_of(reader, key);
            let message = format!("`{text}` is not one of `{}`", words.join("`, `"));
            reader.fault(&WRONG_VALUE, line, &path, message, "");
        }
        parsed
    })
}

fn wrong<'a>(reader: &mut Reader<'a>, section: &Section<'a>, key: &str, message: String) {
    let line = section.line_of(reader, key);
    reader.fault(&WRONG_VALUE, line, &section.path_of(key), message, "");
}
