//! Reads a field outline, or sample points, from a customer's vector file through GDAL.
//!
//! All layers are read, whatever CRS they state becomes longitude and latitude on WGS 84, heights are dropped. What is
//! left out is said. A file without a CRS is refused unless one is stated; nothing is guessed.

mod polygon_parts;
mod source;

use std::collections::BTreeMap;
use std::path::Path;

use gdal::vector::{Feature, FieldValue, Geometry, LayerAccess, OGRwkbGeometryType, geometry_type_flatten};
use geo::{Distance, Geodesic, Point};
use holdground::boundary::StatedPolygon;
use holdground::crs::{LonLat, show_lon_lat, take_gdal_messages};
use holdground::diagnostic::{Code, Diagnostic, Severity};

use polygon_parts::PolygonParts;
use source::{Purpose, VectorFile, WaysToLonLat};

pub(crate) use source::{STATED_CRS_DIFFERS, UNREADABLE_VECTOR_FILE, VECTOR_FILE_WITHOUT_CRS};

/// A file without the ground of a field.
pub(crate) static NO_POLYGON_IN_OUTLINE: Code = Code {
    name: "no-polygon-in-outline",
    checks: "that an outline file holds at least one polygon",
    why: "a line or points enclose no ground; whether a walked line closes is for a person to say",
    example: "a drive around the field saved as a track",
    mend: "open the file in a GIS or map editor, turn the line into a polygon, and save again",
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

/// A point file without points.
pub(crate) static NO_POINT_IN_FILE: Code = Code {
    name: "no-point-in-file",
    checks: "that a file named as the source of sample places holds points",
    why: "samples without places cannot be mapped",
    example: "a GPX file with a track and no waypoints",
    mend: "export the waypoints (the places cored), not the track driven",
};

/// Points whose id cannot be read.
pub(crate) static POINT_ID_MISSING: Code = Code {
    name: "point-id-missing",
    checks: "that every point has the attribute named as its sample id, and that it is filled",
    why: "the id joins the place to the lab's row",
    example: "`id = \"Sample\"` for a GPX file, whose waypoints carry `name`",
    mend: "name one of the attributes listed, or fill the empty ids",
};

/// One id at several places.
pub(crate) static POINT_ID_REPEATED: Code = Code {
    name: "point-id-repeated",
    checks: "that no sample id stands at two places",
    why: "the lab's row would belong to either",
    example: "two waypoints named `12`, 85 m apart",
    mend: "rename or remove one of the points",
};

/// Messages of this module, for `holdground explain`.
pub(crate) static CODES: &[&Code] = &[
    &NO_POLYGON_IN_OUTLINE,
    &VECTOR_PARTS_LEFT_OUT,
    &SEVERAL_OUTLINES,
    &NO_POINT_IN_FILE,
    &POINT_ID_MISSING,
    &POINT_ID_REPEATED,
    &UNREADABLE_VECTOR_FILE,
    &VECTOR_FILE_WITHOUT_CRS,
    &STATED_CRS_DIFFERS,
];

/// Two points of one id this close are one place, meters.
const SAME_PLACE_M: f64 = 0.01;

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

/// A sample's place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct FilePoint {
    /// Trimmed text; leading zeros kept.
    pub(crate) id: String,
    /// Degrees on WGS 84.
    pub(crate) lon: f64,
    /// Degrees on WGS 84.
    pub(crate) lat: f64,
}

/// Points with ids, in the order of the file; no id twice.
#[derive(Debug)]
pub(crate) struct PointFile {
    /// The points.
    pub(crate) points: Vec<FilePoint>,
    /// CRS of the file, or the one stated for it.
    pub(crate) crs_name: String,
    /// Warnings and notes.
    pub(crate) notes: Vec<Diagnostic>,
}

