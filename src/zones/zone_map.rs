//! [`ZoneMap`]: one zone a cell, zone 1 holds least.

use super::candidate::{Candidate, Numbered, ZoneSummary, candidates, means};
use super::drawing::drawings;
use super::notes::notes;
use super::verdict::{Verdict, judge};
use super::verdict_reason::Pick;
use super::zone_settings::{ZoneMethod, ZoneQuantity, ZoneSettings};
use super::zone_space::{Ground, ZoneInputs, ZoneSpace};
use crate::cell_grid::CellMask;
use crate::diagnostic::Checked;
use crate::soil_surface::{SurfaceSet, Variable};

/// Seed of the starts. Fixed, so that the same samples give the same zones.
pub(super) const SEED: u64 = 20_260_301;
/// Most zones tried.
pub(super) const MAX_ZONES: usize = 6;

/// Why no zones can be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ZoneError {
    /// A variable is not mapped.
    #[error("zones are to be drawn from {0}, which the sheet does not give")]
    NotMapped(&'static str),
    /// A covariate was not read.
    #[error("zones are to be drawn from covariate `{0}`, which was not read")]
    NoCovariate(String),
    /// No polygons were read.
    #[error("zones are to be those of a file, but no polygons were read")]
    NoPolygons,
    /// No cell has all variables.
    #[error("no cell of the field has a value of all the quantities zones are drawn from")]
    NoCells,
    /// Polygons that cover no cell.
    #[error("no polygon of the zones drawn holds the center of a cell of the field")]
    PolygonsElsewhere,
    /// More zones than different cells.
    #[error("{asked} zones asked, but the mapped values let at most {distinct} be told apart")]
    TooMany {
        /// Zones asked.
        asked: usize,
        /// Zones that can be told apart.
        distinct: usize,
    },
    /// A number of zones the method does not make of the field.
    #[error("{asked} zones asked, but by fuzzy shares one of them would hold no ground")]
    NotMade {
        /// Zones asked.
        asked: usize,
    },
    /// More combinations of classes than zones can be drawn.
    #[error("{found} combinations of the classes exist on the field, at most {most} zones can be drawn")]
    TooManyClasses {
        /// Combinations with at least one cell.
        found: usize,
        /// Most zones.
        most: usize,
    },
    /// More names of drawn zones than zones can be drawn.
    #[error("{found} names of zones lie on the field, at most {most} zones can be drawn")]
    TooManyNames {
        /// Names with at least one cell.
        found: usize,
        /// Most zones.
        most: usize,
    },
}

impl ZoneError {
    /// How to mend it.
    pub fn help(&self) -> Option<&'static str> {
        match self {
            ZoneError::TooManyClasses { .. } => {
                Some("take edges out of `zones.breaks`, or put them where less of the field is parted")
            }
            ZoneError::TooManyNames { .. } => Some("give polygons that are to be one zone the same name"),
            ZoneError::PolygonsElsewhere => Some("look whether the file belongs to this field, and at its CRS"),
            _ => None,
        }
    }
}

/// Zones on the raster, for every number of zones the method makes.
///
/// # Guarantees
/// - labels are 0 (no zone) or 1..=n, none empty
/// - ordered by ascending mean CEC, or by the first zoning quantity where CEC is not mapped
#[derive(Debug, Clone)]
pub struct ZoneMap {
    mask: CellMask,
    candidates: Vec<Candidate>,
    picked: usize,
    verdict: Verdict,
}

