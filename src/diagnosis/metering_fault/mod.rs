//! A meter that is connected the wrong way.
//!
//! In: a meter's log, and those of the meter above and of the meters at the same level. Out: which wire, ratio or clock
//! to look at.

mod above;
mod channels;
mod doubt;
mod page;
mod power;
mod ratio;
mod register;
#[cfg(test)]
mod tests;
mod twins;

pub(super) use above::check as check_against_above;
pub(super) use channels::LEAD_CAUTION;
pub(super) use doubt::weigh_overloads;
pub(super) use page::PAGE;
pub(super) use page::SOURCE;

use super::outcome::Diagnosis;
use super::view::View;

/// What a meter's own log shows.
pub(super) fn check(view: &View<'_>, diagnosis: &mut Diagnosis) {
    register::check(view, diagnosis);
    channels::check(view, diagnosis);
}
