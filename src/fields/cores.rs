//! Several rows of one field as one: means of its cores.

use std::collections::BTreeMap;

use super::field_test::{Share, ShareSource};
use super::{FieldCec, FieldTest, Figure, Ground};
use crate::samples::Analyte;

/// A name as names are compared: case and spaces do not matter.
pub(super) fn plain_name(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// One test a field: rows of one name and one use of the ground are averaged; of several depths only the topmost is
/// kept. In the order of names.
pub(super) fn fields_of_rows(rows: Vec<FieldTest>) -> Vec<FieldTest> {
    let mut by_name: BTreeMap<(String, Ground), Vec<FieldTest>> = BTreeMap::new();
    for row in rows {
        by_name.entry((plain_name(&row.name), row.ground)).or_default().push(row);
    }
    by_name.into_values().filter_map(|rows| mean(topmost(rows))).collect()
}

/// Rows of the topmost depth, and of those the shortest cores: a deeper row, or a longer core, is another soil. Rows
/// without a depth stay.
fn topmost(mut rows: Vec<FieldTest>) -> Vec<FieldTest> {
    let n_deeper = keep_least(&mut rows, 0);
    let n_longer = keep_least(&mut rows, 1);
    let Some(first) = rows.first_mut() else { return rows };
    if n_deeper > 0 {
        let rows = if n_deeper == 1 { "one deeper row is".to_owned() } else { format!("{n_deeper} deeper rows are") };
        first.remarks.push(format!("{rows} left aside"));
    }
    if n_longer > 0 {
        let rows = if n_longer == 1 {
            "one row of a longer core is".to_owned()
        } else {
            format!("{n_longer} rows of longer cores are")
        };
        first.remarks.push(format!("{rows} left aside: unlike depths do not average"));
    }
    rows
}

/// Keeps the rows with the least top (0) or bottom (1), and those without a depth; says how many went.
fn keep_least(rows: &mut Vec<FieldTest>, end: usize) -> usize {
    /// Depths told in centimeters differ by as much in rounding, in.
    const SAME_IN: f64 = 0.05;
    let ends = rows.iter().filter_map(|row| row.depth_in).map(|depth| depth[end]);
    let Some(least) = ends.min_by(f64::total_cmp) else { return 0 };
    let n_rows = rows.len();
    rows.retain(|row| row.depth_in.is_none_or(|depth| depth[end] <= least + SAME_IN));
    n_rows - rows.len()
}

/// Means of what the rows tell, each over the rows that tell it; the same in any order of rows but for the lines.
fn mean(mut rows: Vec<FieldTest>) -> Option<FieldTest> {
    rows.sort_by(|a, b| a.lines.cmp(&b.lines));
    if rows.len() < 2 {
        return rows.pop();
    }
    let mut mean = rows.first()?.clone();
    mean.name = rows.iter().map(|row| row.name.clone()).min().unwrap_or_default();
    mean.lines = rows.iter().flat_map(|row| row.lines.clone()).collect();
    mean.unread = rows.iter().flat_map(|row| row.unread.clone()).collect();
    mean.remarks = rows.iter().flat_map(|row| row.remarks.clone()).collect();
    mean.remarks.insert(0, format!("mean of {} rows", rows.len()));
    mean.lime_sign = rows.iter().filter_map(|row| row.lime_sign.clone()).min();
    mean.ph = mean_ph(&rows);
    mean.cec = mean_cec(&rows, &mut mean.remarks);
    for (index, share) in mean.shares.iter_mut().enumerate() {
        let told: Vec<&Share> = rows.iter().filter_map(|row| row.shares[index].as_ref()).collect();
        let figures: Vec<&Figure> = told.iter().map(|share| &share.figure).collect();
        let is_printed = told.iter().all(|share| share.source == ShareSource::Printed);
        let source = if is_printed { ShareSource::Printed } else { ShareSource::WorkedOut };
        *share = Figure::mean(&figures).map(|figure| Share { figure, source });
    }
    let k_printed: Vec<&Figure> = rows.iter().filter_map(|row| row.k_printed.as_ref()).collect();
    mean.k_printed = Figure::mean(&k_printed);
    mean.missing = rows.iter().flat_map(|row| row.missing.clone()).filter(|gap| !mean.tells(gap.what)).collect();
    mean.missing.sort();
    mean.missing.dedup_by(|a, b| a.what == b.what);
    let programmes: Vec<&String> = rows.iter().filter_map(|row| row.programme.as_ref()).collect();
    if programmes.windows(2).any(|pair| plain_name(pair[0]) != plain_name(pair[1])) {
        mean.remarks.push("its rows name different programmes, so none is taken".to_owned());
        mean.programme = None;
    } else {
        mean.programme = programmes.into_iter().min().cloned();
    }
    Some(mean)
}

fn mean_ph(rows: &[FieldTest]) -> Option<(Analyte, Figure)> {
    let medium = rows.iter().filter_map(|row| row.ph.as_ref()).map(|(medium, _)| *medium).min()?;
    let of_medium = rows.iter().filter_map(|row| row.ph.as_ref()).filter(|(of, _)| *of == medium);
    let figures: Vec<&Figure> = of_medium.map(|(_, figure)| figure).collect();
    Some((medium, Figure::mean(&figures)?))
}

/// Mean of the CECs of the first kind there is; CECs of another kind do not mix.
fn mean_cec(rows: &[FieldTest], remarks: &mut Vec<String>) -> Option<FieldCec> {
    let told: Vec<&FieldCec> = rows.iter().filter_map(|row| row.cec.as_ref()).collect();
    let kind = told.iter().map(|cec| cec.kind).min()?;
    let alike: Vec<&FieldCec> = told.iter().copied().filter(|cec| cec.kind.compares_with(kind)).collect();
    if alike.len() < told.len() {
        remarks.push(format!("{} of its rows have a CEC of another kind, left out", told.len() - alike.len()));
    }
    let figures: Vec<&Figure> = alike.iter().map(|cec| &cec.figure).collect();
    Some(FieldCec { figure: Figure::mean(&figures)?, kind, source: alike.iter().map(|cec| cec.source).min()? })
}
