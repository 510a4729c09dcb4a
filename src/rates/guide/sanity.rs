//! Looks over a guide once it is read: richer ground never needs more, and nothing is below 0.

use super::nutrient_need::{BuildUpChoice, CropYear};
use super::nutrient_rule::Critical;
use super::toml_walk::Faults;
use super::{Guide, NutrientRule};
use crate::rates::Supply;

/// CEC looked at, meq/100 g: sands to clays, the plausible range of mineral soils.
const CEC_MEQ_100G: [f64; 14] = [0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 15.0, 20.0, 25.0, 30.0, 45.0, 60.0];
/// Soil tests looked at, from 0 to above all levels.
const N_TESTS: usize = 400;
/// Rounding, lb/ac.
const TOLERANCE_LB_AC: f64 = 1e-9;

/// Walks the rule of a nutrient over all its crops, from sand to clay, from nothing to plenty.
pub(super) fn nutrient(guide: &Guide, supply: Supply, line: usize, faults: &mut Faults<'_>) {
    let Some(rule) = guide.nutrient(supply) else { return };
    for crop in &rule.crops {
        for cec in cecs(rule) {
            // Alone and with all others: the levels of a rotation are those of one of its crops.
            for rotation in [&[][..], &rule.crops[..]] {
                let year = CropYear { crop: *crop, yield_ac: 1.0, rotation };
                if let Some(message) = fault(guide, supply, &year, cec) {
                    let message = format!("{} for {} at CEC {cec}: {message}", supply.name(), crop.name());
                    faults.rises(
                        line,
                        supply.key(),
                        message,
                        "compare its figures and their signs with the printed guide",
                    );
                    return;
                }
            }
        }
    }
}

fn cecs(rule: &NutrientRule) -> Vec<f64> {
    let mut all = CEC_MEQ_100G.to_vec();
    if let Critical::Steps(steps) = &rule.critical.value {
        all.extend(steps.iter().filter_map(|step| step.to_cec).flat_map(|edge| [edge, edge + 0.01]));
    }
    all
}

fn fault(guide: &Guide, supply: Supply, year: &CropYear<'_>, cec: f64) -> Option<String> {
    let rule = guide.nutrient(supply)?;
    let levels = match rule.levels(Some(cec), year.crop, year.rotation) {
        Ok(levels) => levels,
        Err(error) => return Some(error.to_string()),
    };
    if levels.critical_ppm < 0.0 {
        return Some(format!("the critical level is {} ppm, below 0", levels.critical_ppm));
    }
    let top_ppm = 1.2 * levels.none_from_ppm + 10.0;
    let mut before = f64::INFINITY;
    for step in 0..=N_TESTS {
        let test_ppm = top_ppm * step as f64 / N_TESTS as f64;
        let need = match guide.nutrient_need(supply, test_ppm, Some(cec), year, BuildUpChoice::Raise) {
            Ok(need) => need.lb_ac,
            Err(error) => return Some(error.to_string()),
        };
        if !need.is_finite() || need < 0.0 {
            return Some(format!("{need} lb/ac at a soil test of {test_ppm:.0} ppm"));
        }
        if need > before + TOLERANCE_LB_AC {
            return Some(format!(
                "the need rises from {before:.1} to {need:.1} lb/ac at a soil test of {test_ppm:.0} ppm"
            ));
        }
        before = need;
    }
    None
}

/// Told for each cell of a lime table that has less than its left neighbor, or than the cell above it.
pub(super) fn table(rows: &[(usize, Vec<f64>)], target_ph: &[f64], faults: &mut Faults<'_>) {
    const HELP: &str = "compare the row with the printed table";
    for (index, (line, row)) in rows.iter().enumerate() {
        let (buffer_ph, amounts) = (row[0], &row[1..]);
        for column in 1..amounts.len() {
            if amounts[column] < amounts[column - 1] {
                let message = format!(
                    "buffer pH {buffer_ph}: {} short tons to pH {}, but {} to pH {}",
                    amounts[column - 1],
                    target_ph[column - 1],
                    amounts[column],
                    target_ph[column]
                );
                faults.rises(*line, "lime.rows", message, HELP);
            }
        }
        let Some((_, above)) = index.checked_sub(1).map(|above| &rows[above]) else { continue };
        for (column, amount) in amounts.iter().enumerate() {
            if *amount < above[column + 1] {
                let message = format!(
                    "to pH {}: {amount} short tons at buffer pH {buffer_ph}, but {} at {}, which is less acid",
                    target_ph[column],
                    above[column + 1],
                    above[0]
                );
                faults.rises(*line, "lime.rows", message, HELP);
            }
        }
    }
}
