//! What a GeoPackage says of itself.

use super::StatedCrs;

/// A GeoPackage.
#[derive(Debug, Default)]
pub struct GeoPackage {
    /// File as typed.
    pub file: String,
    /// Bytes 68 to 71 of the database: `GPKG`.
    pub application_id: u32,
    /// Bytes 60 to 63 of the database: the version, 10200 for 1.2.
    pub user_version: u32,
    /// Ids of its reference systems.
    pub reference_systems: Vec<i64>,
    /// Answer of the database to a check of itself.
    pub integrity: String,
    /// Its tables of features.
    pub tables: Vec<FeatureTable>,
}

/// One table of features.
#[derive(Debug, Default, Clone)]
pub struct FeatureTable {
    /// Its name.
    pub name: String,
    /// Geometry type it declares.
    pub geometry: String,
    /// Its CRS, or why what it names is none.
    pub crs: Option<Result<StatedCrs, String>>,
    /// West, south, east, north its contents state.
    pub stated_extent: Option<[f64; 4]>,
    /// West, south, east, north of its polygons.
    pub extent: Option<[f64; 4]>,
    /// Types its features have, each once.
    pub kinds: Vec<String>,
}
