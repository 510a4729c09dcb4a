//! Results as files: names and bytes. Nothing here decides a rate; nothing here touches the disk.

mod cab_files;
mod cab_sheet;
pub mod cautions;
mod check_places;
mod count_words;
mod difference_map;
mod driven_lines;
mod field_dots;
mod field_table;
mod figure;
mod geo_json;
mod geo_package;
mod ground_drawn;
mod grower;
mod in_units;
pub mod iso11783;
mod label_places;
pub mod map_png;
mod maps;
mod measured_mapped;
mod page;
mod page_words;
mod raster_files;
mod rate_layer;
mod rate_lines;
mod rate_units;
mod report;
pub mod run_record;
mod sample_names;
mod sample_rulers;
mod screen_facts;
mod shapefile;
mod shapefile_limits;
mod sharing_lines;
mod sharing_record;
mod sharing_table;
mod sharing_view;
mod sharing_words;
mod stick;
mod stick_of_fields;
mod summary;
mod tables;
mod vector_files;
mod vector_layer;
mod which_sample;
mod zone_counts;
mod zone_layer;

pub use cab_files::{gis_contents, stick_field, stick_text, task_input, task_set_files};
pub use cab_sheet::cab_sheets;
pub use check_places::{CheckPlace, CheckPlaces, Reading};
pub(crate) use count_words::{machine_fit, panel_words};
pub use difference_map::{DifferenceWords, difference_png};
pub use field_dots::field_dots_png;
pub use field_table::{field_table_csv, field_table_text};
pub use geo_json::{geo_json, geo_json_file};
pub use geo_package::{FIELD_PACKAGE, GeoPackage, PointLayer, field_package};
pub(crate) use ground_drawn::rate_colors;
pub use grower::grower_files;
pub(crate) use maps::capitalized;
pub use maps::maps;
pub use raster_files::{NO_CLASS, NO_NUMBER, RasterCells, RasterLayer, RasterPlace, raster_layers};
pub(crate) use rate_lines::signed_usd;
pub(crate) use rate_units::PrintedUnit;
pub use report::Report;
pub use shapefile::{WGS_84_PRJ, shapefile};
pub use shapefile_limits::{
    MAX_STEM_BYTES, RECORD_WITHOUT_GROUND, SHAPEFILE_COLUMN_UNFIT, SHAPEFILE_NAME_UNFIT, SHAPEFILE_VALUE_UNFIT,
};
pub use sharing_lines::sharing_lines;
pub use sharing_record::sharing_record;
pub use sharing_table::sharing_table;
pub use stick::{READ_ME_FIRST, Stick, StickField, file_stem, read_me_first};
pub use stick_of_fields::{FIELDS_NOT_FOR_ONE_STICK, FieldOfStick, stick_of_fields};
pub use summary::summary;
pub use tables::tables;
pub use vector_files::vector_files;
pub use vector_layer::{Column, ColumnKind, MAX_TEXT_BYTES, Record, Value, VectorLayer, shortened};
pub use zone_counts::{ZoneCountPicture, ZonePanel, zone_counts_png};

use crate::diagnostic::Code;
use iso11783::TASK_SET_UNFIT;

/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] = &[
    &SHAPEFILE_NAME_UNFIT,
    &SHAPEFILE_COLUMN_UNFIT,
    &SHAPEFILE_VALUE_UNFIT,
    &RECORD_WITHOUT_GROUND,
    &TASK_SET_UNFIT,
    &FIELDS_NOT_FOR_ONE_STICK,
];

/// One file of the result folder.
#[derive(Debug, Clone, PartialEq)]
pub struct OutputFile {
    /// Path below the result folder, parts joined by `/`.
    pub path: String,
    /// Content.
    pub bytes: Vec<u8>,
    /// The layer it carries: what it must hold when it is read back. `None` for what is no vector file, and for the
    /// files beside a `.shp`.
    pub layer: Option<WrittenLayer>,
    /// The raster or package the edge made it of: what it must hold when it is read back.
    pub gis: Option<GisContent>,
}

/// What the edge writes through GDAL.
#[derive(Debug, Clone, PartialEq)]
pub enum GisContent {
    /// A raster, as GeoTIFF.
    Raster(RasterLayer),
    /// Vector layers, as GeoPackage.
    Package(GeoPackage),
}

impl GisContent {
    /// Path below the result folder, parts joined by `/`.
    pub fn path(&self) -> &str {
        match self {
            GisContent::Raster(layer) => &layer.path,
            GisContent::Package(package) => &package.path,
        }
    }
}

/// A layer as a file carries it.
#[derive(Debug, Clone, PartialEq)]
pub struct WrittenLayer {
    /// The layer, one record of it a record of the file.
    pub layer: VectorLayer,
    /// The file's format.
    pub format: VectorFormat,
}

/// Formats of vector files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VectorFormat {
    /// GeoJSON by RFC 7946.
    GeoJson,
    /// Shapefile; the file is its `.shp`.
    Shapefile,
    /// A layer of a GeoPackage; its columns are in lower case.
    GeoPackage,
}

impl OutputFile {
    /// A file of `bytes`.
    pub fn new(path: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        OutputFile { path: path.into(), bytes: bytes.into(), layer: None, gis: None }
    }

    /// The same file, in a folder.
    pub fn below(mut self, folder: &str) -> Self {
        self.path = format!("{folder}/{}", self.path);
        self
    }
}

/// Folder of what goes on the stick, and nothing else.
pub const FOR_THE_CAB: &str = "for-the-cab";

/// Start of the names of a pass's files: `THREE_1_POT`.
pub fn pass_stem(report: &Report<'_>, plan: &crate::rates::rate_plan::PassPlan) -> String {
    file_stem(&report.field_file.field.short, plan.number, &plan.product.short)
}
