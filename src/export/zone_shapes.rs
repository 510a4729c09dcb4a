//! Zone outlines in longitude and latitude, made once so that every file carries the same numbers.

use std::collections::HashMap;

use crate::cell_grid::Site;
use crate::crs::{WORK_CRS_UNFIT, WorkCrs};
use crate::diagnostic::Diagnostic;
use crate::zones::ZoneMap;
use crate::zones::polygonize::{Corner, polygonize};

/// Decimals of a degree that files carry; 1e-7 is about 1 cm.
const DEGREE_DECIMALS: i32 = 7;

/// A closed ring of (lon, lat), degrees.
pub(super) type LonLatRing = Vec<(f64, f64)>;

/// Outlines of one zone: patches, each an exterior ring (counter-clockwise) and its holes (clockwise).
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneShape {
    /// Zone, from 1.
    pub zone: usize,
    /// `patches[i][0]` is the exterior ring.
    pub patches: Vec<Vec<LonLatRing>>,
    /// The same rings in local work meters.
    pub patches_local: Vec<Vec<Vec<Site>>>,
}

/// Outlines every zone along its cells.
///
/// # Guarantees
/// A corner shared by two zones has the same numbers in both: it is turned into degrees and rounded once.
///
/// # Errors
/// The projection's fault, if a corner cannot be turned into degrees.
pub fn zone_shapes(zones: &ZoneMap, work_crs: &WorkCrs) -> Result<Vec<ZoneShape>, Vec<Diagnostic>> {
    let grid = zones.mask().grid();
    let polygons = polygonize(grid, zones.labels());
    let mut corners: Vec<Corner> = polygons
        .iter()
        .flat_map(|zone| &zone.patches)
        .flat_map(|patch| patch.exterior.iter().chain(patch.interiors.iter().flatten()))
        .copied()
        .collect();
    corners.sort_unstable();
    corners.dedup();
    let local: Vec<Site> = corners.iter().map(|&(col, row)| grid.corner(col, row)).collect();
    let lon_lat: Vec<_> = work_crs.all_to_lon_lat(&local).into_iter().flatten().collect();
    if lon_lat.len() < local.len() {
        return Err(vec![Diagnostic::error(&WORK_CRS_UNFIT, "a zone outline leaves the area of the work plane")]);
    }
    let index_of: HashMap<Corner, usize> = corners.iter().enumerate().map(|(index, corner)| (*corner, index)).collect();
    let degrees = |corner: &Corner| {
        let (lon, lat) = lon_lat[index_of[corner]];
        (rounded(lon), rounded(lat))
    };
    Ok(polygons
        .iter()
        .map(|zone| {
            let rings_of = |patch: &crate::zones::polygonize::PatchPolygon| -> Vec<Vec<Corner>> {
                std::iter::once(patch.exterior.clone()).chain(patch.interiors.iter().cloned()).collect()
            };
            let patches = zone
                .patches
                .iter()
                .map(|patch| rings_of(patch).iter().map(|ring| ring.iter().map(degrees).collect()).collect());
            let patches_local = zone.patches.iter().map(|patch| {
                let place = |ring: &Vec<Corner>| ring.iter().map(|&(col, row)| grid.corner(col, row)).collect();
                rings_of(patch).iter().map(place).collect()
            });
            ZoneShape {
                zone: usize::from(zone.zone),
                patches: patches.collect(),
                patches_local: patches_local.collect(),
            }
        })
        .collect())
}

/// Degrees as files carry them.
fn rounded(degrees: f64) -> f64 {
    let scale = 10_f64.powi(DEGREE_DECIMALS);
    (degrees * scale).round() / scale
}
