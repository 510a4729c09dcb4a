//! Zones drawn by a person, or by another program: polygons with a name.

use std::path::Path;

use gdal::vector::LayerAccess;
use geo::{MultiPolygon, Polygon};
use holdground::crs::{LonLat, show_lon_lat, take_gdal_messages};
use holdground::diagnostic::{Code, Diagnostic};

use super::VECTOR_PARTS_LEFT_OUT;
use super::keep_off::polygon_of;
use super::points::text_of;
use super::polygon_parts::PolygonParts;
use super::source::{Purpose, VectorFile, WaysToLonLat, column_of, geometry_of};

/// A file of zones without polygons.
pub(crate) static NO_ZONE_POLYGON: Code = Code {
    name: "no-zone-polygon",
    checks: "that a file of zones holds at least one polygon",
    why: "a line or a point is no ground to treat alike",
    example: "the lines between the zones, without the zones",
    mend: "save the zones as polygons, each with its name or number",
};

/// A zone without a name.
pub(crate) static ZONE_NAME_MISSING: Code = Code {
    name: "zone-name-missing",
    checks: "that every polygon of a file of zones has the attribute named, and that it is filled",
    why: "polygons of one name are one zone; one without a name belongs to none",
    example: "a polygon whose `zone` was left blank when it was drawn",
    mend: "fill the attribute, or name another one",
};

/// Zones as a file states them.
#[derive(Debug)]
pub(crate) struct ZonePolygonFile {
    /// Name and ground of each zone, longitude and latitude, in the order the names first come. Rings are as drawn:
    /// inside is what an odd number of a polygon's rings surrounds. Zones may overlap.
    pub(crate) zones: Vec<(String, MultiPolygon<f64>)>,
    /// CRS of the file, or the one stated for it.
    pub(crate) crs_name: String,
    /// What GDAL states of the way to WGS 84.
    pub(crate) accuracy: String,
    /// Features with polygons.
    pub(crate) n_features: usize,
    /// Warnings and notes.
    pub(crate) notes: Vec<Diagnostic>,
}

/// Reads the polygons of all layers with the name each carries in an attribute; those of one name are one zone.
///
/// The attribute's name is matched exactly, else without regard to capitals. Numbers become text without a fraction.
/// Heights are dropped, arcs made straight; what is no polygon is left out and said.
///
/// # Errors
/// All faults found, with the file as place; faults of `stated_crs` itself carry none.
pub(crate) fn read_zone_polygons(
    path: &Path,
    name_attribute: &str,
    stated_crs: Option<&str>,
) -> Result<ZonePolygonFile, Vec<Diagnostic>> {
    let source = VectorFile::open(path, Purpose::Zones)?;
    let mut messages = take_gdal_messages();
    let mut ways = WaysToLonLat::new(&source, stated_crs)?;
    let mut zones: Vec<(String, Vec<Polygon<f64>>)> = Vec::new();
    let (mut n_features, mut n_without_place, mut faults) = (0, 0, Vec::new());
    let mut all = PolygonParts::default();
    for mut layer in source.dataset.layers() {
        let spatial_ref = layer.spatial_ref();
        let attributes: Vec<String> = layer.defn().fields().map(|field| field.name()).collect();
        let column = column_of(&attributes, name_attribute);
        let mut parts = PolygonParts::default();
        // The name of each polygon taken.
        let mut names: Vec<Option<String>> = Vec::new();
        for feature in layer.features() {
            let Some(geometry) = geometry_of(&feature) else {
                n_without_place += 1;
                continue;
            };
            n_features += usize::from(parts.take(geometry));
            let name = column.and_then(|column| text_of(&feature, column));
            names.resize(parts.polygons.len(), name);
        }
        messages.extend(take_gdal_messages());
        all.count(&parts);
        if column.is_none() && !names.is_empty() {
            let found =
                if attributes.is_empty() { "none".to_owned() } else { format!("`{}`", attributes.join("`, `")) };
            let message = format!("zones have no attribute `{name_attribute}`; found: {found}");
            faults.push(
                Diagnostic::error(&ZONE_NAME_MISSING, message)
                    .at(source.place())
                    .with_help("name the attribute that holds each zone's name or number"),
            );
            continue;
        }
        let given: Vec<(f64, f64)> = parts.rings.iter().flatten().copied().collect();
        let places = match ways.convert(spatial_ref, &given) {
            Ok(places) => places,
            Err(found) => {
                faults.extend(found);
                continue;
            }
        };
        let mut places = places.into_iter();
        let rings: Vec<Vec<LonLat>> =
            parts.rings.iter().map(|ring| places.by_ref().take(ring.len()).collect()).collect();
        for (stated, name) in parts.polygons.iter().zip(names) {
            let polygon = polygon_of(stated, &rings);
            let Some(name) = name else {
                let at = rings[stated.exterior].first().map_or(String::new(), |&place| show_lon_lat(place));
                let message = format!("the polygon that begins at {at} has no `{name_attribute}`");
                faults.push(Diagnostic::error(&ZONE_NAME_MISSING, message).at(source.place()));
                continue;
            };
            match zones.iter_mut().find(|(known, _)| *known == name) {
                Some((_, polygons)) => polygons.push(polygon),
                None => zones.push((name, vec![polygon])),
            }
        }
    }
    let mut notes = source.remarks(&messages, &mut faults);
    if faults.is_empty() && zones.is_empty() {
        let held = if all.others().is_empty() { "nothing".to_owned() } else { all.others().join(", ") };
        let message = format!("`{}` holds no polygon, found {held}", source.shown);
        faults.push(
            Diagnostic::error(&NO_ZONE_POLYGON, message)
                .at(source.place())
                .with_help("save the zones as polygons, each with its name or number"),
        );
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut note = |message: String| notes.push(Diagnostic::note(&VECTOR_PARTS_LEFT_OUT, message).at(source.place()));
    all.remarks("zones").into_iter().for_each(&mut note);
    if n_without_place > 0 {
        note(format!("left out of the zones: {n_without_place} features without a place"));
    }
    let (crs_name, accuracy) = ways.summary();
    let zones = zones.into_iter().map(|(name, polygons)| (name, MultiPolygon::new(polygons))).collect();
    Ok(ZonePolygonFile { zones, crs_name, accuracy, n_features, notes })
}
