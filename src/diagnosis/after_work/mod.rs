//! What the logs say once loads were moved: the currents beside those that were predicted, and which
//! machine is probably not where the list says.
//!
//! In: the site, whose list says how it should be, its logs, and its rounds of clamp readings. Out:
//! [`AfterWork`], and a finding where list and readings disagree.

mod page;
mod predicted;
pub(super) mod result;
mod round;
mod tell;
#[cfg(test)]
mod tests;
mod whereabouts;

pub use predicted::ConductorCheck;
pub use result::AfterWork;
pub use round::RoundCheck;
pub use whereabouts::{Verdict, Whereabouts};

pub(super) use page::PAGE;
pub(super) use tell::check;
