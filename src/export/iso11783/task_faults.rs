//! What keeps fields and passes from being a task set.

use super::{Setpoint, TaskField, TaskPass};
use crate::diagnostic::{Code, Diagnostic};

/// A pass cannot be written as a task.
pub static TASK_SET_UNFIT: Code = Code {
    name: "task-set-unfit",
    checks: "that each pass of a task set has an outline, a product, at most 250 grounds, and rates its counts can hold",
    why: "what does not fit would be cut or wrap around to another rate without a word",
    example: "a rate of 10,000 short tons an acre",
    mend: "look at the rates; draw fewer zones; leave `task-set-3` out of `write.controller` if the pass has no rates",
};

/// Most grounds of a pass: codes go to 254, and three are taken by the standard's special zones and ground kept off.
const MAX_GROUNDS: usize = 250;
/// Most tasks: grid files are numbered with five digits.
const MAX_TASKS: usize = 99_999;

/// All faults of all fields.
pub(super) fn faults(fields: &[TaskField]) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let mut unfit = |what: String| faults.push(Diagnostic::error(&TASK_SET_UNFIT, what));
    let n_tasks: usize = fields.iter().map(|field| field.passes.len()).sum();
    if n_tasks == 0 || n_tasks > MAX_TASKS {
        unfit(format!("{n_tasks} passes, 1 to {MAX_TASKS} expected in a task set"));
    }
    for field in fields {
        let of_field = |what: String| format!("task set for {}: {what}", field.name);
        let is_ring = |ring: &[_]| ring.len() >= 4 && ring.first() == ring.last();
        if field.boundary.is_empty() || !field.boundary.iter().all(|polygon| polygon.rings().all(is_ring)) {
            unfit(of_field("no closed outline, at least one expected".to_owned()));
        }
        if !(field.cell_m > 0.0 && field.cell_m.is_finite()) {
            unfit(of_field(format!("cells of {} m, more than 0 expected", field.cell_m)));
        }
        for pass in &field.passes {
            pass_faults(pass).into_iter().for_each(|what| unfit(of_field(format!("pass {}: {what}", pass.number))));
        }
    }
    faults
}

fn pass_faults(pass: &TaskPass) -> Vec<String> {
    let mut faults = Vec::new();
    if pass.products.is_empty() {
        faults.push("no product, at least one expected".to_owned());
    }
    for product in &pass.products {
        let n = product.grounds.len();
        if n == 0 || n > MAX_GROUNDS {
            faults.push(format!("{}: {n} grounds, 1 to {MAX_GROUNDS} expected", product.name));
        }
        for ground in &product.grounds {
            let unit = product.unit.name();
            if Setpoint::of(product.unit).counts(ground.rate).is_none() {
                faults.push(format!("{}, {}: `{}` {unit}, a rate expected", product.name, ground.name, ground.rate));
            }
            if ground.is_kept_off && ground.rate != 0.0 {
                faults.push(format!("{}, {}: {} {unit} on ground kept off", product.name, ground.name, ground.rate));
            }
        }
    }
    faults
}
