//! Means over complete demand periods of the local clock.

pub(super) use demand::complete_blocks;

/// Largest mean over the demand periods; `None` without a complete one.
pub(super) fn largest_mean(
    blocks: &[std::ops::Range<usize>],
    value: impl Fn(usize) -> f64,
) -> Option<f64> {
    blocks
        .iter()
        .map(|block| block.clone().map(&value).sum::<f64>() / block.len() as f64)
        .max_by(f64::total_cmp)
}
