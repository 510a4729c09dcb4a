//! Sample places of a vector file: points with an id, or polygons with one, each standing as a point inside it.

use std::collections::BTreeMap;
use std::path::Path;

use gdal::vector::{Feature, FieldValue, Geometry, LayerAccess, OGRwkbGeometryType, geometry_type_flatten};
use geo::{Area, Distance, Geodesic, InteriorPoint, LineString, Point, Polygon};
use holdground::crs::{show_lon_lat, take_gdal_messages};
use holdground::diagnostic::{Code, Diagnostic, Severity};
use holdground::samples::PlaceShape;

use super::VECTOR_PARTS_LEFT_OUT;
use super::polygon_parts::PolygonParts;
use super::source::{Purpose, VectorFile, WaysToLonLat, column_of};

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

/// Samples mixed from a whole polygon.
pub(crate) static COMPOSITES_AT_POINTS: Code = Code {
    name: "composites-at-points",
    checks: "whether samples stand for polygons (`take = \"polygons\"`) rather than for places",
    why: "a sample mixed from a polygon says what the polygon holds on average; the map puts it at one point and draws a slope to the next",
    example: "8 zones sampled as 8 composites: the map is smooth between 8 points, though the soil may change at a line",
    mend: "nothing, if a sketch is enough; point samples tell where the soil changes",
};

/// Two points of one id this close are one place, meters.
const SAME_PLACE_M: f64 = 0.01;

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

