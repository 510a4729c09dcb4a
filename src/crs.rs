//! Coordinate reference systems: from what a customer's file states to lon/lat, and from lon/lat to local work meters.
//!
//! ```text
//!   any CRS --InputCrs (GDAL)--> lon, lat on WGS 84 --WorkCrs (PROJ)--> Site: meters from an integer origin
//! ```
//!
//! Longitude always comes first. An input CRS is stated by a file or a person, never guessed; the work CRS is derived
//! (UTM zone of the field's centroid) or stated, and always printed. Beside this module only the binary's vector file
//! reader knows about CRSs.

mod input_crs;
mod work_crs;

pub use input_crs::{
    COORDINATES_OUTSIDE_CRS, GdalMessage, InputCrs, StatedAccuracy, UNKNOWN_CRS, keep_gdal_quiet, take_gdal_messages,
};
pub use work_crs::{WORK_CRS_UNFIT, WorkCrs, WorkCrsChoice};

/// Longitude and latitude on WGS 84, degrees, in this order.
pub type LonLat = (f64, f64);

/// Writes a place for a message, about 0.1 m fine: `lon -93.500000, lat 41.000000`.
pub fn show_lon_lat((lon, lat): LonLat) -> String {
    format!("lon {lon:.6}, lat {lat:.6}")
}
