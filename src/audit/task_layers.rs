//! From the elements of a task set to rates on the ground, as its reader would spread them.

use geo::{LineString, MultiPolygon};

use super::cells::Cells;
use super::rate_entity::{self, RateEntity};
use super::rate_unit::{self, Counted};
use super::ring_roles::polygons_of;
use super::shape::{Shape, ShapeSet};
use super::task_set::{TaskSet, TaskZone, corners, entities, zone_of, zones};
use super::xml_element::Element;
use super::{Ground, RateLayer};

/// Most cells read: a grid larger than this is not one of a field.
const MOST_CELLS: usize = 16_000_000;

/// Rates and polygons of all tasks. What cannot be read is left out; the rules say why.
pub fn layers(set: &TaskSet) -> (Vec<ShapeSet>, Vec<RateLayer>) {
    let (mut shape_sets, mut all) = (Vec::new(), Vec::new());
    for task in set.tasks() {
        let zones = zones(task);
        let name = task.get("B").or(task.get("A")).unwrap_or("task").to_owned();
        let outline = set.field(task).map(|field| polygons(field.all("PLN"))).filter(|outline| !outline.0.is_empty());
        let base = |rate: &Element, unit: Option<String>| RateLayer {
            name: name.clone(),
            from: format!("setpoint {}", rate.get("A").unwrap_or("?")),
            product: set.referred(rate, "C").and_then(|product| product.get("B")).map(str::to_owned),
            unit,
            ground: Ground::Shapes { set: 0, rates: Vec::new() },
            outline: outline.clone(),
            orders: Vec::new(),
        };
        if let Some(grid) = task.all("GRD").next() {
            let Some(template) = template(grid, &zones) else { continue };
            for (index, rate) in template.rates.iter().enumerate() {
                let shown = Shown::of(set, rate);
                let Some(cells) = cells(set, grid, &zones, index) else { continue };
                let mut layer = base(rate, shown.unit.clone());
                layer.orders = orders(set, task, &zones, index);
                layer.ground = Ground::Cells(cells);
                all.push(layer);
            }
        } else if zones.iter().any(|zone| !zone.polygons.is_empty()) {
            let drawn: Vec<&TaskZone<'_>> = zones.iter().filter(|zone| !zone.polygons.is_empty()).collect();
            let Some(first) = drawn.iter().find_map(|zone| zone.rates.first()) else { continue };
            let shape = |zone: &&TaskZone<'_>| Shape {
                place: set.place(zone.element, "A"),
                polygons: polygons(zone.polygons.iter().copied()),
                invalid: None,
            };
            let rate = |zone: &&TaskZone<'_>| zone.rates.first().and_then(|rate| Shown::of(set, rate).rate_of(rate));
            let rates = drawn.iter().map(rate).collect();
            let mut layer = base(first, Shown::of(set, first).unit);
            layer.orders = orders(set, task, &zones, 0);
            layer.ground = Ground::Shapes { set: shape_sets.len(), rates };
            let shapes = drawn.iter().map(shape).collect();
            shape_sets.push(ShapeSet::new(name.clone(), set.file.clone(), shapes));
            all.push(layer);
        }
    }
    (shape_sets, all)
}

/// Polygons of `PLN`s; rings by how they nest, since version 3 allows several exteriors in one.
pub fn polygons<'a>(elements: impl Iterator<Item = &'a Element>) -> MultiPolygon {
    let mut all = Vec::new();
    for element in elements.filter(|element| matches!(element.get("A"), Some("1" | "2"))) {
        let rings: Vec<LineString> = element
            .all("LSG")
            .filter(|ring| matches!(ring.get("A"), Some("1" | "2")))
            .map(|ring| LineString::from(corners(ring)))
            .collect();
        all.extend(polygons_of(rings).0);
    }
    MultiPolygon::new(all)
}

/// The zone whose rates say what each number of a grid is: `GRD/@J`, for zone codes the first with rates.
pub fn template<'a, 'b>(grid: &Element, zones: &'b [TaskZone<'a>]) -> Option<&'b TaskZone<'a>> {
    match grid.get("I") {
        Some("2") => zone_of(zones, grid.get("J")?),
        _ => zones.iter().find(|zone| !zone.rates.is_empty()),
    }
}

/// How an integer of the file is shown.
pub struct Shown {
    /// Unit of the numbers given, where it is known.
    pub unit: Option<String>,
    entity: Option<&'static RateEntity>,
    presentation: Option<(f64, f64)>,
}

