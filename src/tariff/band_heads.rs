//! Which bands are one line of the bill.

use super::band::Band;

/// For each band the first of its name and price: these are one line, in the place of the first.
pub(super) fn heads(bands: &[Band]) -> Vec<usize> {
    let same = |a: &Band, b: &Band| {
        a.name == b.name && a.rate_per_kwh == b.rate_per_kwh && a.blocks == b.blocks
    };
    let head = |band: &Band| bands.iter().position(|other| same(other, band));
    bands.iter().filter_map(head).collect()
}
