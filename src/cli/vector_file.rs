//! Reads a field outline, sample points, or what to keep off, from a customer's vector file through GDAL.
//!
//! All layers are read, whatever CRS they state becomes longitude and latitude on WGS 84, heights are dropped. What is
//! left out is said. A file without a CRS is refused unless one is stated; nothing is guessed.

mod covariate_points;
mod keep_off;
mod log_points;
mod point_names;
mod points;
mod polygon_parts;
pub(crate) mod source;
mod walked_line;
mod zone_polygons;

use std::path::Path;

use gdal::spatial_ref::SpatialRef;
use gdal::vector::LayerAccess;
use holdground::boundary::StatedPolygon;
use holdground::crs::{LonLat, take_gdal_messages};
use holdground::diagnostic::{Code, Diagnostic};
use holdground::field_file::OutlineLine;

use super::covariate;
use polygon_parts::PolygonParts;
use source::{Purpose, VectorFile, WaysToLonLat};

pub(crate) use covariate_points::read_covariate_points;
pub(crate) use keep_off::{NOTHING_TO_KEEP_OFF, read_keep_off};
pub(crate) use log_points::read_log_rows;
pub(crate) use point_names::read_point_names;
pub(crate) use points::{COMPOSITES_AT_POINTS, NO_POINT_IN_FILE, POINT_ID_MISSING, POINT_ID_REPEATED, read_points};
pub(crate) use source::{STATED_CRS_DIFFERS, UNREADABLE_VECTOR_FILE, VECTOR_FILE_WITHOUT_CRS};
pub(crate) use walked_line::{WALK_NOT_A_ROUND, WALKED_LINE_CLOSED};
pub(crate) use zone_polygons::read_zone_polygons;

/// A file without the ground of a field.
pub(crate) static NO_POLYGON_IN_OUTLINE: Code = Code {
    name: "no-polygon-in-outline",
    checks: "that an outline file holds at least one polygon",
    why: "a line or points enclose no ground; whether a walked line closes is for a person to say",
    example: "a drive around the field saved as a track",
    mend: "write `outline_line = \"close\"` under `[field]` to close a walked line, or turn it into a polygon in a map editor",
};

/// Things in a file that were not used as they stand.
pub(crate) static VECTOR_PARTS_LEFT_OUT: Code = Code {
    name: "vector-parts-left-out",
    checks: "what an outline or point file holds beside polygons or points",
    why: "so that nothing is dropped in silence",
    example: "a KML file with the outline and a pin at the gate: the pin is left out",
    mend: "nothing, if what is left out does not belong to the field",
};

/// An outline file with several features.
pub(crate) static SEVERAL_OUTLINES: Code = Code {
    name: "several-outlines",
    checks: "how many features with polygons an outline file has",
    why: "all of them are taken as parts of one field; a file of a whole farm would become one field",
    example: "an export of 12 fields in one shapefile",
    mend: "keep only this field's polygons in the file; nothing, if the field has several parts",
};

/// Messages of this module, for `holdground explain`.
pub(crate) static CODES: &[&Code] = &[
    &NO_POLYGON_IN_OUTLINE,
    &VECTOR_PARTS_LEFT_OUT,
    &SEVERAL_OUTLINES,
    &NO_POINT_IN_FILE,
    &POINT_ID_MISSING,
    &POINT_ID_REPEATED,
    &COMPOSITES_AT_POINTS,
    &WALKED_LINE_CLOSED,
    &WALK_NOT_A_ROUND,
    &NOTHING_TO_KEEP_OFF,
    &zone_polygons::NO_ZONE_POLYGON,
    &zone_polygons::ZONE_NAME_MISSING,
    &covariate::COVARIATE_COLUMN_MISSING,
    &covariate::COVARIATE_WITHOUT_VALUES,
    &covariate::COVARIATE_VALUES_LEFT_OUT,
    &covariate::UNREADABLE_COVARIATE,
    &covariate::RASTER_WITHOUT_PLACE,
    &covariate::RASTER_BESIDE_FIELD,
    &covariate::RASTER_TOO_FINE,
    &UNREADABLE_VECTOR_FILE,
    &VECTOR_FILE_WITHOUT_CRS,
    &STATED_CRS_DIFFERS,
];

/// A field outline as a file states it, in longitude and latitude.
#[derive(Debug)]
pub(crate) struct OutlineFile {
    /// Rings in the order of the file, as drawn.
    pub(crate) rings_lon_lat: Vec<Vec<LonLat>>,
    /// Which rings the file states as exteriors and holes.
    pub(crate) polygons: Vec<StatedPolygon>,
    /// CRS of the file, or the one stated for it.
    pub(crate) crs_name: String,
    /// What GDAL states of the way to WGS 84.
    pub(crate) accuracy: String,
    /// Layers in the file.
    pub(crate) n_layers: usize,
    /// Features with polygons.
    pub(crate) n_features: usize,
    /// Warnings and notes.
    pub(crate) notes: Vec<Diagnostic>,
}

