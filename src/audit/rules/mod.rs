//! Rules: what a controller would choke on, one a file.
//!
//! | to ... | do |
//! |---|---|
//! | add a rule | a file here with its `CODE` and `find`, a line in [`RULES`], a broken file in `fixtures/prescriptions/bad` |
//! | change its page | its `CODE`; then write `docs/audit.md` again, as `tests/it/audit.rs` says |
//!
//! Sizes and limits without a source say so on their page.

mod archive_in_archive;
mod coordinates_implausible;
mod corners_repeated;
mod crs_not_stated;
mod crs_not_wgs_84;
mod ddi_against_product;
mod ddi_form;
mod ddi_not_setpoint;
mod field_area_stated;
mod geojson_bounds;
mod geojson_byte_order_mark;
mod geojson_crs_member;
mod geojson_decimals;
mod geojson_ids;
mod geojson_not_json;
mod geojson_position;
mod geojson_ring_direction;
mod geojson_structure;
mod geopackage_damaged;
mod geopackage_extent;
mod geopackage_geometry;
mod geopackage_header;
mod geopackage_reference_systems;
mod grid_attributes;
mod grid_beside_outline;
mod grid_cell_undefined;
mod grid_file_length;
mod grid_file_missing;
mod grid_file_name;
mod grid_length_stated;
mod grid_rows_columns_exchanged;
mod grid_template;
mod grid_too_many_cells;
mod many_polygons;
mod no_field_outline;
mod no_rate_column;
mod number_form;
mod out_of_field_rate;
mod package_too_large;
mod polygon_invalid;
mod polygon_zone_rates;
mod product_not_named;
mod raster_bands;
mod raster_by_points;
mod raster_no_data;
mod raster_turned;
mod rate_as_text;
mod rate_column_taken;
mod rate_implausible;
mod rate_missing;
mod rate_negative;
mod rate_not_integer;
mod rate_unit_not_stated;
mod rate_units_mixed;
mod rates_all_zero;
mod raw_rings;
mod record_has_no_ground;
mod ring_not_closed;
mod ring_too_short;
mod several_grids;
mod several_parts;
mod shapefile_encoding;
mod shapefile_hole_first;
mod shapefile_lengths;
mod shapefile_part_missing;
mod shapefile_part_names;
mod shapefile_record_counts;
mod shapefile_ring_direction;
mod shapefile_stem;
mod shapefile_type;
mod shown_unit_differs;
mod sliver;
mod special_zones;
mod table_column_name;
mod table_column_type;
mod table_value_overflow;
mod task_set_file_names;
mod task_set_folder;
mod task_set_id;
mod task_set_id_repeated;
mod task_set_name_long;
mod task_set_names_alike;
mod task_set_newer_than_version;
mod task_set_reference;
mod task_set_required;
mod task_set_version;
mod task_status;
mod task_without_rates;
mod unreadable;
mod xml_byte_order_mark;
mod xml_declaration;
mod xml_document_type;
mod xml_not_well_formed;
mod xml_text;
mod zip_path_escapes;
mod zone_code;
mod zones_beyond_outline;
mod zones_gap;
mod zones_overlap;
mod zones_unlike;

pub use zip_path_escapes::escapes;

use super::Prescription;
use super::against::{LAYER_WITHOUT_PLAN, PLAN_WITHOUT_LAYER, RATES_BY_A_FACTOR, RATES_DIFFER, RATES_SHIFTED};
use super::against::{RATES_TURNED, TOTAL_DIFFERS};
use super::package::Package;
use crate::diagnostic::{Code, Diagnostic};

/// What rules are made of.
mod prelude {
    pub(super) use super::super::cells::Cells;
    pub(super) use super::super::geo_json::GeoJsonFile;
    pub(super) use super::super::geo_package::GeoPackage;
    pub(super) use super::super::package::{Package, folder_and_name, stem_and_ending};
    pub(super) use super::super::raster::Raster;
    pub(super) use super::super::shapefile_parts::{FILE_CODE, POLYGON, Shapefile};
    pub(super) use super::super::task_layers::{Shown, shown_rate};
    pub(super) use super::super::task_set::{FOLDER, MAIN_FILE, TaskSet, looks_like_id};
    pub(super) use super::super::xml_element::Element;
    pub(super) use super::super::{Form, Ground, Prescription, RateLayer, Remark, StatedCrs};
    pub(super) use crate::diagnostic::{Code, Diagnostic, Place};

