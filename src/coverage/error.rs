//! Why no coverage can be made, with the numbers.

/// What stands in the way of a coverage.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CoverageError {
    /// The raster does not have one label a cell.
    #[error("found {found} labels, {expected} expected, one for each cell")]
    LabelCount {
        /// Labels given.
        found: usize,
        /// Cells of the raster.
        expected: usize,
    },
    /// The raster's place or cell size is no number, or the side of a cell is not above 0.
    #[error("cells of {cell_m} m from {west_m} east, {south_m} north are no raster")]
    Raster {
        /// Side of a cell, meters.
        cell_m: f64,
        /// West edge, meters.
        west_m: f64,
        /// South edge, meters.
        south_m: f64,
    },
    /// More cells than can be counted in 32 bits, rim included.
    #[error("{n_cols} x {n_rows} cells are too many, fewer than {limit} expected")]
    TooManyCells {
        /// Columns.
        n_cols: usize,
        /// Rows.
        n_rows: usize,
        /// First number that is too large.
        limit: usize,
    },
    /// No cell has a zone.
    #[error("none of {cells} cells has a zone")]
    NoZones {
        /// Cells of the raster.
        cells: usize,
    },
    /// The tolerance is negative or no number.
    #[error("a tolerance of {tolerance_m} m, 0 or more expected")]
    Tolerance {
        /// The tolerance stated, meters.
        tolerance_m: f64,
    },
    /// The boundary has no area on the lattice.
    #[error("a boundary of {rings} rings without area")]
    NoArea {
        /// Rings given.
        rings: usize,
    },
    /// A place that is no number, or too far from the field for exact arithmetic.
    #[error("place {lon}, {lat} is no place within {limit_deg} degrees of the field")]
    Place {
        /// Longitude, degrees.
        lon: f64,
        /// Latitude, degrees.
        lat: f64,
        /// Farthest place that is accepted, degrees.
        limit_deg: f64,
    },
    /// The projection has no answer.
    #[error("the projection has no answer for {x}, {y}")]
    Projection {
        /// Longitude in degrees or easting in meters.
        x: f64,
        /// Latitude in degrees or northing in meters.
        y: f64,
    },
    /// The boundary reaches beyond the raster.
    #[error("the boundary reaches {beyond_m:.3} m beyond the raster, at most one cell of {cell_m} m expected")]
    BeyondRaster {
        /// Largest distance beyond an edge of the raster, meters.
        beyond_m: f64,
        /// Side of a cell, meters.
        cell_m: f64,
    },
    /// Lines still crossed after every attempt to node them.
    #[error("{crossing} of {edges} border edges still cross others after {attempts} attempts")]
    NotNoded {
        /// Edges that cannot be placed.
        crossing: usize,
        /// Edges in all.
        edges: usize,
        /// Attempts made.
        attempts: usize,
    },
    /// A border has the field on a wrong side. A fault of this program.
    #[error("{faces} of {of} faces have the field on both sides of their border")]
    Sides {
        /// Faces in doubt.
        faces: usize,
        /// Faces in all.
        of: usize,
    },
    /// A ring does not close. A fault of this program.
    #[error("a ring of zone borders ends at {x}, {y} after {edges} edges")]
    RingOpen {
        /// Lattice column.
        x: i32,
        /// Lattice row.
        y: i32,
        /// Edges walked.
        edges: usize,
    },
    /// Joined ground does not have one exterior. A fault of this program.
    #[error("{found} exteriors around joined ground {group}, 1 expected")]
    Exteriors {
        /// Exteriors found.
        found: usize,
        /// Number of the ground.
        group: usize,
    },
    /// The faces do not add up to the boundary.
    #[error("faces cover {found} doubled lattice units, the boundary {expected}, at most {allowed} apart expected")]
    Area {
        /// Doubled area of all faces.
        found: i64,
        /// Doubled area of the boundary.
        expected: i64,
        /// Largest difference that inserted nodes explain.
        allowed: i64,
    },
}