/// Reads every polygon of a file as one field; where there is none, its lines, if `line_rule` closes them.
///
/// # Errors
/// All faults found, with the file as place; faults of `stated_crs` itself carry none.
pub(crate) fn read_outline(
    path: &Path,
    stated_crs: Option<&str>,
    line_rule: OutlineLine,
) -> Result<OutlineFile, Vec<Diagnostic>> {
    let source = VectorFile::open(path, Purpose::Outline)?;
    let mut messages = take_gdal_messages();
    let mut ways = WaysToLonLat::new(&source, stated_crs)?;
    let mut layers: Vec<(Option<SpatialRef>, PolygonParts)> = Vec::new();
    let mut all = PolygonParts::default();
    let (mut n_features, mut n_layers, mut faults) = (0, 0, Vec::new());
    for mut layer in source.dataset.layers() {
        n_layers += 1;
        // The corners of GPX tracks and routes are layers too: they are no pins of their own.
        if source.is_gpx() && layer.name().ends_with("_points") {
            continue;
        }
        let spatial_ref = layer.spatial_ref();
        let mut parts = PolygonParts::default();
        for feature in layer.features() {
            n_features += usize::from(feature.geometry().is_some_and(|geometry| parts.take(geometry)));
        }
        messages.extend(take_gdal_messages());
        all.count(&parts);
        if source.is_gpx() && layer.name() != "tracks" {
            parts.lines.clear(); // a route is a plan, not a walk
        }
        layers.push((spatial_ref, parts));
    }
    let (mut rings_lon_lat, mut polygons, mut closed) = (Vec::new(), Vec::new(), Vec::new());
    let closes = n_features == 0 && line_rule == OutlineLine::Close;
    for (spatial_ref, parts) in layers {
        let offset = rings_lon_lat.len();
        all.n_lines -= if closes { parts.lines.len() } else { 0 };
        // A GPX track is one walk, even where the receiver lost the sky and began a new piece.
        let walks: Vec<Vec<Vec<(f64, f64)>>> = match (closes, source.is_gpx()) {
            (false, _) => Vec::new(),
            (true, true) => parts.lines,
            (true, false) => parts.lines.into_iter().flatten().map(|line| vec![line]).collect(),
        };
        let given: Vec<&Vec<(f64, f64)>> = parts.rings.iter().chain(walks.iter().flatten()).collect();
        let points: Vec<(f64, f64)> = given.iter().flat_map(|line| line.iter().copied()).collect();
        let mut places = match ways.convert(spatial_ref, &points) {
            Ok(places) => places.into_iter(),
            Err(found) => {
                faults.extend(found);
                continue;
            }
        };
        let mut placed = |line: &Vec<(f64, f64)>| places.by_ref().take(line.len()).collect::<Vec<LonLat>>();
        rings_lon_lat.extend(parts.rings.iter().map(&mut placed));
        polygons.extend(parts.polygons.into_iter().map(|polygon| StatedPolygon {
            exterior: polygon.exterior + offset,
            interiors: polygon.interiors.iter().map(|ring| ring + offset).collect(),
        }));
        for walk in &walks {
            let pieces: Vec<Vec<LonLat>> = walk.iter().map(&mut placed).collect();
            n_features += 1;
            match walked_line::close(n_features, &pieces) {
                Ok((ring, note)) => {
                    polygons.push(StatedPolygon { exterior: rings_lon_lat.len(), interiors: Vec::new() });
                    rings_lon_lat.push(ring);
                    closed.push(note.at(source.place()));
                }
                Err(fault) => faults.push(fault.at(source.place())),
            }
        }
    }
    let n_walks = if closes { n_features } else { 0 };
    let mut notes = source.remarks(&messages, &mut faults);
    if faults.is_empty() && rings_lon_lat.is_empty() {
        faults.push(encloses_nothing(&source, &all, line_rule));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    notes.append(&mut closed);
    notes.extend(
        all.remarks("outline")
            .into_iter()
            .map(|remark| Diagnostic::note(&VECTOR_PARTS_LEFT_OUT, remark).at(source.place())),
    );
    if n_features > 1 {
        let held = if n_walks > 0 { "lines, all are closed and" } else { "features with polygons, all are" };
        let message = format!("the outline file has {n_features} {held} taken as one field");
        notes.push(
            Diagnostic::warning(&SEVERAL_OUTLINES, message)
                .at(source.place())
                .with_help("if some belong to other fields, keep only this field's outlines in the file"),
        );
    }
    let (crs_name, accuracy) = ways.summary();
    Ok(OutlineFile { rings_lon_lat, polygons, crs_name, accuracy, n_layers, n_features, notes })
}

/// The fault of a file without polygons, with what it holds.
fn encloses_nothing(source: &VectorFile, all: &PolygonParts, line_rule: OutlineLine) -> Diagnostic {
    let held = if all.others().is_empty() { "nothing".to_string() } else { all.others().join(", ") };
    let message = format!("`{}` holds no polygon, found {held}", source.shown);
    let fault = Diagnostic::error(&NO_POLYGON_IN_OUTLINE, message).at(source.place());
    match line_rule {
        OutlineLine::Refuse if all.n_lines > 0 => fault.with_help(
            "if the line is a walk round the field, write `outline_line = \"close\"` under `[field]`; or make it a polygon in a map editor",
        ),
        OutlineLine::Close if all.n_lines > 0 => {
            fault.with_help("only tracks of a GPX file are closed, not routes: make the line a polygon in a map editor")
        }
        _ => fault,
    }
}

#[cfg(test)]
mod covariate_tests;
#[cfg(test)]
mod format_tests;
#[cfg(test)]
mod keep_off_tests;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod zone_polygons_tests;