    /// What a rule finds.
    pub(super) type Found = Vec<Diagnostic>;

    pub(super) fn task_set(of: &Prescription) -> Option<&TaskSet> {
        if let Some(Form::TaskSet(set)) = &of.form { Some(set) } else { None }
    }

    pub(super) fn shapefile(of: &Prescription) -> Option<&Shapefile> {
        if let Some(Form::Shapefile(file)) = &of.form { Some(file) } else { None }
    }

    pub(super) fn geo_json(of: &Prescription) -> Option<&GeoJsonFile> {
        if let Some(Form::GeoJson(file)) = &of.form { Some(file) } else { None }
    }

    pub(super) fn raster(of: &Prescription) -> Option<&Raster> {
        if let Some(Form::Raster(file)) = &of.form { Some(file) } else { None }
    }

    pub(super) fn geo_package(of: &Prescription) -> Option<&GeoPackage> {
        if let Some(Form::GeoPackage(file)) = &of.form { Some(file) } else { None }
    }

    /// Grids of all tasks.
    pub(super) fn grids(set: &TaskSet) -> Vec<&Element> {
        set.root.all("TSK").flat_map(|task| task.children.iter().filter(|child| child.name == "GRD")).collect()
    }

    /// Place of a record, its index counted from 0.
    pub(super) fn record_place(file: &str, index: usize, part: String) -> Place {
        Place::Record { file: file.to_owned(), record: index + 1, part }
    }

    /// Place of a cell, its index counted from 0.
    pub(super) fn cell_place(cells: &Cells, index: usize) -> Place {
        let n_cols = cells.n_cols.max(1);
        Place::Cell { file: cells.file.clone(), column: index % n_cols + 1, row: index / n_cols + 1 }
    }

    /// Twice the area of a ring, closed by itself; positive where it goes counter-clockwise.
    pub(super) fn doubled_area(ring: &geo::LineString) -> f64 {
        let Some(first) = ring.0.first() else { return 0.0 };
        // From the first corner: products of whole coordinates would lose the last digits.
        let at = |index: usize| (ring.0[index % ring.0.len()].x - first.x, ring.0[index % ring.0.len()].y - first.y);
        (0..ring.0.len()).map(|index| at(index).0 * at(index + 1).1 - at(index + 1).0 * at(index).1).sum()
    }
}

/// On what a rule rests.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Published schemas, the data dictionary, RFC 7946, the description of the format.
    Published,
    /// An unofficial summary of ISO 11783-10; the standard itself was not read.
    Summary,
    /// Judgement and common practice, no source.
    Judgement,
    /// What another program (GDAL, GEOS, SQLite) finds.
    OtherProgram,
}

impl Basis {
    /// For a person.
    pub fn words(self) -> &'static str {
        match self {
            Basis::Published => "published schema or format description",
            Basis::Summary => "an unofficial summary of ISO 11783-10; the standard itself was not read",
            Basis::Judgement => "judgement and common practice, no source",
            Basis::OtherProgram => "what GDAL, GEOS or SQLite finds",
        }
    }
}

/// One rule.
#[derive(Debug)]
pub struct Rule {
    /// Its page.
    pub code: &'static Code,
    /// On what it rests.
    pub basis: Basis,
    find: Find,
}

#[derive(Debug, Clone, Copy)]
enum Find {
    Package(fn(&Package) -> Vec<Diagnostic>),
    Prescription(fn(&Prescription) -> Vec<Diagnostic>),
    /// Found by the comparison with a plan.
    Plan,
}

impl Rule {
    /// What it finds in a package.
    pub fn of_package(&self, package: &Package) -> Vec<Diagnostic> {
        if let Find::Package(find) = self.find { find(package) } else { Vec::new() }
    }

    /// What it finds in a prescription.
    pub fn of_prescription(&self, prescription: &Prescription) -> Vec<Diagnostic> {
        if let Find::Prescription(find) = self.find { find(prescription) } else { Vec::new() }
    }
}

const fn package(code: &'static Code, basis: Basis, find: fn(&Package) -> Vec<Diagnostic>) -> Rule {
    Rule { code, basis, find: Find::Package(find) }
}

