//! `[k]` and `[p]` of a guide.

use super::evidence::Backed;
use super::nutrient_rule::{BuildUp, Critical, CriticalStep, NutrientRule};
use super::toml_walk::{Faults, Walk};
use crate::rates::{Crop, Supply};
use crate::samples::{Analyte, LabMethod};

/// Highest soil test level a guide may state, ppm.
const PPM: [f64; 2] = [0.0, 2000.0];
/// Figures that go with the CEC may have a sign: whether rates stay sane is looked at afterwards.
const PER_CEC: [f64; 2] = [-100.0, 100.0];
/// Pounds an acre.
const LB_AC: [f64; 2] = [0.0, 2000.0];
/// Years of a build-up.
const YEARS: [f64; 2] = [1.0, 50.0];

/// The section of a nutrient; `None` where it is absent or has a fault that leaves it without its figures.
pub(super) fn section<'a>(root: &mut Walk<'a>, faults: &mut Faults<'_>, supply: Supply) -> Option<NutrientRule> {
    let mut walk = root.table(faults, supply.key())?;
    let analyte = if supply == Supply::K2o { Analyte::K } else { Analyte::P };
    let crops = crops(&mut walk, faults);
    let extractants = methods(&mut walk, faults, "extractants", analyte);
    let extractants = walk.must(faults, "extractants", extractants);
    let depth_bottom_in = depth(&mut walk, faults);
    let unit = walk.named(faults, "unit", |text| (text == "ppm by mass").then_some(()), &["ppm by mass"]);
    walk.must(faults, "unit", unit);
    let cec_methods = methods(&mut walk, faults, "cec_methods", Analyte::Cec);
    let critical = walk.backed(faults, "critical", critical);
    let critical = walk.must(faults, "critical", critical);
    let build_up = walk.backed(faults, "build_up", build_up);
    let build_up = walk.must(faults, "build_up", build_up);
    let one = |key: &'static str, range: [f64; 2]| {
        move |walk: &mut Walk<'a>, faults: &mut Faults<'_>| {
            let value = walk.number(faults, key, range);
            walk.must(faults, key, value)
        }
    };
    let maintenance_ppm = walk.backed(faults, "maintenance", one("width_ppm", PPM));
    // A width of 0 would be divided by.
    let draw_down_ppm = walk.backed(faults, "draw_down", one("width_ppm", [0.1, PPM[1]]));
    let added_lb_ac = walk.backed(faults, "added", one("lb_ac", LB_AC));
    let ceiling_ppm = walk.backed(faults, "ceiling", one("ppm", PPM));
    let most_lb_ac = walk.backed(faults, "most", |walk, faults| Some(by_crop(walk, faults, LB_AC)));
    let is_stepped = matches!(&critical, Some(Backed { value: Critical::Steps(_), .. }));
    if is_stepped && walk.has("maintenance") {
        let message = format!("`{}` stands beside steps that have `maintenance_to_ppm`", walk.path_of("maintenance"));
        walk.wrong(faults, "maintenance", message, "keep one of them");
    }
    if !is_stepped && critical.is_some() {
        walk.must(faults, "maintenance", maintenance_ppm.as_ref().map(|_| ()));
    }
    if let (Some(Critical::ByCrop { levels, .. }), Some(crops)) = (critical.as_ref().map(|group| &group.value), &crops)
    {
        for crop in crops.iter().filter(|crop| !levels.iter().any(|(of, _)| of == *crop)) {
            let message = format!("`{}` has no level for {}", walk.path_of("critical.by_crop"), crop.name());
            walk.wrong(faults, "critical", message, format!("add `{} = ..`, or take the crop out", crop.name()));
        }
    }
    walk.finish(faults);
    let rule = NutrientRule {
        crops: crops?,
        extractants: extractants?,
        depth_bottom_in: depth_bottom_in?,
        cec_methods: cec_methods.unwrap_or_default(),
        critical: critical?,
        build_up: build_up?,
        maintenance_ppm,
        draw_down_ppm,
        added_lb_ac,
        most_lb_ac,
        ceiling_ppm,
    };
    if rule.needs_cec() && supply == Supply::P2o5 {
        let help = "state its levels by crop, and build-up without CEC";
        walk.wrong(faults, "critical", "phosphorus by CEC is not read", help);
    } else if rule.needs_cec() && rule.cec_methods.is_empty() {
        walk.must(faults, "cec_methods", None::<()>);
    }
    Some(rule)
}

fn crops(walk: &mut Walk<'_>, faults: &mut Faults<'_>) -> Option<Vec<Crop>> {
    let names: Vec<&str> = Crop::ALL.iter().map(|crop| crop.name()).collect();
    let crops = walk.all_named(faults, "crops", Crop::parse, &names);
    walk.must(faults, "crops", crops)
}

/// Lab methods that fit an analyte.
pub(super) fn methods(
    walk: &mut Walk<'_>,
    faults: &mut Faults<'_>,
    key: &str,
    analyte: Analyte,
) -> Option<Vec<LabMethod>> {
    let fitting: Vec<LabMethod> =
        LabMethod::fitting(analyte).into_iter().filter(|method| *method != LabMethod::Unknown).collect();
    let names: Vec<&str> = fitting.iter().map(|method| method.name()).collect();
    walk.all_named(faults, key, |text| LabMethod::parse(text).filter(|method| fitting.contains(method)), &names)
}

fn depth(walk: &mut Walk<'_>, faults: &mut Faults<'_>) -> Option<[f64; 2]> {
    let depth = walk.numbers(faults, "depth_bottom_in", [1.0, 48.0]);
    match walk.must(faults, "depth_bottom_in", depth)?[..] {
        [least, most] if least <= most => Some([least, most]),
        _ => {
            let message = "`depth_bottom_in` is not the least and the most depth of cores, in";
            walk.wrong(faults, "depth_bottom_in", message, "write for example `[6, 8]`");
            None
        }
    }
}

