//! Results as files: names and bytes. Nothing here decides a rate; nothing here touches the disk.

mod field_dots;
mod field_table;
mod geo_json;
pub mod map_png;
mod maps;
mod report;
pub mod run_record;
mod summary;
mod tables;
mod zone_shapes;

pub use field_dots::field_dots_png;
pub use field_table::{field_table_csv, field_table_text};
pub use geo_json::{rates_geo_json, zones_geo_json};
pub use maps::maps;
pub use report::Report;
pub use summary::summary;
pub use tables::tables;
pub use zone_shapes::{ZoneShape, zone_shapes};

/// One file of the result folder.
#[derive(Debug, Clone, PartialEq)]
pub struct OutputFile {
    /// Path below the result folder, parts joined by `/`.
    pub path: String,
    /// Content.
    pub bytes: Vec<u8>,
}

impl OutputFile {
    /// A file of `bytes`.
    pub fn new(path: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        OutputFile { path: path.into(), bytes: bytes.into() }
    }
}

/// Path of a pass's rate file below the result folder: `gis/THREE_1_POT.geojson`.
pub fn pass_path(report: &Report<'_>, plan: &crate::rates::rate_plan::PassPlan) -> String {
    format!("gis/{}_{}_{}.geojson", report.field_file.field.short, plan.number, plan.product.short)
}