impl ZoneMap {
    /// Draws zones and judges each number of them by the samples.
    ///
    /// `fit` may replace the labels of each number of zones before anything is worked out from them: it is given the
    /// number of zones and the labels of the raster (0 no zone, 1 holds least) and returns as many labels. Cells keep
    /// their zone where it returns 0 or a number that is not there; a zone left without cells goes, and zones are
    /// numbered anew.
    ///
    /// The result comes with what must be told: ground without a zone, edges no ground lies beyond.
    ///
    /// # Errors
    /// [`ZoneError`], with the reason.
    ///
    /// # Panics
    /// If covariates, drawn zones or fitted labels are not of the raster of the surfaces.
    pub fn draw(
        surfaces: &SurfaceSet,
        inputs: &ZoneInputs,
        settings: &ZoneSettings,
        fit: &mut dyn FnMut(usize, &[u16]) -> Vec<u16>,
    ) -> Result<Checked<Self>, ZoneError> {
        let ground = Ground { surfaces, inputs };
        let from = quantities(surfaces, settings);
        if from.is_empty() && !matches!(settings.method, ZoneMethod::Polygons(_)) {
            return Err(ZoneError::NoCells);
        }
        let space = ZoneSpace::of(ground, &from)?;
        let drawings = drawings(ground, &space, &settings.method)?;
        let order = surfaces.values(Variable::Cec).or_else(|| space.columns.first().cloned());
        let mut numbered = Vec::new();
        for drawing in &drawings {
            let drawn = Numbered::by(drawing.labels.clone(), &drawing.names, order.as_deref());
            // Here the labels of a candidate may be replaced, before its zones are summed up: small patches join others.
            let fitted = drawn.refitted(&fit(drawing.count, &drawn.labels));
            numbered.push((drawing.count, Numbered::by(fitted, &drawn.names, order.as_deref())));
        }
        let candidates = candidates(surfaces, inputs, numbered);

        let verdict = judge(ground, &from, &space, &drawings, &candidates, order.as_deref(), settings);
        let picked = picked(&candidates, verdict.drawn)?;
        let labels = &candidates[picked].labels;
        let warnings = notes(ground, &from, &space, settings, labels);
        let mask = CellMask::new(*surfaces.mask().grid(), labels.iter().map(|&label| label > 0).collect());
        Ok(Checked { value: ZoneMap { mask, candidates, picked, verdict }, warnings })
    }

    /// The same drawings with another number of them picked, as [`ZoneMap::draw`] would with that count; `None` picks what
    /// the samples suggest.
    ///
    /// # Errors
    /// [`ZoneError::TooMany`] or [`ZoneError::NotMade`] where there is no such drawing.
    pub fn picking(&self, count: Option<usize>) -> Result<Self, ZoneError> {
        let mut map = self.clone();
        if map.verdict.pick == Pick::Drawn {
            return Ok(map);
        }
        (map.verdict.drawn, map.verdict.pick) = match count {
            Some(count) => (count, Pick::Count),
            None => (map.verdict.suggested, Pick::Samples),
        };
        map.picked = picked(&map.candidates, map.verdict.drawn)?;
        Ok(map)
    }

    /// The same zones with their means of a quantity read again from the maps: one that no zone is drawn from or judged by,
    /// and that is mapped last or not at all.
    pub fn with_means_of(&self, surfaces: &SurfaceSet, variable: Variable) -> Self {
        let mut map = self.clone();
        let values = surfaces.values(variable);
        for candidate in &mut map.candidates {
            let means = values.as_ref().map_or(Vec::new(), |values| means(&candidate.labels, values));
            for (index, zone) in candidate.zones.iter_mut().enumerate() {
                zone.means.retain(|(of, _)| *of != variable);
                zone.means.extend(means.get(index).copied().flatten().map(|mean| (variable, mean)));
            }
        }
        map
    }

    /// Cells that have a zone.
    pub fn mask(&self) -> &CellMask {
        &self.mask
    }

    /// Zone of each cell, 0 = none.
    pub fn labels(&self) -> &[u16] {
        &self.candidates[self.picked].labels
    }

    /// Zones in order, zone 1 first.
    pub fn zones(&self) -> &[ZoneSummary] {
        &self.candidates[self.picked].zones
    }

    /// Every number of zones the method makes, ascending: 1 to 6, or 1 and what breaks or polygons state.
    pub fn candidates(&self) -> &[Candidate] {
        &self.candidates
    }

    /// What the samples say about each number of zones.
    pub fn verdict(&self) -> &Verdict {
        &self.verdict
    }
}

/// Which candidate has `asked` zones.
fn picked(candidates: &[Candidate], asked: usize) -> Result<usize, ZoneError> {
    candidates.iter().position(|candidate| candidate.count == asked).ok_or_else(|| {
        let distinct = candidates.iter().map(|candidate| candidate.count).max().unwrap_or(0);
        match asked < distinct {
            true => ZoneError::NotMade { asked },
            false => ZoneError::TooMany { asked, distinct },
        }
    })
}

/// What zones are drawn from, or judged by.
fn quantities(surfaces: &SurfaceSet, settings: &ZoneSettings) -> Vec<ZoneQuantity> {
    match &settings.method {
        ZoneMethod::Breaks(breaks) => breaks.iter().map(|breaks| breaks.quantity.clone()).collect(),
        ZoneMethod::Polygons(_) if settings.from.is_empty() => {
            let mapped = ZoneSettings::DEFAULT_FROM.into_iter().filter(|v| surfaces.quality_of(*v).is_some());
            mapped.map(ZoneQuantity::Soil).collect()
        }
        _ => settings.from.clone(),
    }
}
