//! `[surface]` and `[zones]`: how values between the samples are found, and what makes ground alike.

use super::Answer;
use super::reader::{Reader, Section, WRONG_VALUE, choice, ranged, whole, wrong};
use crate::soil_surface::{SurfaceSettings, Variable};
use crate::surface::mesh_setting::{MeshSetting, Power};
use crate::surface::method::Method;
use crate::zones::ZoneSettings;

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
        choice(reader, &mut section, "count", |text| (text == "suggest").then_some(Count::Suggest), &["suggest"])
    } else {
        reader.number(&mut section, "count").and_then(|count| Some(Count::Stated(count)))
    };
    let count = match reader.required(&section, "count", count) {
        Some(Count::Suggest) => Some(None),
        Some(Count::Stated(count)) if (1.0..=MAX_ZONES).contains(&count) && count.fract() == 0.0 => {
            Some(Some(count as usize))
        }
        Some(Count::Stated(count)) => {
            let message = format!("`zones.count = {count}`, but 1 to {MAX_ZONES} zones can be drawn");
            let help = "write a whole number from 1 to 6, or \"suggest\"";
            reader.fault(&WRONG_VALUE, line, "zones.count", message, help);
            None
        }
        None => None,
    };
    reader.finish(section);
    count.map(|count| ZoneSettings { from, count })
}
