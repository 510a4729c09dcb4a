//! Classes of a product's own need, where that need does not follow the zones: phosphorus, potassium, lime.

use super::k_means::{KMeansSettings, k_means};

/// Fewest and most classes.
const N_CLASSES: [usize; 2] = [2, 6];
/// Search for the classes; one variable and sorted values leave little to chance.
const SEARCH: KMeansSettings = KMeansSettings { k: 1, n_starts: 20, seed: 20_260_301, max_iter: 300 };

/// One class of need.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NeedClass {
    /// Number from 1, by ascending need.
    pub class: usize,
    /// Cells.
    pub n_cells: usize,
    /// Mean need of its cells, which stands for the class; 0 only where nothing is needed.
    pub mean_lb_ac: f64,
    /// Least need of a cell.
    pub least_lb_ac: f64,
    /// Most need of a cell.
    pub most_lb_ac: f64,
}

/// Classes of need on the raster.
#[derive(Debug, Clone, PartialEq)]
pub struct NeedClasses {
    /// One a cell, 1 needs least; 0 where the need is unknown.
    pub labels: Vec<u16>,
    /// Classes in order, none without cells.
    pub classes: Vec<NeedClass>,
}

/// Why a need cannot be classed.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NeedClassError {
    /// A number of classes that is not offered.
    #[error("{0} classes of need asked; expected 2 to 6")]
    Count(usize),
    /// A need that is none.
    #[error("a need of {value} lb/ac in cell {cell} (from 0); expected 0 or more, at most 1e100")]
    Need {
        /// Cell from 0.
        cell: usize,
        /// What was found.
        value: f64,
    },
    /// No cell has a need.
    #[error("no cell has a known need")]
    NoNeed,
}

/// Parts cells into at most `n_classes` classes of like need.
///
/// Cells that need nothing are one of these classes where there are any, so that nothing is spread on them; the rest is
/// parted by k-means, which leaves the least squares of need to class mean. Fewer unlike needs than classes give fewer
/// classes.
///
/// # Units
/// `need_lb_ac` pounds an acre, NaN where unknown.
///
/// # Guarantees
/// - labels ascend with need: no cell of a class needs less than one of a class before it
/// - equal needs are in one class; the order of the cells changes nothing but the place of the labels
///
/// # Errors
/// [`NeedClassError`]: not 2 to 6 classes, a need below 0 or infinite, no known need.
pub fn need_classes(need_lb_ac: &[f64], n_classes: usize) -> Result<NeedClasses, NeedClassError> {
    if !(N_CLASSES[0]..=N_CLASSES[1]).contains(&n_classes) {
        return Err(NeedClassError::Count(n_classes));
    }
    if let Some(cell) = need_lb_ac.iter().position(|need| !need.is_nan() && !(0.0..=1e100).contains(need)) {
        return Err(NeedClassError::Need { cell, value: need_lb_ac[cell] });
    }
    let mut needs: Vec<f64> = need_lb_ac.iter().copied().filter(|need| !need.is_nan()).collect();
    needs.sort_unstable_by(f64::total_cmp);
    let Some(&most) = needs.last() else { return Err(NeedClassError::NoNeed) };
    let some = needs.iter().position(|&need| need > 0.0).unwrap_or(needs.len());
    let mut ends: Vec<f64> = if some > 0 { vec![0.0] } else { Vec::new() };
    if some < needs.len() {
        ends.extend(class_ends(&needs[some..], n_classes - ends.len(), most));
    }
    let class_of = |need: f64| ends.iter().filter(|&&end| need > end).count() + 1;
    let of_cell = |&need: &f64| if need.is_nan() { 0 } else { class_of(need) as u16 };
    let mut classes: Vec<NeedClass> = Vec::new();
    for &need in &needs {
        match classes.last_mut().filter(|last| last.class == class_of(need)) {
            Some(last) => {
                last.n_cells += 1;
                last.mean_lb_ac += need; // a sum until divided
                last.most_lb_ac = need;
            }
            None => classes.push(NeedClass {
                class: class_of(need),
                n_cells: 1,
                mean_lb_ac: need,
                least_lb_ac: need,
                most_lb_ac: need,
            }),
        }
    }
    classes.iter_mut().for_each(|class| class.mean_lb_ac /= class.n_cells as f64);
    Ok(NeedClasses { labels: need_lb_ac.iter().map(of_cell).collect(), classes })
}

