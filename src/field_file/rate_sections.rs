//! What is to be spread and with what: `[need]`, `[hold]`, `[products]`, `[passes]`, `[machine]`, `[compare]`.

use super::passes_section::PassContext;
use super::reader::{Reader, Section};
use super::{compare_section, hold_section, machine_section, need_section, passes_section, products_section};
use crate::rates::{CropYear, RateSettings};

/// All sections of the rates, in the order they lean on each other.
pub(super) fn rates<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>, years: Vec<CropYear>) -> RateSettings {
    let n_years = years.len();
    let need = need_section::need(reader, root, n_years);
    let hold = hold_section::hold(reader, root);
    let (products, limes) = products_section::products(reader, root);
    let (machine, travel) = machine_section::machine(reader, root);
    let context = PassContext { products: &products, n_years, machine: machine.as_ref() };
    let passes = passes_section::passes(reader, root, &context);
    let compare = compare_section::compare(reader, root, &products);
    RateSettings {
        years,
        needs: need.needs,
        credits: need.credits,
        nitrogen: need.nitrogen,
        order: need.order,
        hold,
        products,
        limes,
        passes,
        machine,
        travel,
        compare,
        notes: Vec::new(),
    }
}
