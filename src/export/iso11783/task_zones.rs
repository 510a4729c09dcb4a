//! Zones of a task: their codes, their values, and the grid that points at them.

use super::setpoint::Setpoint;
use super::{GridFrame, TaskField, TaskPass, TaskProduct, TaskSetForm, ground_of_cells};
use crate::coverage::LatticePolygon;
use crate::rates::LostPosition;

/// Code of ground outside the field. Always 0, so that a cell never written orders nothing.
pub(super) const OUT_OF_FIELD: u8 = 0;
/// In a grid of rates: code of the zone that says what the numbers of a cell are.
const TEMPLATE: u8 = 1;

/// One task: a pass over a field.
#[derive(Debug)]
pub(super) struct Task<'a> {
    /// Index of its field.
    pub(super) field: usize,
    pub(super) pass: &'a TaskPass,
    /// In the order of their codes, which count from 0.
    pub(super) zones: Vec<TaskZone<'a>>,
    /// Code of what is sent at the start, and while there is no position.
    pub(super) position_lost: u8,
    pub(super) grid: Option<TaskGrid>,
}

/// A zone: one count a product.
#[derive(Debug)]
pub(super) struct TaskZone<'a> {
    pub(super) name: String,
    pub(super) counts: Vec<i32>,
    pub(super) polygons: Vec<&'a LatticePolygon>,
}

/// The grid a task points at.
#[derive(Debug, Clone, Copy)]
pub(super) struct TaskGrid {
    pub(super) frame: GridFrame,
    /// Number in its file's name, from 1.
    pub(super) number: usize,
    /// Bytes of its file.
    pub(super) length: usize,
}

impl Task<'_> {
    /// 1: cells hold zone codes. 2: cells hold one count a product, and the template's code is told.
    pub(super) fn grid_type(&self) -> (u8, Option<u8>) {
        if holds_rates(self.pass) { (2, Some(TEMPLATE)) } else { (1, None) }
    }
}

/// Whether cells hold rates: a zone code stands for one set of grounds, and each product may have its own.
fn holds_rates(pass: &TaskPass) -> bool {
    pass.products.len() > 1
}

/// Zones of a pass. In outlines each ground is one with its polygons; in cells each ground, or a template.
pub(super) fn task<'a>(field: usize, pass: &'a TaskPass, form: TaskSetForm, lost: LostPosition) -> Task<'a> {
    let rates_zone = |name: &str, rate: &dyn Fn(&TaskProduct) -> f64| {
        let words = pass.products.iter().map(|product| rate_text(product, rate(product))).collect::<Vec<_>>();
        TaskZone {
            name: format!("{name}: {}", words.join(", ")),
            counts: pass.products.iter().map(|product| counts(product, rate(product))).collect(),
            polygons: Vec::new(),
        }
    };
    let none =
        |name: &str| TaskZone { name: name.to_owned(), counts: vec![0; pass.products.len()], polygons: Vec::new() };
    let mut zones = vec![none("out of field")];
    if holds_rates(pass) {
        zones.push(none("rates of the cells"));
    } else if let Some(product) = pass.products.first() {
        for group in grouped(product) {
            let first = &product.grounds[group[0]];
            let name = match first.is_kept_off {
                true => "kept off".to_owned(),
                false => format!("{}: {}", first.name, rate_text(product, first.rate)),
            };
            let polygons = match form {
                TaskSetForm::Grid => Vec::new(),
                TaskSetForm::Polygons => group.iter().flat_map(|&index| &product.grounds[index].polygons).collect(),
            };
            zones.push(TaskZone { name, counts: vec![counts(product, first.rate)], polygons });
        }
    }
    let position_lost = zones.len() as u8;
    zones.push(rates_zone("position lost", &|product| product.lost_position_rate(lost)));
    Task { field, pass, zones, position_lost, grid: None }
}

/// Indices of the grounds of each zone: open ones alone, all kept-off ones together, last.
fn grouped(product: &TaskProduct) -> Vec<Vec<usize>> {
    let (kept_off, open): (Vec<usize>, Vec<usize>) =
        (0..product.grounds.len()).partition(|&index| product.grounds[index].is_kept_off);
    let mut groups: Vec<Vec<usize>> = open.into_iter().map(|index| vec![index]).collect();
    groups.extend((!kept_off.is_empty()).then_some(kept_off));
    groups
}

/// Bytes of the grid file: zone codes, or little-endian counts, product by product in each cell.
pub(super) fn grid_bytes(frame: &GridFrame, field: &TaskField, pass: &TaskPass) -> Vec<u8> {
    let of_cells = |product: &TaskProduct| {
        let grounds: Vec<&[LatticePolygon]> = product.grounds.iter().map(|ground| &ground.polygons[..]).collect();
        ground_of_cells(frame, &field.lattice, &grounds)
    };
    if !holds_rates(pass) {
        let Some(product) = pass.products.first() else { return Vec::new() };
        let mut codes = vec![OUT_OF_FIELD; product.grounds.len() + 1];
        for (code, group) in (1..).zip(grouped(product)) {
            group.iter().for_each(|&index| codes[index + 1] = code);
        }
        return of_cells(product).into_iter().map(|ground| codes[usize::from(ground)]).collect();
    }
    let mut cells = vec![0_i32; frame.n_cells() * pass.products.len()];
    for (at, product) in pass.products.iter().enumerate() {
        let mut values = vec![0];
        values.extend(product.grounds.iter().map(|ground| counts(product, ground.rate)));
        let of_product = cells.iter_mut().skip(at).step_by(pass.products.len());
        of_product.zip(of_cells(product)).for_each(|(cell, ground)| *cell = values[usize::from(ground)]);
    }
    cells.into_iter().flat_map(i32::to_le_bytes).collect()
}

/// Counts of a rate that was found to fit.
fn counts(product: &TaskProduct, rate: f64) -> i32 {
    Setpoint::of(product.unit).counts(rate).unwrap_or(0)
}

/// "75 lb/ac", with the decimals that show all rates of the product.
fn rate_text(product: &TaskProduct, rate: f64) -> String {
    format!("{rate:.*} {}", product.decimals(), product.unit.name())
}