/// The most need of each class of sorted needs above 0, ascending; the last is `most`.
fn class_ends(needs: &[f64], n_classes: usize, most: f64) -> Vec<f64> {
    let n_unlike = 1 + needs.windows(2).filter(|pair| pair[0] != pair[1]).count();
    // Fewer unlike needs than classes: each is its own. k-means knows no other failure here.
    let fit = k_means(needs, 1, &KMeansSettings { k: n_classes.min(n_unlike), ..SEARCH });
    let labels = fit.map(|fit| fit.labels).unwrap_or_else(|_| vec![0; needs.len()]);
    let last_of_class = labels.windows(2).zip(needs).filter(|(pair, _)| pair[0] != pair[1]).map(|(_, &need)| need);
    last_of_class.chain([most]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 0, 0 | 10, 12 | 80, 90, 100 and one unknown: the two gaps are by far the widest.
    #[test]
    fn hand_case_of_three_classes() {
        let need = [90.0, 0.0, 12.0, f64::NAN, 80.0, 10.0, 0.0, 100.0];
        let found = need_classes(&need, 3).unwrap();
        assert_eq!(found.labels, [3, 1, 2, 0, 3, 2, 1, 3]);
        let means: Vec<f64> = found.classes.iter().map(|class| class.mean_lb_ac).collect();
        assert_eq!(means, [0.0, 11.0, 90.0]);
        let rest = &found.classes[2];
        assert_eq!((rest.n_cells, rest.least_lb_ac, rest.most_lb_ac), (3, 80.0, 100.0));
    }

    #[test]
    fn ground_that_needs_nothing_is_a_class_of_its_own() {
        // Without it k-means would put 0 with 1 and 2.
        let found = need_classes(&[0.0, 1.0, 2.0, 60.0], 2).unwrap();
        assert_eq!(found.labels, [1, 2, 2, 2]);
        // Where all ground needs something, both classes part it.
        assert_eq!(need_classes(&[1.0, 2.0, 60.0], 2).unwrap().labels, [1, 1, 2]);
        assert_eq!(need_classes(&[0.0; 3], 4).unwrap().labels, [1; 3]);
        // -0 is 0.
        assert_eq!(need_classes(&[-0.0, 0.0, 5.0], 2).unwrap().labels, [1, 1, 2]);
    }

    #[test]
    fn labels_ascend_and_the_order_of_cells_changes_nothing() {
        let need: Vec<f64> = (0..500).map(|i| ((f64::from(i) * 0.618_034).fract() * 150.0 - 20.0).max(0.0)).collect();
        for n_classes in 2..=6 {
            let found = need_classes(&need, n_classes).unwrap();
            assert_eq!(found.classes.len(), n_classes);
            assert!(found.classes.windows(2).all(|pair| pair[0].most_lb_ac < pair[1].least_lb_ac));
            assert!(found.classes.iter().all(|class| class.n_cells > 0));
            let zero_alone = need.iter().zip(&found.labels).all(|(need, label)| (*need == 0.0) == (*label == 1));
            assert!(zero_alone);
            let backward: Vec<f64> = need.iter().rev().copied().collect();
            let mut labels = need_classes(&backward, n_classes).unwrap().labels;
            labels.reverse();
            assert_eq!(labels, found.labels);
        }
    }

    #[test]
    fn fewer_unlike_needs_give_fewer_classes() {
        let found = need_classes(&[40.0, 40.0, 70.0], 6).unwrap();
        assert_eq!((found.labels, found.classes.len()), (vec![1, 1, 2], 2));
    }

    #[test]
    fn asks_for_what_cannot_be_are_refused() {
        assert_eq!(need_classes(&[1.0], 1), Err(NeedClassError::Count(1)));
        assert_eq!(need_classes(&[1.0], 7), Err(NeedClassError::Count(7)));
        assert_eq!(need_classes(&[f64::NAN], 2), Err(NeedClassError::NoNeed));
        assert_eq!(need_classes(&[], 2), Err(NeedClassError::NoNeed));
        assert_eq!(need_classes(&[1.0, -2.0], 2), Err(NeedClassError::Need { cell: 1, value: -2.0 }));
        assert!(matches!(need_classes(&[f64::INFINITY], 2), Err(NeedClassError::Need { .. })));
    }
}
