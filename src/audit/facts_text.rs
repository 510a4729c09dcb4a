//! The facts of a prescription as text of at most 80 columns.

use super::facts::LayerFacts;
use super::task_layers::shown_rate;
use super::{Form, Ground, Prescription, RateLayer};
use crate::units::M2_PER_ACRE;

/// Columns of a line.
const WIDTH: usize = 80;
/// Most rates listed with their ground.
const LISTED_RATES: usize = 12;

/// All facts of a prescription; `planned` adds what a comparison found to each layer.
pub fn facts_text(prescription: &Prescription, planned: &[Vec<String>]) -> String {
    let form = prescription.form.as_ref().map_or("not readable", Form::words);
    let n = prescription.layers.len();
    let layers = if n == 1 { "one layer of rates".to_owned() } else { format!("{n} layers of rates") };
    let mut text = wrapped(&format!("{}   {form}{}, {layers}", prescription.name, detail(prescription)), "  ");
    for (index, layer) in prescription.layers.iter().enumerate() {
        text += &layer_text(prescription, layer);
        for line in planned.get(index).into_iter().flatten() {
            text += &indented(line);
        }
    }
    text
}

fn detail(prescription: &Prescription) -> String {
    match &prescription.form {
        Some(Form::TaskSet(set)) => {
            let version = |key| set.root.get(key).unwrap_or("?").to_owned();
            let n_fields = set.root.all("PFD").count();
            format!(
                " version {}.{}, {}, {}",
                version("VersionMajor"),
                version("VersionMinor"),
                counted(n_fields, "field"),
                counted(set.tasks().len(), "task")
            )
        }
        Some(Form::Raster(raster)) => format!(", {}", counted(raster.n_bands, "band")),
        _ => String::new(),
    }
}

fn layer_text(prescription: &Prescription, layer: &RateLayer) -> String {
    let facts = LayerFacts::of(prescription, layer);
    let unit = layer.unit.as_deref().unwrap_or("unit not stated");
    let product = layer.product.as_deref().unwrap_or("product not named");
    let mut text = wrapped(&format!("{}: {product}, {unit} ({})", layer.name, layer.from), "  ");
    let mut line = |label: &str, value: String| text += &indented(&format!("{label:<9}{value}"));
    match (facts.rates.first(), facts.rates.last()) {
        (Some((least, _)), Some((most, _))) => line(
            "rates",
            format!(
                "least {}, most {}, {} unlike",
                shown_rate(*least),
                shown_rate(*most),
                grouped(facts.rates.len() as f64)
            ),
        ),
        _ => line("rates", "none that is a number".to_owned()),
    }
    if facts.rates.len() <= LISTED_RATES {
        for (rate, m2) in &facts.rates {
            line("", format!("{:>10} on {:>9.2} ac", shown_rate(*rate), m2 / M2_PER_ACRE));
        }
    }
    if let Some(total) = facts.total() {
        let amount = facts.unit.map_or("", |unit| unit.amount);
        let total = if total >= 100.0 { grouped(total) } else { shown_rate(total) };
        line("total", format!("{total} {amount} of product"));
    }
    let within = if layer.outline.is_some() { ", inside the outline" } else { "" };
    line("ground", format!("{:.2} ac ({:.2} ha){within}", facts.m2() / M2_PER_ACRE, facts.m2() / 1e4));
    if facts.without_rate_m2 > 0.0 {
        line("", format!("{:.2} ac without a usable rate", facts.without_rate_m2 / M2_PER_ACRE));
    }
    if let Some((n_cols, n_rows, width_m, height_m)) = facts.grid {
        let rows = format!("{n_cols} columns by {n_rows} rows, cells {width_m:.1} m wide, {height_m:.1} m high");
        line("grid", rows);
    } else {
        line("shapes", shapes_text(prescription, layer, &facts));
    }
    if let Some([west, south, east, north]) = facts.bounds {
        line("lies", format!("{} to {}", latitude(south), latitude(north)));
        line("", format!("{} to {}", longitude(west), longitude(east)));
    }
    for (index, order) in layer.orders.iter().enumerate() {
        line(if index == 0 { "orders" } else { "" }, order.clone());
    }
    text
}

fn shapes_text(prescription: &Prescription, layer: &RateLayer, facts: &LayerFacts) -> String {
    let counts = facts.shapes;
    let mut text = format!(
        "{} of {}, {}, {}",
        counted(counts.shapes, "record"),
        counted(counts.polygons, "polygon"),
        counted(counts.holes, "hole"),
        counted(counts.corners, "corner")
    );
    if let Ground::Shapes { set, .. } = &layer.ground
        && let Some(set) = prescription.shape_sets.get(*set)
    {
        let (overlaps, gaps) = (set.overlay().overlaps.len(), set.overlay().gaps.len());
        text += &format!("; {}, {}", counted(overlaps, "overlap"), counted(gaps, "gap"));
    }
    text
}

/// `12.3456 S` from -12.3456.
pub fn latitude(lat: f64) -> String {
    format!("{:.5} {}", lat.abs(), if lat < 0.0 { "south" } else { "north" })
}

/// `93.5 west` from -93.5.
pub fn longitude(lon: f64) -> String {
    format!("{:.5} {}", lon.abs(), if lon < 0.0 { "west" } else { "east" })
}

/// `one hole`, `3 holes`, `no holes`.
pub fn counted(n: usize, noun: &str) -> String {
    match n {
        0 => format!("no {noun}s"),
        1 => format!("one {noun}"),
        _ => format!("{} {noun}s", grouped(n as f64)),
    }
}

/// A number without decimals, thousands apart by commas.
pub fn grouped(number: f64) -> String {
    let digits = format!("{:.0}", number.abs());
    let mut text = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    if number <= -0.5 { format!("-{text}") } else { text }
}

fn indented(line: &str) -> String {
    format!("  {}", wrapped(line, "           "))
}

/// Lines of at most [`WIDTH`] columns; those after the first begin with `indent`. Words longer than a line are kept whole
/// on a line of their own, so that a path can be copied.
fn wrapped(line: &str, indent: &str) -> String {
    let mut text = String::new();
    let mut row = String::new();
    let lead: String = line.chars().take_while(|letter| *letter == ' ').collect();
    row += &lead;
    for word in line.trim_start().split_inclusive(' ') {
        let length = row.chars().count() + word.trim_end().chars().count();
        if length > WIDTH - 2 && !row.trim().is_empty() {
            text += row.trim_end();
            text.push('\n');
            row = indent.to_owned();
        }
        row += word;
    }
    text += row.trim_end();
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_places_read_as_words() {
        assert_eq!(grouped(9066.4), "9,066");
        assert_eq!(grouped(-1234567.0), "-1,234,567");
        assert_eq!(grouped(12.0), "12");
        assert_eq!((latitude(-33.4).as_str(), longitude(147.25).as_str()), ("33.40000 south", "147.25000 east"));
        assert_eq!(counted(1, "hole"), "one hole");
    }

    #[test]
    fn no_line_is_longer_than_80_columns() {
        let long = "word ".repeat(60);
        assert!(indented(&long).lines().all(|line| line.chars().count() <= 80));
        assert_eq!(wrapped("a b", "  "), "a b\n");
    }
}
