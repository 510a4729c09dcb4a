//! Files in memory, for GDAL to open: nothing of a stranger's zip is written to the disk.

use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};
use holdground::audit::{Remark, StatedCrs};
use holdground::crs::{InputCrs, keep_gdal_quiet, take_gdal_messages};
use holdground::diagnostic::Severity;

/// Files of one dataset; gone when dropped.
pub(super) struct Memory {
    folder: String,
    names: Vec<String>,
}

impl Memory {
    /// Puts files, by name and content, into a folder of their own.
    pub(super) fn of<'a>(files: impl IntoIterator<Item = (&'a str, &'a [u8])>) -> Self {
        static NEXT: AtomicUsize = AtomicUsize::new(0);
        keep_gdal_quiet();
        let folder = format!("/vsimem/audit-{}", NEXT.fetch_add(1, Ordering::Relaxed));
        let mut memory = Memory { folder, names: Vec::new() };
        for (name, bytes) in files {
            let path = memory.path(name);
            if gdal::vsi::create_mem_file(&path, bytes.to_vec()).is_ok() {
                memory.names.push(name.to_owned());
            }
        }
        memory
    }

    fn path(&self, name: &str) -> PathBuf {
        PathBuf::from(format!("{}/{name}", self.folder))
    }

    /// Opens one of the files with one driver.
    ///
    /// # Errors
    /// What GDAL says.
    pub(super) fn open(&self, name: &str, driver: &str, is_raster: bool) -> Result<Dataset, String> {
        take_gdal_messages();
        let kind = if is_raster { GdalOpenFlags::GDAL_OF_RASTER } else { GdalOpenFlags::GDAL_OF_VECTOR };
        let drivers = [driver];
        let options = DatasetOptions {
            open_flags: kind | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
            allowed_drivers: Some(&drivers),
            ..DatasetOptions::default()
        };
        Dataset::open_ex(self.path(name), options).map_err(|error| {
            let said = take_gdal_messages().into_iter().next().map(|message| message.text);
            self.without_path(&said.unwrap_or_else(|| error.to_string()))
        })
    }

    /// What GDAL said since, as remarks on a file.
    pub(super) fn remarks(&self, file: &str) -> Vec<Remark> {
        let mut remarks: Vec<Remark> = take_gdal_messages()
            .into_iter()
            .map(|message| Remark {
                file: file.to_owned(),
                is_refusal: message.severity == Severity::Error,
                text: self.without_path(&message.text),
            })
            .collect();
        remarks.dedup();
        remarks
    }

    /// A text without the folder in memory, which means nothing to a person.
    fn without_path(&self, text: &str) -> String {
        text.replace(&format!("{}/", self.folder), "")
    }
}

impl Drop for Memory {
    fn drop(&mut self) {
        for name in &self.names {
            let _ = gdal::vsi::unlink_mem_file(self.path(name));
        }
        take_gdal_messages();
    }
}

/// A reference system with its axes eastwards first, and what it states.
///
/// # Errors
/// Why it is none that places could be found in.
pub(super) fn stated_crs(mut spatial_ref: SpatialRef) -> Result<(InputCrs, StatedCrs), String> {
    spatial_ref.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    let is_wgs_84 = is_wgs_84(&spatial_ref);
    let crs = InputCrs::from_spatial_ref(spatial_ref);
    let crs = crs.map_err(|faults| faults.first().map_or_else(String::new, |fault| fault.message.clone()))?;
    let stated = StatedCrs { name: crs.name().to_owned(), is_wgs_84 };
    Ok((crs, stated))
}

fn is_wgs_84(spatial_ref: &SpatialRef) -> bool {
    let is_datum = || {
        let wkt = spatial_ref.to_wkt().unwrap_or_default().to_uppercase().replace(['_', ' '], "");
        let names = ["WGS84", "WGS1984", "WORLDGEODETICSYSTEM1984"];
        wkt.split("DATUM[\"").nth(1).is_some_and(|rest| {
            let datum = rest.split('"').next().unwrap_or("").trim_start_matches("D");
            names.iter().any(|name| datum.starts_with(name))
        })
    };
    let is_degrees = spatial_ref.is_geographic()
        && spatial_ref.angular_units_name().is_some_and(|name| name.to_lowercase().starts_with("degree"));
    is_degrees && (spatial_ref.auth_code().is_ok_and(|code| code == 4326) || is_datum())
}
