//! [`AsDriven`]: the passes of a plan driven by the machine that is stated.

use geo::{Coord, LineString, MultiPolygon, Polygon};

use super::{Course, RateChange, drive, longest_side_deg};
use crate::boundary::{FieldBoundary, cells_inside};
use crate::cell_grid::{CellGrid, Site};
use crate::coverage::{Ground, ZoneGround, ZoneOutlines};
use crate::rates::rate_plan::PassPlan;
use crate::rates::{MachineTravel, RatePlan, RateUnit};
use crate::units::{M_PER_FOOT, M2_PER_ACRE};

/// Meters a second of one mile an hour.
const M_S_PER_MPH: f64 = 5280.0 * M_PER_FOOT / 3600.0;
/// Side of the cells grounds are looked up in, meters, and most of them.
const CELL_M: f64 = 2.0;
const MOST_CELLS: f64 = 4e6;

/// A plan as its machine drives it.
#[derive(Debug, Clone, PartialEq)]
pub struct AsDriven {
    /// How it drives.
    pub course: Course,
    /// Whether the heading is the user's; else it is that of the longest straight side.
    pub heading_is_stated: bool,
    /// One entry a pass and product, in the order of the plan.
    pub passes: Vec<PassAsDriven>,
}

/// A product of a pass as driven.
#[derive(Debug, Clone, PartialEq)]
pub struct PassAsDriven {
    /// Number of the pass.
    pub number: usize,
    /// Short name of the product.
    pub product: String,
    /// Which grounds of the plan its rates follow.
    pub follows: usize,
    /// Unit of its rates.
    pub unit: RateUnit,
    /// What each zone or class gets, and what kept-off ground gets.
    pub grounds: Vec<GroundAsDriven>,
}

/// Ground of a zone or class as driven.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundAsDriven {
    /// Zone or class, from 1.
    pub zone: usize,
    /// Whether the product keeps off it.
    pub is_kept_off: bool,
    /// Its area, acres.
    pub area_ac: f64,
    /// Rate ordered, in the product's unit.
    pub ordered: f64,
    /// Mean rate put down; `None` where no swath touched it.
    pub mean_applied: Option<f64>,
    /// Share of it within 10 % of the order.
    pub within_share: Option<f64>,
}

impl AsDriven {
    /// The driven pass of a planned one.
    pub fn of(&self, plan: &PassPlan) -> Option<&PassAsDriven> {
        let key = (plan.number, plan.product.short.as_str(), plan.follows);
        self.passes.iter().find(|pass| (pass.number, pass.product.as_str(), pass.follows) == key)
    }
}

impl PassAsDriven {
    /// Ground the product may be spread on.
    pub fn treated(&self) -> impl Iterator<Item = &GroundAsDriven> {
        self.grounds.iter().filter(|ground| !ground.is_kept_off)
    }

    /// Share of the treated ground within 10 % of its order; `None` where none of it was driven.
    pub fn within_share(&self) -> Option<f64> {
        let driven = || self.treated().filter_map(|ground| Some((ground.within_share?, ground.area_ac)));
        let area_ac: f64 = driven().map(|(_, area_ac)| area_ac).sum();
        (area_ac > 0.0).then(|| driven().map(|(share, area_ac)| share * area_ac).sum::<f64>() / area_ac)
    }

    /// The zone with the least share within 10 %.
    pub fn worst(&self) -> Option<&GroundAsDriven> {
        let driven = self.treated().filter(|ground| ground.within_share.is_some());
        driven.min_by(|a, b| a.within_share.partial_cmp(&b.within_share).expect("shares are numbers"))
    }

    /// Product ordered, in the unit of totals: lb, short tons or gallons.
    pub fn ordered_total(&self) -> f64 {
        self.grounds.iter().map(|ground| ground.ordered * ground.area_ac).sum()
    }

    /// Product put down, kept-off ground included; ground no swath touched counts as ordered.
    pub fn applied_total(&self) -> f64 {
        self.grounds.iter().map(GroundAsDriven::applied_total).sum()
    }

    /// Product that lands on ground it keeps off.
    pub fn kept_off_total(&self) -> f64 {
        self.grounds.iter().filter(|ground| ground.is_kept_off).fold(0.0, |sum, ground| sum + ground.applied_total())
    }
}

