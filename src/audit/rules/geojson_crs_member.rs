//! The old member `crs`.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geojson-crs-member",
    checks: "that there is no member `crs` (RFC 7946, 4: always longitude and latitude on WGS 84)",
    why: "readers of today pass it over: meters under an old `crs` are then taken as degrees",
    example: "`crs` of UTM zone 15 and coordinates such as 457949, 4538877",
    mend: "write longitude and latitude, without `crs`",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some((file, (name, crs))) = geo_json(of).and_then(|file| Some((file, file.crs.as_ref()?))) else {
        return Found::new();
    };
    let finding = match crs {
        Some(crs) if crs.is_wgs_84 => {
            Diagnostic::warning(&CODE, format!("a member `crs` ({name}): not needed, and some readers stop at it"))
        }
        Some(crs) => Diagnostic::error(
            &CODE,
            format!("a member `crs` says {}; readers of today take the numbers as degrees", crs.name),
        ),
        None => Diagnostic::error(&CODE, format!("a member `crs` says `{name}`, which is not known")),
    };
    vec![finding.at(Place::File(file.file.clone()))]
}
