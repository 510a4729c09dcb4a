//! Task sets by ISO 11783-10: `TASKDATA/TASKDATA.XML` and one grid file a task, for controllers that speak it.
//!
//! ```text
//!   TASKDATA/TASKDATA.XML    fields, products, units, one task a pass with its zones
//!   TASKDATA/GRD00001.bin    the zone (or the rates) of each cell of task 1, south row first
//! ```
//!
//! The text of the standard was not seen. What is written here rests on the published schemas of versions 3.3 and 4.3
//! \[R], and on public summaries \[S]; places that rest on a summary alone say so. Two public readers of other hands
//! read what is written (`tests/it/task_set.rs`); no controller has been tried.

mod grid_cells;
mod grid_frame;
mod names;
mod setpoint;
mod task_faults;
mod task_xml;
mod task_zones;
#[cfg(test)]
mod tests;
mod zipped;

pub use grid_cells::ground_of_cells;
pub use grid_frame::{GridFrame, MAX_CELLS_A_SIDE};
pub use setpoint::Setpoint;
pub use task_faults::TASK_SET_UNFIT;
pub use zipped::zipped;

use super::OutputFile;
use crate::coverage::{Lattice, LatticePolygon};
use crate::diagnostic::Diagnostic;
use crate::rates::{LostPosition, RateUnit};

/// Folder of a task set; its name and that of the main file are read letter by letter.
const FOLDER: &str = "TASKDATA";

/// A field with what is spread on it.
#[derive(Debug, Clone, PartialEq)]
pub struct TaskField {
    /// Printed name.
    pub name: String,
    /// At most 6 letters that tell it from the other fields; tasks of several fields begin with them.
    pub short: String,
    /// Where the vertices of all its polygons lie.
    pub lattice: Lattice,
    /// The field's outline, one polygon a part.
    pub boundary: Vec<LatticePolygon>,
    /// Ground inside the outline, m2 on the ellipsoid.
    pub area_m2: f64,
    /// Side of a cell of the map, meters; those of the grid are half as wide, see [`GridFrame::covering`].
    pub cell_m: f64,
    /// Trips, in the order driven.
    pub passes: Vec<TaskPass>,
}

/// One trip.
#[derive(Debug, Clone, PartialEq)]
pub struct TaskPass {
    /// Number in the season, from 1.
    pub number: usize,
    /// Printed name.
    pub name: String,
    /// What it brings, at least one.
    pub products: Vec<TaskProduct>,
}

/// One product of a trip.
#[derive(Debug, Clone, PartialEq)]
pub struct TaskProduct {
    /// Printed name.
    pub name: String,
    /// Unit of all its rates, of product.
    pub unit: RateUnit,
    /// The whole field, parted: no overlap, no gap.
    pub grounds: Vec<RatedGround>,
}

/// Ground of one rate.
#[derive(Debug, Clone, PartialEq)]
pub struct RatedGround {
    /// Printed name: "zone 1".
    pub name: String,
    /// Product an acre; 0 on ground that is kept off.
    pub rate: f64,
    /// Whether the product keeps off it.
    pub is_kept_off: bool,
    /// Its area, m2 on the ellipsoid.
    pub area_m2: f64,
    /// One polygon a patch.
    pub polygons: Vec<LatticePolygon>,
}

/// Version of the standard a task set is written by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TaskSetVersion {
    /// 3.3, which controllers with the first generation of section rates take.
    V3,
    /// 4.3.
    V4,
}

/// How a task set carries zones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TaskSetForm {
    /// As cells, which every conforming controller takes \[S].
    Grid,
    /// As outlines, which controllers may take \[S].
    Polygons,
}

/// Settings of a task set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TaskSetSettings {
    /// Version.
    pub version: TaskSetVersion,
    /// Cells or outlines.
    pub form: TaskSetForm,
    /// What is spread while the receiver has no position.
    pub lost_position: LostPosition,
}

/// A task set.
#[derive(Debug, Clone, PartialEq)]
pub struct TaskSet {
    /// Its files, below `TASKDATA/`.
    pub files: Vec<OutputFile>,
    /// What a person must know: cells made larger, outlines that became cells.
    pub notes: Vec<String>,
}

impl TaskProduct {
    /// Mean rate over ground that is not kept off, by area; 0 where all of it is.
    pub fn mean_rate(&self) -> f64 {
        let open = self.grounds.iter().filter(|ground| !ground.is_kept_off);
        let (total, area) = open.fold((0.0, 0.0), |(total, area), g| (total + g.rate * g.area_m2, area + g.area_m2));
        if area > 0.0 { total / area } else { 0.0 }
    }

    /// What is ordered while there is no position, rounded to the decimals that show the product's rates.
    pub fn lost_position_rate(&self, choice: LostPosition) -> f64 {
        match choice {
            LostPosition::Zero => 0.0,
            LostPosition::Mean => {
                let scale = 10_f64.powi(self.decimals() as i32);
                (self.mean_rate() * scale).round() / scale
            }
        }
    }
}

/// Fields and their passes as one task set, a task a pass.
///
/// # Guarantees
/// - every cell whose center lies on a product's ground carries that ground's rate, to within half a count of the
///   standard's unit ([`Setpoint`]); cells outside, and ground kept off, carry 0
/// - zones for the start, for a lost position and for ground outside the field are always there; outside is 0
/// - the same input gives the same bytes
///
/// # Errors
/// All [`TASK_SET_UNFIT`] of all fields and passes.
pub fn task_set(fields: &[TaskField], settings: &TaskSetSettings) -> Result<TaskSet, Vec<Diagnostic>> {
    let faults = task_faults::faults(fields);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut notes = Vec::new();
    let mut tasks = Vec::new();
    let mut grids = Vec::new();
    for (field_index, field) in fields.iter().enumerate() {
        let frame = GridFrame::covering(field);
        let mut uses_grid = false;
        for pass in &field.passes {
            // A zone with an outline holds one value [S], so several products need cells.
            let form = if pass.products.len() > 1 { TaskSetForm::Grid } else { settings.form };
            if form != settings.form {
                notes.push(format!(
                    "pass {} of {} brings {} products, so its task carries cells, not outlines",
                    pass.number,
                    field.name,
                    pass.products.len()
                ));
            }
            let mut task = task_zones::task(field_index, pass, form, settings.lost_position);
            if form == TaskSetForm::Grid {
                uses_grid = true;
                let bytes = task_zones::grid_bytes(&frame, field, pass);
                grids.push(OutputFile::new(format!("{FOLDER}/GRD{:05}.bin", grids.len() + 1), bytes));
                let length = grids.last().map_or(0, |file| file.bytes.len());
                task.grid = Some(task_zones::TaskGrid { frame, number: grids.len(), length });
            }
            tasks.push(task);
        }
        if uses_grid && let Some(cell_m) = frame.widened_to_m {
            notes.push(format!(
                "cells of the task set for {} are {cell_m:.1} m wide, not {:.1}: {MAX_CELLS_A_SIDE} by \
                 {MAX_CELLS_A_SIDE} is the most every controller takes",
                field.name, field.cell_m
            ));
        }
    }
    let xml = task_xml::task_data(fields, &tasks, settings.version);
    let mut files = vec![OutputFile::new(format!("{FOLDER}/TASKDATA.XML"), xml)];
    files.extend(grids);
    Ok(TaskSet { files, notes })
}
