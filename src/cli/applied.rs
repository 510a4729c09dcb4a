//! `holdground applied`: what was spread against what was asked.

use std::path::Path;

use geo::MultiPolygon;
use holdground::applied::{AppliedMap, Held, LogColumns, LogPoint, Width, ZoneHeld, hold_against, points_of, read_log};
use holdground::audit::rate_map::RateMap;
use holdground::audit::rate_unit::{self, RateUnit};
use holdground::audit::{Ground, Prescription, RateLayer};
use holdground::diagnostic::{Code, Diagnostic, Place};
use holdground::export::{DifferenceWords, OutputFile, difference_png};
use holdground::units::{M2_PER_ACRE, thousands};

use super::args::AppliedArgs;
use super::audit::plan::Plan;
use super::console::Console;
use super::exit_code::ExitCode;
use super::inputs::read_bytes;
use super::vector_file::read_log_rows;
use super::{Failure, write};

/// The log and the planned layer do not fit each other.
pub(crate) static LOG_AGAINST_NOTHING: Code = Code {
    name: "log-against-nothing",
    checks: "that a log is held against one layer of rates of the folder, on the same ground and in a unit of the same kind",
    why: "a log held against another product's rates would call a good job a bad one",
    example: "three layers in `gis`, and no `--layer`; or gallons against pounds",
    mend: "name the layer by `--layer`, the log's unit by `--unit`",
};
/// Messages of this module, for `holdground explain`.
pub(crate) static CODES: &[&Code] = &[&LOG_AGAINST_NOTHING];

fn fault(message: String, flag: &'static str, help: &str) -> Box<Diagnostic> {
    Box::new(Diagnostic::error(&LOG_AGAINST_NOTHING, message).at(Place::Flag(flag)).with_help(help))
}

/// `holdground applied LOG --against DIR`
pub(crate) fn applied(args: &AppliedArgs, console: &Console) -> Result<ExitCode, Failure> {
    let target = args.out.as_ref().map(|out| write::Target::new(out, false)).transpose()?;
    let refused = |fault: Box<Diagnostic>| Failure::refused(vec![*fault]);
    let layers = Plan::read(&args.against).map_err(refused)?.into_layers();
    let plan = chosen(&layers, args.layer.as_deref()).map_err(refused)?;
    let (layer, unit) = (&plan.layers[0], planned_unit(plan).map_err(refused)?);
    let factor = factor(&args.unit, unit).map_err(refused)?;
    let width = match args.width_ft.parse::<f64>() {
        Ok(feet) if (1.0..=200.0).contains(&feet) => Width::Feet(feet),
        Ok(feet) => {
            return Err(refused(fault(format!("a width of {feet} ft must lie between 1 and 200"), "--width-ft", "")));
        }
        Err(_) => Width::Column(args.width_ft.clone()),
    };
    let columns = LogColumns { lon: args.lon.clone(), lat: args.lat.clone(), rate: args.rate.clone(), width };
    let points = logged(&args.log, &columns).map_err(Failure::refused)?;
    let numbered = zone_numbers(plan);
    let maps = RateMap::new(plan, layer)
        .map(|rates| AppliedMap { rates, zones: numbered.as_ref().and_then(|zones| RateMap::new(plan, zones)) });
    let held = maps.and_then(|maps| hold_against(&points, &maps, factor));
    let nothing = || {
        let message = format!("`{}` orders nothing that a log could be held against", layer.name);
        refused(fault(message, "--against", "name another layer by `--layer`"))
    };
    let held = held.ok_or_else(nothing)?;
    if held.n_points[0] == 0 {
        let message = format!("none of {} points lies on ground that `{}` treats", points.len(), layer.name);
        return Err(refused(fault(
            message,
            "--against",
            "see that log and folder are of one field, degrees on WGS 84",
        )));
    }
    console.result(&words(&held, &plan.name, unit));
    if let Some(target) = target {
        let mut files = vec![OutputFile::new("applied.csv", table(&held, unit))];
        files.extend(picture(&held, plan, unit).map(|png| OutputFile::new("applied.png", png)));
        target.write(&files)?;
    }
    Ok(ExitCode::Done)
}