/// Reads the points of a file with the id each carries in an attribute (GPX waypoints: `name`).
///
/// With [`PlaceShape::Polygons`] the polygons are read instead: the place is a point inside, of several parts inside
/// the largest.
///
/// The attribute's name is matched exactly, else without regard to capitals. Numbers become text without a fraction.
///
/// # Errors
/// All faults found, with the file as place; faults of `stated_crs` itself carry none.
pub(crate) fn read_points(
    path: &Path,
    id_attribute: &str,
    stated_crs: Option<&str>,
    take: PlaceShape,
) -> Result<PointFile, Vec<Diagnostic>> {
    let source = VectorFile::open(path, Purpose::Points)?;
    let mut messages = take_gdal_messages();
    let mut ways = WaysToLonLat::new(&source, stated_crs)?;
    let noun = match take {
        PlaceShape::Points => "point",
        PlaceShape::Polygons => "polygon",
    };
    let (mut points, mut faults, mut others) = (Vec::new(), Vec::new(), Others::default());
    for mut layer in source.dataset.layers() {
        // The corners of tracks and routes are layers of points too.
        if source.is_gpx() && layer.name() != "waypoints" {
            continue;
        }
        let spatial_ref = layer.spatial_ref();
        let attributes: Vec<String> = layer.defn().fields().map(|field| field.name()).collect();
        let column = column_of(&attributes, id_attribute);
        let (mut ids, mut places) = (Vec::new(), Vec::new());
        for feature in layer.features() {
            let n_before = places.len();
            match feature.geometry() {
                Some(geometry) if take == PlaceShape::Polygons => take_polygon(geometry, &mut places, &mut others),
                Some(geometry) => take_points(geometry, &mut places, &mut others),
                None => others.n += 1,
            }
            let id = column.and_then(|column| text_of(&feature, column));
            ids.extend(std::iter::repeat_n(id, places.len() - n_before));
        }
        messages.extend(take_gdal_messages());
        if column.is_none() && !places.is_empty() {
            let found =
                if attributes.is_empty() { "none".to_string() } else { format!("`{}`", attributes.join("`, `")) };
            let message = format!("{noun}s have no attribute `{id_attribute}`; found: {found}");
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
                            let message = format!("the {noun} at {} has no `{id_attribute}`", show_lon_lat((lon, lat)));
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
        let message = format!("`{}` holds no {noun}, found {} other features", source.shown, others.n);
        let fault = Diagnostic::error(&NO_POINT_IN_FILE, message).at(source.place());
        faults.push(match take {
            PlaceShape::Points if others.n_polygons > 0 => fault.with_help(
                "if each sample was mixed from cores all over its polygon, write `take = \"polygons\"` in `places` under `[samples]`",
            ),
            PlaceShape::Polygons if others.n_points > 0 => {
                fault.with_help("take `take` out of `places` under `[samples]`: the samples lie at points")
            }
            _ => fault,
        });
    }
    for repeated in drop_repeated(&mut points, take) {
        let list = if repeated.severity == Severity::Error { &mut faults } else { &mut notes };
        list.push(repeated.at(source.place()));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut note = |message: String| notes.push(Diagnostic::note(&VECTOR_PARTS_LEFT_OUT, message).at(source.place()));
    if others.n > 0 {
        note(format!("left out of the sample places: {} features that are not {noun}s", others.n));
    }
    if others.n_lesser_parts > 0 {
        note(format!("samples with several polygons stand in the largest; {} smaller left out", others.n_lesser_parts));
    }
    if take == PlaceShape::Polygons {
        let message = format!("{} composite samples stand at one point each, inside their polygons", points.len());
        notes.push(
            Diagnostic::warning(&COMPOSITES_AT_POINTS, message).at(source.place()).with_help(
                "the ground between these points is interpolated from them: read edges on the map as sketched",
            ),
        );
    }
    Ok(PointFile { points, crs_name: ways.summary().0, notes })
}

/// What a file holds beside the shapes taken.
#[derive(Default)]
pub(super) struct Others {
    pub(super) n: usize,
    n_points: usize,
    n_polygons: usize,
    n_lesser_parts: usize,
}

/// Takes the points of a feature, of whatever depth.
pub(super) fn take_points(geometry: &Geometry, places: &mut Vec<(f64, f64)>, others: &mut Others) {
    match geometry_type_flatten(geometry.geometry_type()) {
        OGRwkbGeometryType::wkbPoint if !geometry.is_empty() => {
            let (x, y, _) = geometry.get_point(0);
            places.push((x, y));
        }
        OGRwkbGeometryType::wkbMultiPoint | OGRwkbGeometryType::wkbGeometryCollection => {
            (0..geometry.geometry_count()).for_each(|index| take_points(&geometry.get_geometry(index), places, others));
        }
        _ => {
            others.n += 1;
            others.n_polygons += usize::from(PolygonParts::default().take(geometry));
        }
    }
}

/// Takes one point inside the largest polygon of a feature, in the CRS of the layer.
pub(super) fn take_polygon(geometry: &Geometry, places: &mut Vec<(f64, f64)>, others: &mut Others) {
    let mut parts = PolygonParts::default();
    if !parts.take(geometry) {
        others.n += 1;
        others.n_points += usize::from(parts.n_points > 0);
        return;
    }
    others.n += parts.n_left();
    others.n_lesser_parts += parts.polygons.len() - 1;
    let line = |&ring: &usize| LineString::from(parts.rings[ring].clone());
    let polygons = parts
        .polygons
        .iter()
        .map(|polygon| Polygon::new(line(&polygon.exterior), polygon.interiors.iter().map(line).collect()));
    let largest = polygons.max_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()));
    // A coordinate that is no number is refused with the others of the layer.
    let is_sound = parts.rings.iter().flatten().all(|(x, y)| x.is_finite() && y.is_finite());
    let inside = largest.filter(|_| is_sound).and_then(|polygon| polygon.interior_point());
    places.push(inside.map_or((f64::NAN, f64::NAN), |point| (point.x(), point.y())));
}

/// An attribute as trimmed text; `None` if it is not set or blank.
pub(super) fn text_of(feature: &Feature<'_>, column: usize) -> Option<String> {
    let text = match feature.field(column) {
        // A whole number that passed through a table of decimals is `12`, not `12.000000000000000`.
        Ok(Some(FieldValue::RealValue(value))) => format!("{value}"),
        _ => feature.field_as_string(column).ok().flatten()?,
    };
    let text = text.trim();
    (!text.is_empty()).then(|| text.to_string())
}

/// Keeps the first of points with the same id and place, with a warning; one id at two places is an error.
fn drop_repeated(points: &mut Vec<FilePoint>, take: PlaceShape) -> Vec<Diagnostic> {
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
            .with_help(match take {
                PlaceShape::Points => "rename or remove one of the points",
                PlaceShape::Polygons => {
                    "rename one of the polygons, or join those of one sample into one feature: its largest part is taken"
                }
            })
        });
        apart_m > SAME_PLACE_M
    });
    found
}