const fn rule(code: &'static Code, basis: Basis, find: fn(&Prescription) -> Vec<Diagnostic>) -> Rule {
    Rule { code, basis, find: Find::Prescription(find) }
}

const fn plan(code: &'static Code) -> Rule {
    Rule { code, basis: Basis::Judgement, find: Find::Plan }
}

use Basis::{Judgement, OtherProgram, Published, Summary};

/// All rules, in the order of `docs/audit.md`.
#[rustfmt::skip] // one line a rule
pub static RULES: &[Rule] = &[
    package(&zip_path_escapes::CODE, Judgement, zip_path_escapes::find),
    package(&package_too_large::CODE, Judgement, package_too_large::find),
    package(&archive_in_archive::CODE, Judgement, archive_in_archive::find),
    rule(&unreadable::CODE, OtherProgram, unreadable::find),
    rule(&task_set_folder::CODE, Summary, task_set_folder::find),
    rule(&task_set_file_names::CODE, Summary, task_set_file_names::find),
    rule(&xml_not_well_formed::CODE, Published, xml_not_well_formed::find),
    rule(&xml_document_type::CODE, Judgement, xml_document_type::find),
    rule(&xml_byte_order_mark::CODE, Summary, xml_byte_order_mark::find),
    rule(&xml_declaration::CODE, Summary, xml_declaration::find),
    rule(&xml_text::CODE, Published, xml_text::find),
    rule(&task_set_version::CODE, Published, task_set_version::find),
    rule(&task_set_newer_than_version::CODE, Published, task_set_newer_than_version::find),
    rule(&task_set_required::CODE, Published, task_set_required::find),
    rule(&task_set_id::CODE, Summary, task_set_id::find),
    rule(&task_set_id_repeated::CODE, Published, task_set_id_repeated::find),
    rule(&task_set_reference::CODE, Published, task_set_reference::find),
    rule(&task_set_name_long::CODE, Published, task_set_name_long::find),
    rule(&task_set_names_alike::CODE, Judgement, task_set_names_alike::find),
    rule(&task_status::CODE, Judgement, task_status::find),
    rule(&task_without_rates::CODE, Judgement, task_without_rates::find),
    rule(&ddi_form::CODE, Published, ddi_form::find),
    rule(&ddi_not_setpoint::CODE, Published, ddi_not_setpoint::find),
    rule(&ddi_against_product::CODE, Published, ddi_against_product::find),
    rule(&shown_unit_differs::CODE, Summary, shown_unit_differs::find),
    rule(&rate_not_integer::CODE, Published, rate_not_integer::find),
    rule(&number_form::CODE, Published, number_form::find),
    rule(&grid_attributes::CODE, Published, grid_attributes::find),
    rule(&grid_too_many_cells::CODE, Summary, grid_too_many_cells::find),
    rule(&several_grids::CODE, Summary, several_grids::find),
    rule(&grid_file_name::CODE, Published, grid_file_name::find),
    rule(&grid_file_missing::CODE, Summary, grid_file_missing::find),
    rule(&grid_file_length::CODE, Summary, grid_file_length::find),
    rule(&grid_length_stated::CODE, Published, grid_length_stated::find),
    rule(&grid_cell_undefined::CODE, Summary, grid_cell_undefined::find),
    rule(&grid_template::CODE, Summary, grid_template::find),
    rule(&grid_rows_columns_exchanged::CODE, Summary, grid_rows_columns_exchanged::find),
    rule(&grid_beside_outline::CODE, Judgement, grid_beside_outline::find),
    rule(&zone_code::CODE, Published, zone_code::find),
    rule(&zones_unlike::CODE, Judgement, zones_unlike::find),
    rule(&polygon_zone_rates::CODE, Summary, polygon_zone_rates::find),
    rule(&special_zones::CODE, Summary, special_zones::find),
    rule(&out_of_field_rate::CODE, Judgement, out_of_field_rate::find),
    rule(&no_field_outline::CODE, Summary, no_field_outline::find),
    rule(&field_area_stated::CODE, Published, field_area_stated::find),
    rule(&zones_beyond_outline::CODE, Judgement, zones_beyond_outline::find),
    rule(&no_rate_column::CODE, Judgement, no_rate_column::find),
    rule(&rate_column_taken::CODE, Judgement, rate_column_taken::find),
    rule(&rate_as_text::CODE, Judgement, rate_as_text::find),
    rule(&rate_missing::CODE, Judgement, rate_missing::find),
    rule(&rate_negative::CODE, Judgement, rate_negative::find),
    rule(&rate_implausible::CODE, Judgement, rate_implausible::find),
    rule(&rates_all_zero::CODE, Judgement, rates_all_zero::find),
    rule(&rate_unit_not_stated::CODE, Judgement, rate_unit_not_stated::find),
    rule(&rate_units_mixed::CODE, Judgement, rate_units_mixed::find),
    rule(&product_not_named::CODE, Judgement, product_not_named::find),
    rule(&polygon_invalid::CODE, OtherProgram, polygon_invalid::find),
    rule(&ring_not_closed::CODE, Published, ring_not_closed::find),
    rule(&ring_too_short::CODE, Published, ring_too_short::find),
    rule(&corners_repeated::CODE, Judgement, corners_repeated::find),
    rule(&record_has_no_ground::CODE, Judgement, record_has_no_ground::find),
    rule(&zones_overlap::CODE, Judgement, zones_overlap::find),
    rule(&zones_gap::CODE, Judgement, zones_gap::find),
    rule(&sliver::CODE, Judgement, sliver::find),
    rule(&many_polygons::CODE, Judgement, many_polygons::find),
    rule(&several_parts::CODE, Judgement, several_parts::find),
    rule(&coordinates_implausible::CODE, Judgement, coordinates_implausible::find),
    rule(&crs_not_stated::CODE, Judgement, crs_not_stated::find),
    rule(&crs_not_wgs_84::CODE, Judgement, crs_not_wgs_84::find),
    rule(&shapefile_part_missing::CODE, Published, shapefile_part_missing::find),
    rule(&shapefile_part_names::CODE, Judgement, shapefile_part_names::find),
    rule(&shapefile_stem::CODE, Judgement, shapefile_stem::find),
    rule(&shapefile_encoding::CODE, Judgement, shapefile_encoding::find),
    rule(&shapefile_record_counts::CODE, Published, shapefile_record_counts::find),
    rule(&shapefile_lengths::CODE, Published, shapefile_lengths::find),
    rule(&shapefile_type::CODE, Published, shapefile_type::find),
    rule(&shapefile_ring_direction::CODE, Published, shapefile_ring_direction::find),
    rule(&shapefile_hole_first::CODE, Judgement, shapefile_hole_first::find),
    rule(&table_column_name::CODE, Published, table_column_name::find),
    rule(&table_column_type::CODE, Published, table_column_type::find),
    rule(&table_value_overflow::CODE, Published, table_value_overflow::find),
    rule(&geojson_not_json::CODE, Published, geojson_not_json::find),
    rule(&geojson_structure::CODE, Published, geojson_structure::find),
    rule(&geojson_crs_member::CODE, Published, geojson_crs_member::find),
    rule(&geojson_position::CODE, Published, geojson_position::find),
    rule(&geojson_decimals::CODE, Published, geojson_decimals::find),
    rule(&geojson_bounds::CODE, Published, geojson_bounds::find),
    rule(&geojson_ids::CODE, Judgement, geojson_ids::find),
    rule(&geojson_byte_order_mark::CODE, Published, geojson_byte_order_mark::find),
    rule(&geojson_ring_direction::CODE, Published, geojson_ring_direction::find),
    rule(&raster_turned::CODE, Judgement, raster_turned::find),
    rule(&raster_no_data::CODE, Judgement, raster_no_data::find),
    rule(&raster_bands::CODE, Judgement, raster_bands::find),
    rule(&raster_by_points::CODE, Published, raster_by_points::find),
    rule(&geopackage_header::CODE, Published, geopackage_header::find),
    rule(&geopackage_reference_systems::CODE, Published, geopackage_reference_systems::find),
    rule(&geopackage_extent::CODE, Judgement, geopackage_extent::find),
    rule(&geopackage_geometry::CODE, Judgement, geopackage_geometry::find),
    rule(&geopackage_damaged::CODE, OtherProgram, geopackage_damaged::find),
    plan(&RATES_DIFFER),
    plan(&TOTAL_DIFFERS),
    plan(&RATES_TURNED),
    plan(&RATES_SHIFTED),
    plan(&RATES_BY_A_FACTOR),
    plan(&LAYER_WITHOUT_PLAN),
    plan(&PLAN_WITHOUT_LAYER),
];
