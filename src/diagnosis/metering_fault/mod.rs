//! A meter that is connected the wrong way.
//!
//! In: a meter's log, and those of the meter above and of the meters at the same level. Out: which wire, ratio or clock
//! to look at.

mod above;
mod page;
mod pairing;
mod register;
mod reversed;
#[cfg(test)]
mod tests;

pub(super) use above::check as check_against_above;
pub(super) use page::PAGE;
pub(super) use page::{CAUTION, SOURCE};

use super::outcome::Diagnosis;
use super::view::View;
use site::Quantity;

/// The orders of three conductors, the right one first, then two exchanged, then all in turn.
const ORDERS: [[usize; 3]; 6] = [
    [0, 1, 2],
    [1, 0, 2],
    [0, 2, 1],
    [2, 1, 0],
    [1, 2, 0],
    [2, 0, 1],
];

/// What a meter's own log shows.
pub(super) fn check(view: &View<'_>, diagnosis: &mut Diagnosis) {
    register::check(view, diagnosis);
    let exports = [Quantity::EnergyExport, Quantity::ActivePowerExport(None)];
    if exports.iter().any(|&quantity| view.table().has(quantity)) {
        return diagnosis.needs(
            view,
            page::KIND,
            None,
            "a meter without export: this one counts export, so the sign of the power proves nothing",
        );
    }
    if !pairing::check(view, diagnosis) {
        reversed::check(view, diagnosis);
    }
}