/// Reads every polygon of a file as one field.
///
/// # Errors
/// All faults found, with the file as place; faults of `stated_crs` itself carry none.
pub(crate) fn read_outline(path: &Path, stated_crs: Option<&str>) -> Result<OutlineFile, Vec<Diagnostic>> {
    let source = VectorFile::open(path, Purpose::Outline)?;
    let mut messages = take_gdal_messages();
    let mut ways = WaysToLonLat::new(&source, stated_crs)?;
    let (mut rings_lon_lat, mut polygons) = (Vec::new(), Vec::new());
    let mut all = PolygonParts::default();
    let (mut n_features, mut n_layers, mut faults) = (0, 0, Vec::new());
    for mut layer in source.dataset.layers() {
        n_layers += 1;
        let spatial_ref = layer.spatial_ref();
        let mut parts = PolygonParts::default();
        for feature in layer.features() {
            n_features += usize::from(feature.geometry().is_some_and(|geometry| parts.take(geometry)));
        }
        messages.extend(take_gdal_messages());
        all.count(&parts);
        let offset = rings_lon_lat.len();
        match ways.convert(spatial_ref, &parts.rings.concat()) {
            Ok(places) => {
                let mut places = places.into_iter();
                rings_lon_lat
                    .extend(parts.rings.iter().map(|ring| places.by_ref().take(ring.len()).collect::<Vec<_>>()));
                polygons.extend(parts.polygons.into_iter().map(|polygon| StatedPolygon {
                    exterior: polygon.exterior + offset,
                    interiors: polygon.interiors.iter().map(|ring| ring + offset).collect(),
                }));
            }
            Err(found) => faults.extend(found),
        }
    }
    let mut notes = source.remarks(&messages, &mut faults);
    if faults.is_empty() && rings_lon_lat.is_empty() {
        let held = if all.others().is_empty() { "nothing".to_string() } else { all.others().join(", ") };
        let message = format!("`{}` holds no polygon, found {held}", source.shown);
        let mut fault = Diagnostic::error(&NO_POLYGON_IN_OUTLINE, message).at(source.place());
        if all.n_lines > 0 {
            fault = fault.with_help("close the line into a polygon in a GIS or map editor, save, and run again");
        }
        faults.push(fault);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    notes.extend(
        all.remarks().into_iter().map(|remark| Diagnostic::note(&VECTOR_PARTS_LEFT_OUT, remark).at(source.place())),
    );
    if n_features > 1 {
        let message = format!("the outline file has {n_features} features with polygons, all are taken as one field");
        notes.push(
            Diagnostic::warning(&SEVERAL_OUTLINES, message)
                .at(source.place())
                .with_help("if some belong to other fields, keep only this field's polygons in the file"),
        );
    }
    let (crs_name, accuracy) = ways.summary();
    Ok(OutlineFile { rings_lon_lat, polygons, crs_name, accuracy, n_layers, n_features, notes })
}

/// Reads the points of a file with the id each carries in an attribute (GPX waypoints: `name`).
///
/// The attribute's name is matched exactly, else without regard to capitals. Numbers become text without a fraction.
///
/// # Errors
/// All faults found, with the file as place; faults of `stated_crs` itself carry none.
pub(crate) fn read_points(
    path: &Path,
    id_attribute: &str,
    stated_crs: Option<&str>,
) -> Result<PointFile, Vec<Diagnostic>> {
    let source = VectorFile::open(path, Purpose::Points)?;
    let mut messages = take_gdal_messages();
    let mut ways = WaysToLonLat::new(&source, stated_crs)?;
    let is_gpx = source.dataset.driver().short_name() == "GPX";
    let (mut points, mut faults, mut n_others) = (Vec::new(), Vec::new(), 0_usize);
    for mut layer in source.dataset.layers() {
        // The corners of tracks and routes are layers of points too.
        if is_gpx && layer.name() != "waypoints" {
            continue;
        }
        let spatial_ref = layer.spatial_ref();
        let attributes: Vec<String> = layer.defn().fields().map(|field| field.name()).collect();
        let column = attributes
            .iter()
            .position(|name| name == id_attribute)
            .or_else(|| attributes.iter().position(|name| name.eq_ignore_ascii_case(id_attribute)));
        let (mut ids, mut places) = (Vec::new(), Vec::new());
        for feature in layer.features() {
            let n_before = places.len();
            n_others += feature.geometry().map_or(1, |geometry| take_points(geometry, &mut places));
            let id = column.and_then(|column| text_of(&feature, column));
            ids.extend(std::iter::repeat_n(id, places.len() - n_before));
        }
        messages.extend(take_gdal_messages());
        if column.is_none() && !places.is_empty() {
            let found =
                if attributes.is_empty() { "none".to_string() } else { format!("`{}`", attributes.join("`, `")) };
            let message = format!("points have no attribute `{id_attribute}`; found: {found}");
            faults.push(
                Diagnostic::error(&POINT_ID_MISSING, message)
                    .at(source.place())
                    .with_help("name the attribute with the sample's id in `places` under `[samples]`"),
            );
            continue;
        }
        match ways.convert(spatial_ref, &places) {
            Ok(places) => {
                for (id, (lon, lat)) in ids.into_iter().zip(places) {
                    match id {
                        Some(id) => points.push(FilePoint { id, lon, lat }),
                        None => {
                            let message = format!("the point at {} has no `{id_attribute}`", show_lon_lat((lon, lat)));
                            faults.push(Diagnostic::error(&POINT_ID_MISSING, message).at(source.place()));
                        }
                    }
                }
            }
            Err(found) => faults.extend(found),
        }
    }
    let mut notes = source.remarks(&messages, &mut faults);
    if faults.is_empty() && points.is_empty() {
        let message = format!("`{}` holds no point, found {n_others} other features", source.shown);
        faults.push(Diagnostic::error(&NO_POINT_IN_FILE, message).at(source.place()));
    }
    for repeated in drop_repeated(&mut points) {
        let list = if repeated.severity == Severity::Error { &mut faults } else { &mut notes };
        list.push(repeated.at(source.place()));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    if n_others > 0 {
        let message = format!("left out of the sample places: {n_others} features that are not points");
        notes.push(Diagnostic::note(&VECTOR_PARTS_LEFT_OUT, message).at(source.place()));
    }
    Ok(PointFile { points, crs_name: ways.summary().0, notes })
}

/// Takes the points of a feature; returns how many other geometries it holds.
fn take_points(geometry: &Geometry, places: &mut Vec<(f64, f64)>) -> usize {
    match geometry_type_flatten(geometry.geometry_type()) {
        OGRwkbGeometryType::wkbPoint if !geometry.is_empty() => {
            let (x, y, _) = geometry.get_point(0);
            places.push((x, y));
            0
        }
        OGRwkbGeometryType::wkbMultiPoint | OGRwkbGeometryType::wkbGeometryCollection => {
            (0..geometry.geometry_count()).map(|index| take_points(&geometry.get_geometry(index), places)).sum()
        }
        _ => 1,
    }
}

/// An attribute as trimmed text; `None` if it is not set or blank.
fn text_of(feature: &Feature<'_>, column: usize) -> Option<String> {
    let text = match feature.field(column) {
        // A whole number that passed through a table of decimals is `12`, not `12.000000000000000`.
        Ok(Some(FieldValue::RealValue(value))) => format!("{value}"),
        _ => feature.field_as_string(column).ok().flatten()?,
    };
    let text = text.trim();
    (!text.is_empty()).then(|| text.to_string())
}

/// Keeps the first of points with the same id and place, with a warning; one id at two places is an error.
fn drop_repeated(points: &mut Vec<FilePoint>) -> Vec<Diagnostic> {
    let mut first_of: BTreeMap<String, Point<f64>> = BTreeMap::new();
    let mut found = Vec::new();
    points.retain(|point| {
        let place = Point::new(point.lon, point.lat);
        let Some(&first) = first_of.get(&point.id) else {
            first_of.insert(point.id.clone(), place);
            return true;
        };
        let apart_m = Geodesic.distance(first, place);
        found.push(if apart_m <= SAME_PLACE_M {
            Diagnostic::warning(
                &POINT_ID_REPEATED,
                format!("point `{}` is in the file more than once at one place: taken once", point.id),
            )
        } else {
            Diagnostic::error(
                &POINT_ID_REPEATED,
                format!("id `{}` stands at two places, {apart_m:.1} m apart", point.id),
            )
            .with_help("rename or remove one of the points")
        });
        apart_m > SAME_PLACE_M
    });
    found
}

#[cfg(test)]
mod tests;