impl GroundAsDriven {
    /// Product put down on it.
    pub fn applied_total(&self) -> f64 {
        self.mean_applied.unwrap_or(self.ordered) * self.area_ac
    }
}

/// Drives every pass of a plan; `None` without passes, or where swath, speed or time of a change is not stated.
///
/// `outlines` are those of the zones. A dead time and a look-ahead that are not stated are 0. Grounds are looked up in
/// cells of 2 m (larger in fields over 16 km2), so borders are driven to about half of that.
pub fn as_driven(
    plan: &RatePlan,
    outlines: &ZoneOutlines,
    boundary: &FieldBoundary,
    travel: &MachineTravel,
) -> Option<AsDriven> {
    let rings = boundary.rings();
    let course = Course {
        heading_deg: travel.heading_deg.or_else(|| longest_side_deg(&rings))?,
        swath_m: travel.swath_ft? * M_PER_FOOT,
        speed_m_s: travel.speed_mph? * M_S_PER_MPH,
        change: RateChange {
            change_s: travel.change_s?,
            delay_s: travel.delay_s.unwrap_or(0.0),
            look_ahead_s: travel.look_ahead_s.unwrap_or(0.0),
        },
    };
    if plan.passes.is_empty() {
        return None;
    }
    let grid = look_up_grid(boundary);
    let of_pass = |pass: &PassPlan| {
        let outlines = plan.ground_of(pass).own.as_ref().map_or(outlines, |own| &own.outlines);
        let cells = ground_cells(pass, outlines, boundary, &grid);
        let ground_at = |site: Site| {
            let (col, row) = grid.cell_at(site)?;
            usize::from(cells[grid.index(col, row)]).checked_sub(1)
        };
        let rates: Vec<f64> = pass.grounds.iter().map(|ground| ordered(pass, ground)).collect();
        let got = drive(&rings, &rates, &ground_at, &course);
        let ground = |(ground, got): (&ZoneGround, super::GroundDriven)| GroundAsDriven {
            zone: ground.zone,
            is_kept_off: ground.ground == Ground::SetBack,
            area_ac: ground.area_m2 / M2_PER_ACRE,
            ordered: ordered(pass, ground),
            mean_applied: got.mean_applied,
            within_share: got.within_share,
        };
        PassAsDriven {
            number: pass.number,
            product: pass.product.short.clone(),
            follows: pass.follows,
            unit: pass.unit(),
            grounds: pass.grounds.iter().zip(got).map(ground).collect(),
        }
    };
    let passes = plan.passes.iter().map(of_pass).collect();
    Some(AsDriven { course, heading_is_stated: travel.heading_deg.is_some(), passes })
}

fn ordered(pass: &PassPlan, ground: &ZoneGround) -> f64 {
    if ground.ground == Ground::SetBack { 0.0 } else { pass.rates[ground.zone - 1].rate }
}

fn look_up_grid(boundary: &FieldBoundary) -> CellGrid {
    let [west, east, south, north] = boundary.bounds_m();
    let cell_m = CELL_M.max(((east - west) * (north - south) / MOST_CELLS).sqrt());
    CellGrid::covering([west, east, south, north], cell_m)
}

/// Place from 1 of each cell's ground among the pass's; 0 = none.
fn ground_cells(pass: &PassPlan, outlines: &ZoneOutlines, boundary: &FieldBoundary, grid: &CellGrid) -> Vec<u16> {
    let mut cells = vec![0; grid.n_cells()];
    for (index, ground) in (1..).zip(&pass.grounds) {
        let ring = |ring: Vec<Site>| {
            let line = LineString(ring.iter().map(|site| Coord { x: site.east_m, y: site.north_m }).collect());
            Polygon::new(line, Vec::new())
        };
        // What an odd number of rings surrounds is inside.
        let rings = outlines.local_rings(std::slice::from_ref(ground), boundary);
        let polygons = MultiPolygon(rings.into_iter().map(ring).collect());
        cells_inside(&polygons, grid).cells().for_each(|cell| cells[cell] = index);
    }
    cells
}
