//! Rasters and GeoPackages, written by GDAL in its memory; the library only says what is in them.

mod package;
mod raster;

pub(super) use raster::{PRODUCT, UNIT, geo_transform};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
use holdground::crs::{keep_gdal_quiet, take_gdal_messages};
use holdground::diagnostic::{Code, Diagnostic, Place};
use holdground::export::{GisContent, OutputFile};

use super::Failure;
use super::exit_code::ExitCode;

/// GDAL would not write a raster or a GeoPackage.
pub(crate) static GIS_FILE_NOT_MADE: Code = Code {
    name: "gis-file-not-made",
    checks: "that GDAL can write each raster and GeoPackage of a run",
    why: "a map without its file, or half of one, would be missed only in the cab",
    example: "a GDAL built without the driver for cloud-optimized GeoTIFF",
    mend: "install GDAL 3.6 or newer with the drivers COG and GPKG (Debian: `libgdal-dev`)",
};
/// Messages of this module, for `holdground explain`.
pub(crate) static CODES: &[&Code] = &[&GIS_FILE_NOT_MADE];

/// Writes each content; the files carry it, for reading back.
///
/// # Errors
/// [`GIS_FILE_NOT_MADE`] for each file GDAL refuses, or warns about.
pub(crate) fn make(contents: Vec<GisContent>) -> Result<Vec<OutputFile>, Failure> {
    keep_gdal_quiet();
    let (mut files, mut faults) = (Vec::new(), Vec::new());
    for content in contents {
        take_gdal_messages();
        let bytes = match &content {
            GisContent::Raster(layer) => raster::bytes(layer),
            GisContent::Package(package) => package::bytes(package),
        };
        let remark = take_gdal_messages().into_iter().next().map(|message| message.text);
        match (bytes, remark) {
            (Ok(bytes), None) => {
                let mut file = OutputFile::new(content.path(), bytes);
                file.gis = Some(content);
                files.push(file);
            }
            (result, remark) => {
                let why = remark.or(result.err().map(|error| error.to_string())).unwrap_or_default();
                let message = format!("could not make `{}`: {why}", content.path());
                let fault = Diagnostic::error(&GIS_FILE_NOT_MADE, message).at(Place::File(content.path().to_owned()));
                faults.push(fault.with_help("look at the version and the drivers of the installed GDAL"));
            }
        }
    }
    if faults.is_empty() { Ok(files) } else { Err(Failure { exit_code: ExitCode::CouldNotWrite, diagnostics: faults }) }
}

/// A file in GDAL's memory, gone when dropped. Its name is no part of what is written.
struct MemoryFile(PathBuf);

impl MemoryFile {
    fn new(ending: &str) -> Self {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        MemoryFile(PathBuf::from(format!("/vsimem/{}.{ending}", COUNT.fetch_add(1, Ordering::Relaxed))))
    }

    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> gdal::errors::Result<Vec<u8>> {
        gdal::vsi::get_vsi_mem_file_bytes_owned(&self.0)
    }
}

impl Drop for MemoryFile {
    fn drop(&mut self) {
        // Gone already where its bytes were taken.
        let _ = gdal::vsi::unlink_mem_file(&self.0);
        take_gdal_messages();
    }
}

/// A CRS by its name or PROJ string, easting or longitude first.
pub(super) fn spatial_ref(crs: &str) -> gdal::errors::Result<SpatialRef> {
    let mut spatial_ref = SpatialRef::from_definition(crs)?;
    spatial_ref.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    Ok(spatial_ref)
}
