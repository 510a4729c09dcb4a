//! The field mean: every place gets the mean of all samples. What any map must beat.

/// Equal weights of all sites but the hidden one.
pub(super) fn weights(n_sites: usize, hidden: Option<u32>) -> Vec<(u32, f64)> {
    (0..n_sites as u32).filter(|&site| Some(site) != hidden).map(|site| (site, 1.0)).collect()
}
