//! What a GeoJSON file says, member by member.

use super::StatedCrs;

/// A GeoJSON file.
#[derive(Debug, Default)]
pub struct GeoJsonFile {
    /// File as typed.
    pub file: String,
    /// Whether it begins with a byte order mark.
    pub has_byte_order_mark: bool,
    /// Line and words where it stops being JSON.
    pub not_json: Option<(usize, String)>,
    /// `type` of the whole.
    pub root_type: Option<String>,
    /// The old member `crs`: its name, and what that is.
    pub crs: Option<(String, Option<StatedCrs>)>,
    /// Member `bbox` of the whole.
    pub bounds: Option<Vec<f64>>,
    /// Features in order.
    pub features: Vec<JsonFeature>,
}

/// One feature.
#[derive(Debug, Default, Clone)]
pub struct JsonFeature {
    /// Member `id` as text.
    pub id: Option<String>,
    /// Whether it has a member `geometry`, and `properties`.
    pub has_members: (bool, bool),
    /// Type of its geometry.
    pub geometry: Option<String>,
    /// Rings in order, as they stand.
    pub rings: Vec<JsonRing>,
    /// The first position that is no pair of numbers, as text.
    pub bad_position: Option<String>,
    /// Most decimals of a coordinate.
    pub decimals: usize,
}

/// One ring.
#[derive(Debug, Default, Clone)]
pub struct JsonRing {
    /// Number of its polygon in the feature, from 0.
    pub polygon: usize,
    /// Whether it is the first of its polygon.
    pub is_exterior: bool,
    /// Its positions.
    pub positions: Vec<(f64, f64)>,
}
