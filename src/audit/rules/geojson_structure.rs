//! Members a feature must have.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geojson-structure",
    checks: "that the whole is a FeatureCollection, every feature has `geometry` and `properties`, and geometries are polygons (RFC 7946, 3.2, 3.3)",
    why: "loaders look for polygons with properties and pass over, or stop at, anything else",
    example: "a bare Polygon without a feature: there is no rate",
    mend: "have it written as a FeatureCollection of polygons",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(file) = geo_json(of).filter(|file| file.not_json.is_none()) else { return Found::new() };
    let mut found = Found::new();
    if file.root_type.as_deref() != Some("FeatureCollection") {
        let message =
            format!("the whole is `{}`; FeatureCollection expected", file.root_type.as_deref().unwrap_or("of no type"));
        found.push(Diagnostic::error(&CODE, message).at(Place::File(file.file.clone())));
    }
    for (index, feature) in file.features.iter().enumerate() {
        let place = record_place(&file.file, index, String::new());
        for (name, is_there) in [("geometry", feature.has_members.0), ("properties", feature.has_members.1)] {
            if !is_there {
                found.push(Diagnostic::error(&CODE, format!("`{name}` is missing")).at(place.clone()));
            }
        }
        if let Some(kind) = feature.geometry.as_deref().filter(|kind| !["Polygon", "MultiPolygon"].contains(kind)) {
            let message = format!("a geometry of type {kind}; Polygon or MultiPolygon expected");
            found.push(Diagnostic::error(&CODE, message).at(place));
        }
    }
    found
}
