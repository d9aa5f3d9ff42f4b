//! Check after work: measured currents compared with the predicted ones, and machines that are probably
//! on another phase than the list gives.
//!
//! In: the site with its list, its logs, and its rounds of clamp readings. Out:
//! [`AfterWork`], and a finding where list and readings disagree.

mod page;
mod predicted;
pub(super) mod result;
mod round;
#[cfg(test)]
mod tests;
mod to_findings;

pub use predicted::ConductorCheck;
pub use result::AfterWork;
pub use round::RoundCheck;

pub(super) use page::PAGE;
pub(super) use to_findings::check;
