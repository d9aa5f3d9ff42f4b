//! The power of a meter over blocks that several meters have in common.

use std::collections::BTreeMap;

use crate::view::{View, blocks};
use electrical::Phase;
use site::Quantity;

/// Fewer changes than this say too little.
pub(super) const FEWEST: usize = 200;

/// Power by the start of a block. (kW)
pub(super) type Power = BTreeMap<i64, f64>;

pub(super) fn total(view: &View<'_>, block_s: i64) -> Option<Power> {
    let power = view.table().values(Quantity::ActivePower(None))?;
    let starts = view.table().starts();
    Some(
        blocks(starts, power.iter(), view.interval_s(), block_s)
            .into_iter()
            .collect(),
    )
}

pub(super) fn of_phase(view: &View<'_>, phase: Phase, block_s: i64) -> Option<Power> {
    let power = view.table().values(Quantity::ActivePower(Some(phase)))?;
    let starts = view.table().starts();
    Some(
        blocks(starts, power.iter(), view.interval_s(), block_s)
            .into_iter()
            .collect(),
    )
}
