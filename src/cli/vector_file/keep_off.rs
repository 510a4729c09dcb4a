//! Features to keep off: points, lines and polygons of a file, whatever it mixes.

use std::path::Path;

use gdal::vector::LayerAccess;
use geo::{Geometry, LineString, Point, Polygon};
use holdground::boundary::StatedPolygon;
use holdground::crs::{LonLat, take_gdal_messages};
use holdground::diagnostic::{Code, Diagnostic};

use super::VECTOR_PARTS_LEFT_OUT;
use super::polygon_parts::PolygonParts;
use super::source::{Purpose, VectorFile, WaysToLonLat, geometry_of};

/// A file without anything to keep off.
pub(crate) static NOTHING_TO_KEEP_OFF: Code = Code {
    name: "nothing-to-keep-off",
    checks: "that a file named under `[[keep_off]]` holds at least one point, line or polygon",
    why: "an empty file would keep nothing off, and look as if it did",
    example: "a layer saved with an empty selection",
    mend: "save the features again, or take the `[[keep_off]]` out",
};

/// What to keep off, as a file states it.
#[derive(Debug)]
pub(crate) struct KeepOffFile {
    /// Points, lines and polygons, longitude and latitude, layer by layer.
    pub(crate) shapes: Vec<Geometry<f64>>,
    /// CRS of the file, or the one stated for it.
    pub(crate) crs_name: String,
    /// What GDAL states of the way to WGS 84.
    pub(crate) accuracy: String,
    /// Features with a place.
    pub(crate) n_features: usize,
    /// Warnings and notes.
    pub(crate) notes: Vec<Diagnostic>,
}

/// Reads every point, line and polygon of a file.
///
/// Multiple geometries and collections are opened, heights dropped, arcs made straight. Of a GPX file waypoints, routes
/// and tracks are taken.
///
/// # Errors
/// All faults found, with the file as place; faults of `stated_crs` itself carry none.
pub(crate) fn read_keep_off(path: &Path, stated_crs: Option<&str>) -> Result<KeepOffFile, Vec<Diagnostic>> {
    let source = VectorFile::open(path, Purpose::KeepOff)?;
    let mut messages = take_gdal_messages();
    let mut ways = WaysToLonLat::new(&source, stated_crs)?;
    let (mut shapes, mut faults) = (Vec::new(), Vec::new());
    let mut all = PolygonParts::default();
    let (mut n_features, mut n_without_place) = (0, 0);
    for mut layer in source.dataset.layers() {
        // The corners of GPX tracks and routes are layers too: the lines hold them.
        if source.is_gpx() && layer.name().ends_with("_points") {
            continue;
        }
        let spatial_ref = layer.spatial_ref();
        let mut parts = PolygonParts::default();
        for feature in layer.features() {
            let n_before = parts.n_seen();
            geometry_of(&feature).map(|geometry| parts.take(geometry));
            match parts.n_seen() > n_before {
                true => n_features += 1,
                false => n_without_place += 1,
            }
        }
        messages.extend(take_gdal_messages());
        all.count(&parts);
        let lines = || parts.lines.iter().flatten();
        let given: Vec<(f64, f64)> =
            parts.rings.iter().chain(lines()).flatten().chain(&parts.points).copied().collect();
        match ways.convert(spatial_ref, &given) {
            Ok(places) => {
                let mut places = places.into_iter();
                let mut placed = |n: usize| places.by_ref().take(n).collect::<Vec<LonLat>>();
                let rings: Vec<Vec<LonLat>> = parts.rings.iter().map(|ring| placed(ring.len())).collect();
                shapes.extend(parts.polygons.iter().map(|polygon| polygon_of(polygon, &rings).into()));
                shapes.extend(lines().map(|line| Geometry::from(LineString::from(placed(line.len())))));
                shapes.extend(placed(parts.points.len()).into_iter().map(|at| Geometry::from(Point::from(at))));
            }
            Err(found) => faults.extend(found),
        }
    }
    let mut notes = source.remarks(&messages, &mut faults);
    if faults.is_empty() && shapes.is_empty() {
        let held = match (n_without_place, all.n_of_other_kinds) {
            (0, 0) => "nothing".to_owned(),
            (n, 0) => format!("{n} features without a place"),
            (_, n) => format!("{n} geometries of another kind"),
        };
        let message = format!("`{}` holds no point, line or polygon to keep off, found {held}", source.shown);
        faults.push(
            Diagnostic::error(&NOTHING_TO_KEEP_OFF, message)
                .at(source.place())
                .with_help("save the features again, or take this `[[keep_off]]` out"),
        );
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    // What is missing here is not kept off: more than a note.
    for (n, what) in [(n_without_place, "without a place"), (all.n_of_other_kinds, "of another kind")] {
        if n > 0 {
            let message = format!("not kept off: {n} features {what}");
            notes.push(
                Diagnostic::warning(&VECTOR_PARTS_LEFT_OUT, message)
                    .at(source.place())
                    .with_help("look at the file on a map: is everything drawn that is to be kept off?"),
            );
        }
    }
    for (n, what) in [
        (all.n_with_height, "heights of {} polygons are left out"),
        (all.n_with_arcs, "arcs of {} polygons are taken as straight pieces of 1 degree"),
    ] {
        if n > 0 {
            let message = what.replace("{}", &n.to_string());
            notes.push(Diagnostic::note(&VECTOR_PARTS_LEFT_OUT, message).at(source.place()));
        }
    }
    let (crs_name, accuracy) = ways.summary();
    Ok(KeepOffFile { shapes, crs_name, accuracy, n_features, notes })
}

/// A polygon with the rings a file gives it.
pub(super) fn polygon_of(polygon: &StatedPolygon, rings: &[Vec<LonLat>]) -> Polygon<f64> {
    let line = |&ring: &usize| LineString::from(rings[ring].clone());
    Polygon::new(line(&polygon.exterior), polygon.interiors.iter().map(line).collect())
}
