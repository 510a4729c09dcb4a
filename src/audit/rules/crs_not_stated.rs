//! Files that do not say where on earth they are.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "crs-not-stated",
    checks: "that a shapefile has its `.prj`, and rasters and GeoPackages name their reference system",
    why: "numbers alone do not say whether they are degrees, meters or feet: some controllers refuse the file, others guess",
    example: "a shapefile without its `.prj` file",
    mend: "send the `.prj` along; for longitude and latitude on WGS 84 any other file's will do",
};

pub(super) fn find(of: &Prescription) -> Found {
    stated(of)
        .into_iter()
        .filter(|(_, crs)| crs.is_none())
        .map(|(place, _)| Diagnostic::error(&CODE, "its reference system is not stated").at(place))
        .collect()
}

/// What is stated of reference systems, with the file; `None` where nothing is.
pub(super) fn stated(of: &Prescription) -> Vec<(Place, Option<&Result<StatedCrs, String>>)> {
    match &of.form {
        Some(Form::Shapefile(file)) if file.shapes.is_some() => {
            vec![(Place::File(file.file.clone()), file.crs.as_ref())]
        }
        Some(Form::Raster(file)) => vec![(Place::File(file.file.clone()), file.crs.as_ref())],
        Some(Form::GeoPackage(file)) => file
            .tables
            .iter()
            .map(|table| (Place::File(format!("{}, table `{}`", file.file, table.name)), table.crs.as_ref()))
            .collect(),
        _ => Vec::new(),
    }
}
