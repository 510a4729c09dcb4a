//! What the parts of a shapefile say, byte by byte.
//!
//! Layout: the format's published description (1998); for the table dBASE III.

use super::StatedCrs;

/// Type of polygons without heights.
pub const POLYGON: i32 = 5;
/// Number that begins a `.shp`.
pub const FILE_CODE: i32 = 9994;

/// A shapefile with its parts.
#[derive(Debug, Default)]
pub struct Shapefile {
    /// Its `.shp` as typed; of another part where there is none.
    pub file: String,
    /// Stem of the `.shp`.
    pub stem: String,
    /// Names of all parts as they stand.
    pub parts: Vec<Part>,
    /// `.shp`
    pub shapes: Option<Shapes>,
    /// `.shx`
    pub index: Option<Index>,
    /// `.dbf`
    pub table: Option<TableFile>,
    /// `.prj`, where it is there: the CRS, or why it names none.
    pub crs: Option<Result<StatedCrs, String>>,
    /// `.cpg`
    pub encoding: Option<String>,
}

/// One file of a shapefile.
#[derive(Debug, Clone, Default)]
pub struct Part {
    /// Name as it stands on the medium.
    pub name: String,
    /// Ending without its dot, lower case.
    pub ending: String,
    /// File as typed.
    pub shown: String,
}

/// A `.shp`.
#[derive(Debug, Default)]
pub struct Shapes {
    /// File as typed.
    pub file: String,
    /// First number of the file.
    pub file_code: i32,
    /// Length its header states, bytes.
    pub stated_bytes: u64,
    /// Length it has, bytes.
    pub n_bytes: u64,
    /// Type its header states.
    pub shape_type: i32,
    /// Records in order.
    pub records: Vec<ShapeRecord>,
    /// Why reading ended early, if it did.
    pub ends_early: Option<String>,
}

/// One record of a `.shp`.
#[derive(Debug, Default, Clone)]
pub struct ShapeRecord {
    /// Its own type.
    pub shape_type: i32,
    /// Rings in order, coordinates as they stand.
    pub rings: Vec<Vec<(f64, f64)>>,
}

/// A `.shx`.
#[derive(Debug, Default, Clone, Copy)]
pub struct Index {
    /// Length its header states, bytes.
    pub stated_bytes: u64,
    /// Length it has, bytes.
    pub n_bytes: u64,
}

impl Index {
    /// Records by its length: 8 bytes each after 100.
    pub fn n_records(&self) -> usize {
        (self.n_bytes.saturating_sub(100) / 8) as usize
    }
}

/// A `.dbf`.
#[derive(Debug, Default)]
pub struct TableFile {
    /// File as typed.
    pub file: String,
    /// First byte.
    pub version: u8,
    /// Records its header states.
    pub n_records: usize,
    /// Length of its header, bytes.
    pub header_bytes: usize,
    /// Length of a record, bytes.
    pub record_bytes: usize,
    /// Length it has, bytes.
    pub n_bytes: usize,
    /// Byte that names its encoding.
    pub encoding_byte: u8,
    /// Columns.
    pub fields: Vec<TableField>,
    /// Texts of each column, one a record, blanks at both ends kept.
    pub texts: Vec<Vec<String>>,
    /// Whether a text holds letters beyond ASCII.
    pub has_other_letters: bool,
}

/// A column of a `.dbf`.
#[derive(Debug, Default, Clone)]
pub struct TableField {
    /// Name up to its first zero byte.
    pub name: String,
    /// Whether a zero byte ends the name within its 11 bytes.
    pub is_ended: bool,
    /// `C`, `N`, `D`, `L` or another letter.
    pub kind: char,
    /// Letters a value has.
    pub width: usize,
    /// Digits after the point.
    pub decimals: usize,
}