fn critical<'a>(walk: &mut Walk<'a>, faults: &mut Faults<'_>) -> Option<Critical> {
    let forms = [walk.has("base_ppm"), walk.has("steps"), walk.has("by_crop")];
    match forms {
        [true, false, false] => {
            let base_ppm = walk.number(faults, "base_ppm", PPM);
            let per_cec_ppm = walk.number(faults, "per_cec_ppm", PER_CEC);
            Some(Critical::Linear { base_ppm: base_ppm?, per_cec_ppm: walk.must(faults, "per_cec_ppm", per_cec_ppm)? })
        }
        [false, true, false] => steps(walk, faults).map(Critical::Steps),
        [false, false, true] => {
            let highest_of_rotation = walk.yes(faults, "highest_of_rotation");
            let mut table = walk.table(faults, "by_crop")?;
            let levels = by_crop(&mut table, faults, PPM);
            table.finish(faults);
            Some(Critical::ByCrop { levels, highest_of_rotation })
        }
        _ => {
            let message =
                format!("`{}` must have one of `base_ppm` (with `per_cec_ppm`), `steps`, `by_crop`", walk.path);
            faults.form(walk.line, &walk.path, message, "state the critical level in one of the three forms");
            // Keys of several forms are told once, not again as unknown.
            for key in ["base_ppm", "per_cec_ppm", "steps", "by_crop", "highest_of_rotation"] {
                walk.take(key);
            }
            None
        }
    }
}

fn steps<'a>(walk: &mut Walk<'a>, faults: &mut Faults<'_>) -> Option<Vec<CriticalStep>> {
    let mut steps = Vec::new();
    let tables = walk.tables(faults, "steps")?;
    let n = tables.len();
    for mut table in tables {
        let to_cec = table.number(faults, "to_cec", [0.0, 200.0]);
        let critical_ppm = table.number(faults, "critical_ppm", PPM);
        let critical_ppm = table.must(faults, "critical_ppm", critical_ppm);
        let maintenance_to_ppm = table.number(faults, "maintenance_to_ppm", PPM);
        let maintenance_to_ppm = table.must(faults, "maintenance_to_ppm", maintenance_to_ppm);
        if let (Some(critical), Some(to)) = (critical_ppm, maintenance_to_ppm)
            && to < critical
        {
            let message = format!("maintenance to {to} ppm ends below the critical level of {critical} ppm");
            table.wrong(faults, "maintenance_to_ppm", message, "it must not be less than `critical_ppm`");
        }
        table.finish(faults);
        if let (Some(critical_ppm), Some(maintenance_to_ppm)) = (critical_ppm, maintenance_to_ppm) {
            steps.push(CriticalStep { to_cec, critical_ppm, maintenance_to_ppm });
        }
    }
    let edges: Vec<Option<f64>> = steps.iter().map(|step| step.to_cec).collect();
    let ascends = edges.windows(2).all(|pair| {
        matches!((pair[0], pair[1]), (Some(a), Some(b)) if a < b) || pair[1].is_none() && pair[0].is_some()
    });
    if n == 0 || (steps.len() == n && (edges.last() != Some(&None) || !ascends)) {
        let message = format!("`{}` does not go from low CEC to high", walk.path_of("steps"));
        walk.wrong(
            faults,
            "steps",
            message,
            "each step but the last has `to_cec`, larger than the one before; the last has none",
        );
    }
    (steps.len() == n && n > 0).then_some(steps)
}

fn build_up<'a>(walk: &mut Walk<'a>, faults: &mut Faults<'_>) -> Option<BuildUp> {
    #[derive(Clone, Copy)]
    enum Form {
        Linear,
        SquareRoot,
    }
    let parse = |text: &str| match text {
        "linear" => Some(Form::Linear),
        "square-root" => Some(Form::SquareRoot),
        _ => None,
    };
    let form = walk.named(faults, "form", parse, &["linear", "square-root"]);
    let form = walk.must(faults, "form", form);
    let years = walk.number(faults, "years", YEARS);
    let years = walk.must(faults, "years", years);
    match form? {
        Form::Linear => {
            let lb_ppm_year = walk.number(faults, "lb_ppm_year", [0.0, 100.0]);
            let lb_ppm_year = walk.must(faults, "lb_ppm_year", lb_ppm_year);
            let lb_ppm_year_per_cec = walk.number(faults, "lb_ppm_year_per_cec", PER_CEC).unwrap_or(0.0);
            Some(BuildUp::Linear { lb_ppm_year: lb_ppm_year?, lb_ppm_year_per_cec, years: years? })
        }
        Form::SquareRoot => {
            let lb_per_root = walk.number(faults, "lb_per_root", [0.0, 1000.0]);
            let lb_per_root = walk.must(faults, "lb_per_root", lb_per_root);
            let lb_ac_per_ppm = walk.number(faults, "lb_ac_per_ppm", [1.0, 5.0]);
            let lb_ac_per_ppm = walk.must(faults, "lb_ac_per_ppm", lb_ac_per_ppm);
            Some(BuildUp::SquareRoot { lb_per_root: lb_per_root?, lb_ac_per_ppm: lb_ac_per_ppm?, years: years? })
        }
    }
}

/// A number a crop; names that are no crop stay for [`Walk::finish`].
fn by_crop(walk: &mut Walk<'_>, faults: &mut Faults<'_>, range: [f64; 2]) -> Vec<(Crop, f64)> {
    let mut all = Vec::new();
    for crop in Crop::ALL {
        if let Some(number) = walk.number(faults, crop.name(), range) {
            all.push((crop, number));
        }
    }
    all
}
