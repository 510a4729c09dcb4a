//! Rates of a product nobody names.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "product-not-named",
    checks: "that each layer of rates names its product",
    why: "a rate is of one product; 135 lb of another one is another dressing",
    example: "a shapefile with RATE only, called `field7.shp`",
    mend: "add a text column PRODUCT, or a product to the task; at least put it into the file's name",
};

pub(super) fn find(of: &Prescription) -> Found {
    let without = of.layers.iter().filter(|layer| layer.product.is_none());
    without
        .map(|layer| {
            let message = format!("`{}` does not name its product", layer.name);
            Diagnostic::note(&CODE, message).at(Place::File(of.name.clone()))
        })
        .collect()
}
