//! What each meter measured, interval by interval: calculated here once, borrowed by the rooms above.
//!
//! In: a meter's log, [`MeterLog`](metering::MeterLog). Out: [`MeterAnalysis`] with the phasors of the phase
//! currents, their magnitudes as logged, the neutral as measured and as computed from the phases, each under its own
//! name, and [`NetPower`]. Logged values are borrowed; calculated ones are a series of their own ([`Values`]). What is
//! not known is `None`, in an interval as for a whole log.
//!
//! "Now", wherever it is said of a place with a meter, is [`Course::level`] of what is given here.

mod course;
mod meter_analysis;
mod net_power;
mod values;

pub use course::{Course, CurrentLevel};
pub use meter_analysis::{MeterAnalysis, Neutral};
pub use net_power::{NetPower, integral, logs_what_is_returned};
pub use values::Values;