impl Shown {
    /// By the value presentation of a `PDV`, else of its product, else in plain units of the setpoint.
    pub fn of(set: &TaskSet, rate: &Element) -> Self {
        let entity = rate.get("A").and_then(rate_entity::number).and_then(rate_entity::setpoint);
        let product = set.referred(rate, "C");
        let presentation = set
            .referred(rate, "E")
            .or_else(|| product.and_then(|product| set.referred(product, "D")))
            .filter(|element| element.name == "VPN");
        match presentation.and_then(|shown| Some((shown, shown.number("C")?))) {
            Some((shown, scale)) => Shown {
                unit: shown.get("E").map(str::to_owned),
                entity,
                presentation: Some((shown.number("B").unwrap_or(0.0), scale)),
            },
            None => {
                let unit = entity.and_then(|entity| entity.over_ground).map(|(counted, _)| match counted {
                    Counted::Mass => "kg/ha".to_owned(),
                    Counted::Volume => "L/ha".to_owned(),
                    Counted::Pieces => "seeds/ha".to_owned(),
                });
                Shown { unit, entity, presentation: None }
            }
        }
    }

    /// The rate a `PDV` orders.
    pub fn rate_of(&self, rate: &Element) -> Option<f64> {
        self.rate(rate.whole("B")? as f64)
    }

    /// The rate an integer stands for.
    pub fn rate(&self, counts: f64) -> Option<f64> {
        match (self.presentation, self.entity.and_then(|entity| entity.over_ground)) {
            (Some((offset, scale)), _) => Some((counts + offset) * scale),
            (None, Some((_, in_base))) => Some(counts * in_base),
            (None, None) => Some(counts),
        }
    }

    /// The rate an integer stands for by the data dictionary, in the unit shown; `None` where one is not known.
    pub fn by_dictionary(&self, counts: f64) -> Option<f64> {
        let (counted, in_base) = self.entity?.over_ground?;
        let unit = rate_unit::named(self.unit.as_deref()?)?;
        (unit.counted == counted).then(|| counts * in_base / unit.in_base)
    }
}

/// Cells of a grid with the rates of one of its numbers.
fn cells(set: &TaskSet, grid: &Element, zones: &[TaskZone<'_>], index: usize) -> Option<Cells> {
    let (n_cols, n_rows) = (usize::try_from(grid.whole("E")?).ok()?, usize::try_from(grid.whole("F")?).ok()?);
    let n_cells = n_cols.checked_mul(n_rows).filter(|n| *n > 0 && *n <= MOST_CELLS)?;
    let file = set.grid_file(grid)?;
    let mut rates = vec![f64::NAN; n_cells];
    if grid.get("I") == Some("2") {
        let template = template(grid, zones)?;
        let n = template.rates.len();
        let shown = Shown::of(set, template.rates.get(index)?);
        for (rate, bytes) in rates.iter_mut().zip(file.bytes.chunks_exact(4 * n)) {
            let at = 4 * index;
            let counts = i32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]]);
            *rate = shown.rate(f64::from(counts))?;
        }
    } else {
        let mut of_code = [f64::NAN; 256];
        for zone in zones {
            if let (Some(code), Some(rate)) = (zone.code, zone.rates.get(index)) {
                of_code[usize::from(code)] = Shown::of(set, rate).rate_of(rate).unwrap_or(f64::NAN);
            }
        }
        for (rate, code) in rates.iter_mut().zip(&file.bytes) {
            *rate = of_code[usize::from(*code)];
        }
    }
    Some(Cells {
        file: file.shown.clone(),
        origin: (grid.number("B")?, grid.number("A")?),
        per_column: (grid.number("D")?, 0.0),
        per_row: (0.0, grid.number("C")?),
        n_cols,
        n_rows,
        rates,
    })
}

/// What a task orders off the map, in words.
fn orders(set: &TaskSet, task: &Element, zones: &[TaskZone<'_>], index: usize) -> Vec<String> {
    let places = [("H", "at start and by default"), ("I", "when the receiver loses its place"), ("J", "out of field")];
    let in_words = |(attribute, when): (&str, &str)| {
        let Some(code) = task.get(attribute) else { return format!("{when}: not stated") };
        let rate = zone_of(zones, code).and_then(|zone| zone.rates.get(index));
        match rate.and_then(|rate| Some((Shown::of(set, rate).rate_of(rate)?, Shown::of(set, rate).unit))) {
            Some((rate, unit)) => format!("{when}: {} {}", shown_rate(rate), unit.unwrap_or_default()),
            None => format!("{when}: zone {code}, which is not defined"),
        }
    };
    places.into_iter().map(in_words).collect()
}

/// A rate with as many digits as matter.
pub fn shown_rate(rate: f64) -> String {
    let decimals = match rate.abs() {
        size if size >= 100.0 => 0,
        size if size >= 10.0 => 1,
        _ => 2,
    };
    // No minus before a rounded nothing.
    let text = format!("{:.decimals$}", if rate.abs() < 0.005 { 0.0 } else { rate });
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// Whether zones of a task set the same quantities in the same order.
pub fn sets_same(zones: &[TaskZone<'_>]) -> bool {
    zones.windows(2).all(|pair| entities(&pair[0]) == entities(&pair[1]))
}
