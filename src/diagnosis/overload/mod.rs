//! A phase, or the neutral, that carries more than its limit.
//!
//! In: the currents of a meter and the limit of what it measures. Out: how long and how far above, the
//! worst block and which machines made it up, and how warm a device of the conventional
//! characteristic would have become.

mod check;
mod device;
mod makers;
mod page;
mod relief;
mod thermal;

pub(super) use check::{check, unmetered};
pub use device::{ConventionalCurrents, conventional_currents};
pub(super) use makers::{declared_kw, machine_power, makers};
pub(super) use page::{NEUTRAL_PAGE, PHASE_PAGE};
pub use relief::Relief;
pub(super) use relief::relief;
pub use thermal::{heating_after, time_constant_of_conventional_currents};

/// What stands behind an overload, for charts.
#[derive(Clone, Debug, PartialEq)]
pub struct OverloadTrace {
    /// The phase.
    pub phase: electrical::Phase,
    /// Its limit. (A)
    pub limit_a: f64,
    /// The worst half-hours with what made them up, worst first.
    pub half_hours: Vec<super::StoryBlock>,
}
