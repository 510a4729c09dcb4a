//! Any prescription, ours or a stranger's, looked at as a controller would: what it would choke on, and the facts.
//!
//! ```text
//!  bytes --readers at the edge--> Package, Prescription --rules--> what is wrong, where, how to mend it
//!                                       |
//!                                       +--facts--> rates, ground, total, what happens off the map
//!                                       +--against--> the same as planned?
//! ```
//!
//! Nothing here writes a prescription, and no reader shares code with a writer: a fault made twice would not be seen.
//! One rule is one file in [`rules`].

pub mod against;
pub mod cells;
pub mod facts;
pub mod facts_text;
pub mod geo_json;
pub mod geo_package;
pub mod overlay;
pub mod package;
pub mod plane;
pub mod raster;
pub mod rate_column;
pub mod rate_entity;
pub mod rate_map;
pub mod rate_unit;
pub mod ring_roles;
pub mod rules;
pub mod shape;
pub mod shapefile_parts;
pub mod table;
pub mod task_layers;
pub mod task_set;
pub mod xml_element;

use crate::diagnostic::Diagnostic;
use cells::Cells;
use geo_json::GeoJsonFile;
use geo_package::GeoPackage;
use package::Package;
use raster::Raster;
use shape::ShapeSet;
use shapefile_parts::Shapefile;
use table::Table;
use task_set::TaskSet;

/// One prescription: one task set, one shapefile, one file of another form.
#[derive(Debug, Default)]
pub struct Prescription {
    /// Name as typed, or where it lies in what was typed.
    pub name: String,
    /// What the file itself says, by its form. `None` where it could not be read at all.
    pub form: Option<Form>,
    /// Polygons, a set a table or task.
    pub shape_sets: Vec<ShapeSet>,
    /// Attributes of each shape set, in the same order; empty where the form has none.
    pub tables: Vec<Table>,
    /// Rates: one layer a product and table.
    pub layers: Vec<RateLayer>,
    /// What another reader (GDAL) said.
    pub remarks: Vec<Remark>,
}

/// What another reader said of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// File as typed.
    pub file: String,
    /// Whether it refused the file.
    pub is_refusal: bool,
    /// Its words.
    pub text: String,
}

/// A file's own facts.
#[derive(Debug)]
pub enum Form {
    /// ISO 11783-10 task set.
    TaskSet(TaskSet),
    /// Shapefile with all its parts.
    Shapefile(Shapefile),
    /// GeoJSON.
    GeoJson(GeoJsonFile),
    /// GeoTIFF.
    Raster(Raster),
    /// GeoPackage.
    GeoPackage(GeoPackage),
}

impl Form {
    /// The form's name in a sentence.
    pub fn words(&self) -> &'static str {
        match self {
            Form::TaskSet(_) => "task set",
            Form::Shapefile(_) => "shapefile",
            Form::GeoJson(_) => "GeoJSON",
            Form::Raster(_) => "GeoTIFF",
            Form::GeoPackage(_) => "GeoPackage",
        }
    }
}

/// What a coordinate reference system states.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatedCrs {
    /// Name and code for a person.
    pub name: String,
    /// Whether it is longitude and latitude on WGS 84.
    pub is_wgs_84: bool,
}

/// Rates of one product over some ground.
#[derive(Debug, Clone)]
pub struct RateLayer {
    /// Task, file or table, and what the rate was read from.
    pub name: String,
    /// Column, setpoint or band the rate was read from.
    pub from: String,
    /// Product, where the file names it.
    pub product: Option<String>,
    /// Unit as the file states it, or the unit its numbers were turned into.
    pub unit: Option<String>,
    /// Where the rates lie.
    pub ground: Ground,
    /// The field's outline, where the file has one: totals count inside it.
    pub outline: Option<geo::MultiPolygon>,
    /// What the file orders off the map, in words: `out of field: 0 lb/ac`.
    pub orders: Vec<String>,
}

/// Rates by polygon or by cell.
#[derive(Debug, Clone)]
pub enum Ground {
    /// A rate for each shape of a set; `None` where the file holds no usable number.
    Shapes {
        /// Index into [`Prescription::shape_sets`].
        set: usize,
        /// One a shape.
        rates: Vec<Option<f64>>,
    },
    /// A rate for each cell.
    Cells(Cells),
}

/// All findings of all rules on a package.
pub fn audit_package(package: &Package) -> Vec<Diagnostic> {
    rules::RULES.iter().flat_map(|rule| rule.of_package(package)).collect()
}

/// All findings of all rules on a prescription.
pub fn audit(prescription: &Prescription) -> Vec<Diagnostic> {
    rules::RULES.iter().flat_map(|rule| rule.of_prescription(prescription)).collect()
}
