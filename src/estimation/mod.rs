//! What each load draws, from a machine list and a few rounds of clamp-meter readings.
//!
//! In: loads with what the list says of them, the places they are fed from, and rounds of readings of phase currents,
//! each with its error. Out: draws of what the loads may be like, all in agreement with the list and with the readings,
//! so that a spread over the draws is what the readings leave open.
//!
//! The model. In each round a load is on or off; while on it draws a share of its rating that varies from round to
//! round about a mean of its own. The list gives the mean and the probability of being on; how far the list can be
//! trusted is estimated with the rest. A place carries the phasor sum of the loads below it and, where readings show
//! more than those can draw, a load that is not listed. A reading is the magnitude of that sum.
//!
//! The method. Shares of loads that are on are normally distributed and enter the readings almost linearly, so they
//! are integrated out; what is drawn by chance is which loads are on (Gibbs sampling over the on/off states, one and
//! two at a time), the phase of loads whose phase the list may have wrong, and from these the shares, means and
//! probabilities.

mod contradictions;
mod expected;
mod list_quality;
mod model;
mod not_listed;
mod round_likelihood;
mod sampler;
#[cfg(test)]
mod tests;
mod touch;

pub use expected::{Hours, mean_square, neutral_of, third_of};
pub use model::{
    Contradiction, Draw, Load, LoadEstimate, NOT_LISTED_SHARE, PhaseReading, ReadPlace, Spread,
    Turns,
};
pub use sampler::estimate;
