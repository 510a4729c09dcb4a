//! `[surface]` and `[zones]`: how values between the samples are found, and what makes ground alike.

use super::Answer;
use super::patch_keys::{PatchKeys, patch_keys};
use super::reader::{Reader, Section, WRONG_VALUE, choice, ranged, whole, wrong};
use super::zone_method;
use crate::rates::CropYear;
use crate::soil_surface::SurfaceSettings;
use crate::surface::mesh_setting::{MeshSetting, Power};
use crate::surface::method::Method;
use crate::zones::{CovariateSettings, ZoneMethod, ZoneQuantity, ZoneSettings};

/// Largest number of zones.
const MAX_ZONES: f64 = 6.0;

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
    let rings = whole(reader, &mut section, "rings", 1.0, 3.0);
    let slope_share = ranged(reader, &mut section, "slope_share", 0.0, 1.0);
    let nearest = whole(reader, &mut section, "nearest", 1.0, 1000.0);
    let cell_m = ranged(reader, &mut section, "cell_m", 0.5, 100.0);
    if cell_m.is_none() {
        reader.default_row("surface.cell_m", "5");
    }
    let unused = [
        ("power", power.is_some() && !["mesh", "distance"].contains(&name)),
        ("rings", rings.is_some() && name != "mesh"),
        ("slope_share", slope_share.is_some() && name != "mesh"),
        ("nearest", nearest.is_some() && name != "distance"),
    ];
    for (key, _) in unused.into_iter().filter(|(_, is_unused)| *is_unused) {
        wrong(reader, &section, key, format!("`{key}` means nothing to method `{name}`"));
    }
    let stated = power.is_some() || rings.is_some() || slope_share.is_some();
    let setting = stated.then(|| MeshSetting {
        power: power.unwrap_or(Power::P2),
        rings: rings.unwrap_or(1),
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

/// How many zones.
enum Count {
    /// As many as the samples support.
    Suggest,
    /// As stated.
    Stated(f64),
}

/// `[zones]`
pub(super) fn zones<'a>(
    reader: &mut Reader<'a>,
    root: &mut Section<'a>,
    covariates: &[CovariateSettings],
    years: &[CropYear],
) -> (Option<ZoneSettings>, PatchKeys) {
    let mut section = reader.section(root, "zones");
    if !section.is_there() {
        if let Some(covariate) = covariates.first() {
            let message = "`[covariates]` without `[zones]`: nothing is drawn from them".to_owned();
            let path = format!("covariates.{}", covariate.name);
            reader.fault(&WRONG_VALUE, covariate.line, &path, message, "add `[zones]`, or take them out");
        }
        return (None, PatchKeys::default());
    }
    let line = section.line;
    let n_faults = reader.faults.len();
    let method = zone_method::method(reader, &mut section, covariates);
    let from = from(reader, &mut section, method.as_ref(), covariates);
    let count = match method.as_ref().filter(|method| method.states_its_zones()) {
        Some(method) => {
            section.take("count");
            if section.has("count") {
                let message =
                    format!("`count` means nothing to method `{}`, which says itself which zones", method.name());
                let at = section.line_of(reader, "count");
                reader.fault(&WRONG_VALUE, at, "zones.count", message, "take the line out");
            }
            Some(None)
        }
        None if method.is_some() => count(reader, &mut section),
        // A method with a fault of its own: whether a count is needed is not known.
        None => {
            section.take("count");
            None
        }
    };
    let patches = patch_keys(reader, &mut section);
    reader.finish(section);
    let (Some(method), Some(count)) = (method, count) else { return (None, patches) };
    let settings = ZoneSettings { from, method, count, line };
    if reader.faults.len() == n_faults {
        zone_method::unused_covariates(reader, covariates, (&settings.from, &settings.method), years);
    }
    (Some(settings), patches)
}

/// `from`: what zones are drawn from, unless the breaks say.
fn from<'a>(
    reader: &mut Reader<'a>,
    section: &mut Section<'a>,
    method: Option<&ZoneMethod>,
    covariates: &[CovariateSettings],
) -> Vec<ZoneQuantity> {
    let from = reader.texts(section, "from");
    let line = section.line_of(reader, "from");
    if let Some(ZoneMethod::Breaks(breaks)) = method {
        if section.has("from") {
            let message = "`from` means nothing to method `breaks`, which names its quantities itself".to_owned();
            reader.fault(&WRONG_VALUE, line, "zones.from", message, "take the line out");
        }
        return breaks.iter().map(|breaks| breaks.quantity.clone()).collect();
    }
    let is_absent = matches!(from, Answer::Absent);
    match from.given() {
        // What was drawn is judged by the default, as far as it is mapped.
        None if matches!(method, Some(ZoneMethod::Polygons(_))) => Vec::new(),
        None => {
            if is_absent {
                reader.default_row("zones.from", "[\"cec\", \"ca_saturation\", \"mg_saturation\"]");
            }
            ZoneSettings::DEFAULT_FROM.map(ZoneQuantity::Soil).to_vec()
        }
        Some(keys) => {
            if keys.is_empty() {
                reader.fault(&WRONG_VALUE, line, "zones.from", "`zones.from` names no quantity".to_owned(), "");
            }
            let found =
                keys.iter().filter_map(|key| zone_method::quantity(reader, covariates, key, (line, "zones.from")));
            let found: Vec<ZoneQuantity> = found.collect();
            let again = found.iter().enumerate().find(|(index, quantity)| found[..*index].contains(quantity));
            if let Some((_, quantity)) = again {
                let message = format!("`{}` stands twice, which would count it double", quantity.key());
                reader.fault(&WRONG_VALUE, line, "zones.from", message, "name it once");
            }
            found
        }
    }
}

/// `count`: a number of zones, or `"suggest"`.
fn count<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> Option<Option<usize>> {
    let line = section.line_of(reader, "count");
    let count = if section.is_text("count") {
        choice(reader, section, "count", |text| (text == "suggest").then_some(Count::Suggest), &["suggest"])
    } else {
        reader.number(section, "count").and_then(|count| Some(Count::Stated(count)))
    };
    match reader.required(section, "count", count)? {
        Count::Suggest => Some(None),
        Count::Stated(count) if (1.0..=MAX_ZONES).contains(&count) && count.fract() == 0.0 => {
            Some(Some(count as usize))
        }
        Count::Stated(count) => {
            let message = format!("`zones.count = {count}`, but 1 to {MAX_ZONES} zones can be drawn");
            let help = "write a whole number from 1 to 6, or \"suggest\"";
            reader.fault(&WRONG_VALUE, line, "zones.count", message, help);
            None
        }
    }
}
