//! Each method's zones, one drawing a number of zones, before they are numbered by what they hold.

use super::class_breaks::{combination_of, combination_words};
use super::fuzzy_c_means::{FuzzySettings, fuzzy_c_means, partition_coefficient, partition_entropy};
use super::k_means::{KMeansSettings, k_means};
use super::stated_zones::StatedZones;
use super::zone_map::{MAX_ZONES, SEED, ZoneError};
use super::zone_settings::{ClassBreaks, ZoneMethod};
use super::zone_space::{Ground, ZoneSpace};

/// Starts of k-means; the best is kept.
const N_STARTS: usize = 20;
/// Most rounds of one start.
const MAX_ITER: usize = 300;

/// One number of zones on the raster.
pub(super) struct Drawing {
    pub(super) count: usize,
    /// 1..=count in no order, none empty; 0 = no zone.
    pub(super) labels: Vec<u16>,
    /// What a zone is called, where the method says; one a zone.
    pub(super) names: Vec<Option<String>>,
    pub(super) membership: Membership,
    /// Partition coefficient and entropy of a fuzzy method.
    pub(super) partition: Option<[f64; 2]>,
}

/// How a hidden sample finds its zone.
pub(super) enum Membership {
    /// All belong together.
    Whole,
    /// By the nearest of these centers, standardized.
    Centers(Vec<f64>),
    /// By the classes its values fall in: the breaks, and the combinations that exist on the field in order.
    Classes(Vec<ClassBreaks>, Vec<usize>),
    /// By the cell it lies in: labels of the raster, 0 = no zone.
    Place(Vec<u16>),
}

impl Membership {
    /// The group of a sample, one less than its label; `None` where nothing was drawn. Combinations of classes that exist
    /// nowhere on the map have numbers above all labels.
    ///
    /// # Shape
    /// `values` in own units, one a quantity zones are drawn from.
    pub(super) fn group_of(&self, space: &ZoneSpace, values: &[f64], cell: Option<usize>) -> Option<usize> {
        match self {
            Membership::Whole => Some(0),
            Membership::Centers(centers) => Some(space.nearest_center(values, centers)),
            Membership::Classes(breaks, found) => {
                let own = combination_of(breaks, values);
                Some(found.iter().position(|known| *known == own).unwrap_or(found.len() + own))
            }
            Membership::Place(labels) => {
                cell.map(|cell| usize::from(labels[cell])).and_then(|label| label.checked_sub(1))
            }
        }
    }
}

/// Drawings of every number of zones the method makes, ascending, one zone first.
///
/// k-means and fuzzy c-means make 1 to 6, as far as cells can be told apart; breaks and polygons 1 and what they state.
pub(super) fn drawings(ground: Ground<'_>, space: &ZoneSpace, method: &ZoneMethod) -> Result<Vec<Drawing>, ZoneError> {
    let n_cells = ground.surfaces.mask().grid().n_cells();
    let one = |labels| Drawing { count: 1, labels, names: vec![None], membership: Membership::Whole, partition: None };
    let mut drawings = vec![one(space.on_raster(&vec![0; space.cells.len()], n_cells))];
    match method {
        ZoneMethod::KMeans => {
            drawings.extend((2..=MAX_ZONES).filter_map(|count| by_k_means(space, count, n_cells)));
        }
        ZoneMethod::FuzzyCMeans { fuzziness } => {
            drawings.extend((2..=MAX_ZONES).filter_map(|count| by_fuzzy_c_means(space, count, *fuzziness, n_cells)));
        }
        ZoneMethod::Breaks(breaks) => drawings.extend(by_breaks(space, breaks, n_cells)?),
        ZoneMethod::Polygons(_) => {
            let stated = ground.inputs.stated.as_ref().ok_or(ZoneError::NoPolygons)?;
            assert_eq!(stated.of_cell.len(), n_cells, "one entry a cell");
            let all = ground.surfaces.mask().inside().iter().map(|&inside| u16::from(inside)).collect();
            drawings = vec![one(all)];
            drawings.extend(by_polygons(stated)?);
        }
    }
    Ok(drawings)
}

fn start(k: usize) -> KMeansSettings {
    KMeansSettings { k, n_starts: N_STARTS, seed: SEED, max_iter: MAX_ITER }
}

/// `None` where the cells differ in fewer ways.
fn by_k_means(space: &ZoneSpace, count: usize, n_cells: usize) -> Option<Drawing> {
    let fit = k_means(&space.rows, space.n_variables(), &start(count)).ok()?;
    let labels = space.on_raster(&fit.labels, n_cells);
    let membership = Membership::Centers(fit.centers);
    Some(Drawing { count, labels, names: vec![None; count], membership, partition: None })
}

/// `None` where the cells differ in fewer ways, or a group has the largest share nowhere.
fn by_fuzzy_c_means(space: &ZoneSpace, count: usize, fuzziness: f64, n_cells: usize) -> Option<Drawing> {
    let fit =
        fuzzy_c_means(&space.rows, space.n_variables(), &FuzzySettings { start: start(count), fuzziness }).ok()?;
    if (0..count).any(|group| !fit.labels.contains(&(group as u16))) {
        return None;
    }
    let partition = Some([partition_coefficient(&fit.shares, count), partition_entropy(&fit.shares, count)]);
    let labels = space.on_raster(&fit.labels, n_cells);
    Some(Drawing { count, labels, names: vec![None; count], membership: Membership::Centers(fit.centers), partition })
}

/// `None` where all ground falls in one combination.
fn by_breaks(space: &ZoneSpace, breaks: &[ClassBreaks], n_cells: usize) -> Result<Option<Drawing>, ZoneError> {
    let of_cell = |&cell: &usize| {
        let values: Vec<f64> = space.columns.iter().map(|column| column[cell]).collect();
        combination_of(breaks, &values)
    };
    let combinations: Vec<usize> = space.cells.iter().map(of_cell).collect();
    let mut found = combinations.clone();
    found.sort_unstable();
    found.dedup();
    if found.len() > MAX_ZONES {
        return Err(ZoneError::TooManyClasses { found: found.len(), most: MAX_ZONES });
    }
    if found.len() == 1 {
        return Ok(None);
    }
    let number = |combination: &usize| found.iter().position(|known| known == combination).unwrap_or(0) as u16;
    let groups: Vec<u16> = combinations.iter().map(number).collect();
    Ok(Some(Drawing {
        count: found.len(),
        labels: space.on_raster(&groups, n_cells),
        names: found.iter().map(|&combination| Some(combination_words(breaks, combination))).collect(),
        membership: Membership::Classes(breaks.to_vec(), found),
        partition: None,
    }))
}

/// `None` where one zone alone was drawn over the whole field.
fn by_polygons(stated: &StatedZones) -> Result<Option<Drawing>, ZoneError> {
    let count = stated.names.len();
    if count == 0 {
        return Err(ZoneError::PolygonsElsewhere);
    }
    if count > MAX_ZONES {
        return Err(ZoneError::TooManyNames { found: count, most: MAX_ZONES });
    }
    if count == 1 {
        return Ok(None);
    }
    let labels: Vec<u16> = stated.of_cell.iter().map(|zone| zone.map_or(0, |zone| zone as u16 + 1)).collect();
    let names = stated.names.iter().cloned().map(Some).collect();
    let membership = Membership::Place(labels.clone());
    Ok(Some(Drawing { count, labels, names, membership, partition: None }))
}
