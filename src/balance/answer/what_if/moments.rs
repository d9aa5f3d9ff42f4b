//! Second moments of series, each pair calculated once.

use std::collections::BTreeMap;

use num_complex::Complex64;
use rayon::prelude::*;

/// Mean over time of conj(a)·b for each pair asked for. Equal whatever the number of threads.
pub(super) fn moments(
    series: &[&[Complex64]],
    pairs: &[(usize, usize)],
) -> BTreeMap<(usize, usize), Complex64> {
    pairs
        .par_iter()
        .map(|&(a, b)| ((a, b), moment(series[a], series[b])))
        .collect()
}

fn moment(a: &[Complex64], b: &[Complex64]) -> Complex64 {
    let sum: Complex64 = a.iter().zip(b).map(|(a, b)| a.conj() * b).sum();
    sum / a.len().max(1) as f64
}
