//! Settings of the zone stage: what makes ground alike, and how zones are drawn from it.

use crate::chemistry::Cation;
use crate::soil_surface::Variable;

/// Fuzziness unless stated: the usual exponent (Bezdek 1981).
pub const DEFAULT_FUZZINESS: f64 = 2.0;

/// Settings of the zone stage.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneSettings {
    /// What makes ground alike. With [`ZoneMethod::Breaks`] the quantities of the breaks count instead. With
    /// [`ZoneMethod::Polygons`] these judge what was drawn; empty stands for [`ZoneSettings::DEFAULT_FROM`], as far as
    /// mapped.
    pub from: Vec<ZoneQuantity>,
    /// How zones are drawn.
    pub method: ZoneMethod,
    /// Zones wanted; `None` = as many as the samples support. Breaks and polygons draw what they state.
    pub count: Option<usize>,
    /// Line of `[zones]` in the field file.
    pub line: usize,
}

impl ZoneSettings {
    /// What zones are drawn from unless the user says otherwise.
    pub const DEFAULT_FROM: [Variable; 3] =
        [Variable::Cec, Variable::Saturation(Cation::Ca), Variable::Saturation(Cation::Mg)];
}

/// What zones can be drawn from.
#[derive(Debug, Clone, PartialEq)]
pub enum ZoneQuantity {
    /// A quantity mapped from the samples.
    Soil(Variable),
    /// A dense covariate of `[covariates]`, by name.
    Covariate(String),
}

impl ZoneQuantity {
    /// The quantity mapped from the samples, if it is one.
    pub fn soil(&self) -> Option<Variable> {
        match self {
            ZoneQuantity::Soil(variable) => Some(*variable),
            ZoneQuantity::Covariate(_) => None,
        }
    }

    /// Key in the field file.
    pub fn key(&self) -> &str {
        match self {
            ZoneQuantity::Soil(variable) => variable.key(),
            ZoneQuantity::Covariate(name) => name,
        }
    }

    /// Name in sentences.
    pub fn label(&self) -> &str {
        match self {
            ZoneQuantity::Soil(variable) => variable.label(),
            ZoneQuantity::Covariate(name) => name,
        }
    }
}

/// Breaks of one quantity into classes.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassBreaks {
    /// The quantity.
    pub quantity: ZoneQuantity,
    /// Edges in its own unit, ascending; a value on an edge belongs to the class above it.
    pub edges: Vec<f64>,
}

/// The file of zones a person drew.
#[derive(Debug, Clone, PartialEq)]
pub struct ZonePolygonsFile {
    /// File, as typed.
    pub file: String,
    /// Attribute with the zone's name; polygons of one name are one zone.
    pub name: String,
    /// CRS, where the file does not state one.
    pub crs: Option<String>,
    /// Line of `zones.polygons`.
    pub line: usize,
}

/// How zones are drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum ZoneMethod {
    /// Groups round centers, each cell in one.
    KMeans,
    /// Groups round centers, each cell in all by shares; drawn by the largest.
    FuzzyCMeans {
        /// Exponent of the shares, above 1.
        fuzziness: f64,
    },
    /// Every combination of stated classes that exists on the field.
    Breaks(Vec<ClassBreaks>),
    /// Zones a person drew.
    Polygons(ZonePolygonsFile),
}

impl ZoneMethod {
    /// Words of the field file.
    pub const NAMES: [&'static str; 4] = ["k-means", "fuzzy-c-means", "breaks", "polygons"];

    /// Whether the method says itself which zones there are, so that their number is not asked.
    pub fn states_its_zones(&self) -> bool {
        matches!(self, ZoneMethod::Breaks(_) | ZoneMethod::Polygons(_))
    }

    /// Word of the field file.
    pub fn name(&self) -> &'static str {
        let [k_means, fuzzy, breaks, polygons] = Self::NAMES;
        match self {
            ZoneMethod::KMeans => k_means,
            ZoneMethod::FuzzyCMeans { .. } => fuzzy,
            ZoneMethod::Breaks(_) => breaks,
            ZoneMethod::Polygons(_) => polygons,
        }
    }
}