/// Points of a log: of a vector file by its ending, else of comma-separated text.
fn logged(path: &Path, columns: &LogColumns) -> Result<Vec<LogPoint>, Vec<Diagnostic>> {
    let ending = path.extension().map_or(String::new(), |ending| ending.to_string_lossy().to_lowercase());
    if ["shp", "gpkg", "geojson", "json"].contains(&ending.as_str()) {
        return points_of(&read_log_rows(path)?, columns);
    }
    read_log(&path.display().to_string(), &read_bytes(path, "the log")?, columns)
}

fn picture(held: &Held, plan: &Prescription, unit: &RateUnit) -> Option<Vec<u8>> {
    let layer = &plan.layers[0];
    let Ground::Shapes { set, .. } = layer.ground else { return None };
    let ground: Vec<&MultiPolygon> = plan.shape_sets[set].shapes.iter().map(|shape| &shape.polygons).collect();
    let ac = |m2: f64| format!("{} ac", thousands(m2 / M2_PER_ACRE, 1));
    let total = |rate_m2: f64| format!("{} {}", thousands(rate_m2 / unit.per_m2, 0), unit.amount);
    let name = format!("{}   {} to treat", layer.name, ac(held.treated_m2));
    let caption = [
        format!(
            "{} logged, {} planned. Skipped {}, covered twice {}; passes over one place are added up.",
            total(held.applied_m2),
            total(held.planned_m2),
            ac(held.skipped_m2),
            ac(held.twice_m2)
        ),
        "Bare: within 10 %, and ground that was to get nothing and got nothing.".to_owned(),
        "A log says what the machine believed, not what fell.".to_owned(),
    ];
    difference_png(held, &ground, DifferenceWords { layer: &name, caption: &caption })
}

/// The layer named, or the only one.
fn chosen<'a>(layers: &'a [Prescription], stem: Option<&str>) -> Result<&'a Prescription, Box<Diagnostic>> {
    let stem_of = |plan: &Prescription| {
        Path::new(&plan.name).file_stem().map_or(String::new(), |stem| stem.to_string_lossy().into_owned())
    };
    let names: Vec<String> = layers.iter().map(|plan| format!("`{}`", stem_of(plan))).collect();
    let message = match (stem, layers) {
        (None, [only]) => return Ok(only),
        (None, _) => format!("the folder holds {} layers of rates: {}", layers.len(), names.join(", ")),
        (Some(stem), _) => match layers.iter().find(|plan| stem_of(plan).eq_ignore_ascii_case(stem)) {
            Some(plan) => return Ok(plan),
            None => format!("the folder has no layer of rates `{stem}`; it has {}", names.join(", ")),
        },
    };
    Err(fault(message, "--layer", "name the one that was spread"))
}

fn planned_unit(plan: &Prescription) -> Result<&'static RateUnit, Box<Diagnostic>> {
    let stated = plan.layers[0].unit.as_deref();
    stated.and_then(rate_unit::named).ok_or_else(|| {
        let message = format!("`{}` states no unit known here: {}", plan.name, stated.unwrap_or("none"));
        fault(message, "--against", "run again to write the folder")
    })
}

/// What turns the log's rates into the plan's unit.
fn factor(text: &str, planned: &RateUnit) -> Result<f64, Box<Diagnostic>> {
    let Some(unit) = rate_unit::named(text) else {
        let known: Vec<&str> = rate_unit::UNITS.iter().map(|(unit, _)| unit.name).collect();
        let message = format!("`{text}` is no unit of rates known here: {}", known.join(", "));
        return Err(fault(message, "--unit", "write the unit the log's rates are in, of product"));
    };
    if unit.counted != planned.counted {
        let message =
            format!("the log is in {}, the plan in {}: no number turns one into the other", unit.name, planned.name);
        return Err(fault(message, "--unit", "name the layer of the product that was spread"));
    }
    Ok(unit.in_base / planned.in_base)
}

