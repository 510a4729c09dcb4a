//! `[compare]`: the flat programme the zoned one is held against.

use super::reader::{Reader, Section, ranged, wrong};
use crate::rates::{FlatProgramme, Product, RateUnit};

/// `[compare]`; `None` where the file has no such section.
pub(super) fn compare<'a>(
    reader: &mut Reader<'a>,
    root: &mut Section<'a>,
    products: &[Product],
) -> Option<FlatProgramme> {
    let mut section = reader.section(root, "compare");
    if !section.is_there() {
        return None;
    }
    let mut flat = reader.section(&mut section, "flat");
    let mut rates = Vec::new();
    for (key, _) in flat.entries() {
        let short = key.to_uppercase();
        let Some(product) = products.iter().find(|product| product.short == short) else {
            if !reader.told(&format!("products.{key}")) {
                wrong(reader, &flat, &key, format!("`{key}` is not one of `[products]`"));
            }
            continue;
        };
        let most = match product.rate_unit() {
            RateUnit::LbAc => 20_000.0,
            RateUnit::ShortTonAc => 15.0,
            RateUnit::GalAc => 10_000.0,
        };
        rates.extend(ranged(reader, &mut flat, &key, 0.0, most).map(|rate| (short, rate)));
    }
    reader.finish(flat);
    let sampling_usd_ac = ranged(reader, &mut section, "sampling_usd_ac", 0.0, 200.0);
    reader.finish(section);
    Some(FlatProgramme { rates, sampling_usd_ac })
}
