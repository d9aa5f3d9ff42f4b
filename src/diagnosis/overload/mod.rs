//! A phase, or the neutral, that carries more than its limit.
//!
//! In: the currents of a meter and the limit of what it measures. Out: how long and how far above, the
//! worst block and which machines made it up, and how hot a device of the conventional
//! characteristic would have become.

mod check;
mod device;
mod page;
mod thermal;
pub(super) mod trace;

pub(super) use check::{check, unmetered};
pub use device::{DeviceCurrents, conventional_currents};
pub(super) use page::{NEUTRAL_PAGE, PHASE_PAGE};
pub use thermal::{heating_after, time_constant_of_conventional_currents};
pub use trace::OverloadTrace;