/// The layer with its zone numbers in the place of rates; `None` where its table has none.
fn zone_numbers(plan: &Prescription) -> Option<RateLayer> {
    let table = plan.tables.first()?;
    let zones = table.column("ZONE").or_else(|| table.column("CLASS"))?;
    let Ground::Shapes { set, rates } = &plan.layers[0].ground else { return None };
    let numbers = (0..rates.len()).map(|record| zones.number(record)).collect();
    Some(RateLayer { ground: Ground::Shapes { set: *set, rates: numbers }, ..plan.layers[0].clone() })
}

fn words(held: &Held, plan: &str, unit: &RateUnit) -> String {
    let ac = |m2: f64| format!("{} ac", thousands(m2 / M2_PER_ACRE, 1));
    let percent = |share: f64| format!("{:.1} %", 100.0 * share);
    let total = |rate_m2: f64| format!("{} {}", thousands(rate_m2 / unit.per_m2, 0), unit.amount);
    let mut text =
        format!("Against {plan}\n  {} to treat, in cells of {:.1} m\n", ac(held.treated_m2), held.cells.cell_m);
    text += &format!("  within half a width of the way driven: {}\n", percent(held.covered_share));
    text += &format!("  ground within 10 % of its rate: {}\n", percent(held.ground_within_share));
    let [on, off] = held.n_points;
    text += &format!(
        "  points within 10 % of the planned rate: {} of {} ({} more lie elsewhere)\n",
        percent(held.points_within_share.unwrap_or(0.0)),
        thousands(on as f64, 0),
        thousands(off as f64, 0)
    );
    text += &format!("  skipped {}, covered twice {}\n", ac(held.skipped_m2), ac(held.twice_m2));
    let apart = 100.0 * (held.applied_m2 / held.planned_m2 - 1.0);
    text += &format!("  {} logged, {} planned ({apart:+.1} %)\n", total(held.applied_m2), total(held.planned_m2));
    for zone in &held.zones {
        let name = if zone.zone == 0 { "all ground".to_owned() } else { format!("zone {}", zone.zone) };
        text += &format!(
            "  {name:<12}{:>10}  mean {} {} for {}, {} within 10 %\n",
            ac(zone.m2),
            thousands(zone.applied_m2 / zone.m2, 2),
            unit.name,
            thousands(zone.planned_m2 / zone.m2, 2),
            percent(zone.within_m2 / zone.m2)
        );
    }
    if let Some(mistake) = &held.mistake {
        text += &format!("  The rates look like a mistaken unit: {mistake}. See `--unit`.\n");
    }
    text += "  A log says what the machine believed, not what fell: weigh what is left in the bin.\n";
    text
}

fn table(held: &Held, unit: &RateUnit) -> String {
    let mut text = "zone,area_ac,covered_ac,skipped_ac,covered_twice_ac,unit,planned_mean,logged_mean,\
                    within_10_percent_ac,total_unit,planned_total,logged_total\n"
        .to_owned();
    let row = |zone: &ZoneHeld| {
        let ac = |m2: f64| format!("{:.2}", m2 / M2_PER_ACRE);
        [
            if zone.zone == 0 { String::new() } else { zone.zone.to_string() },
            ac(zone.m2),
            ac(zone.covered_m2),
            ac(zone.m2 - zone.covered_m2),
            ac(zone.twice_m2),
            unit.name.to_owned(),
            format!("{:.3}", zone.planned_m2 / zone.m2),
            format!("{:.3}", zone.applied_m2 / zone.m2),
            ac(zone.within_m2),
            unit.amount.to_owned(),
            format!("{:.2}", zone.planned_m2 / unit.per_m2),
            format!("{:.2}", zone.applied_m2 / unit.per_m2),
        ]
        .join(",")
    };
    for zone in &held.zones {
        text += &row(zone);
        text.push('\n');
    }
    text
}
