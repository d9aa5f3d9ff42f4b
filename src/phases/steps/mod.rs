//! Switching tests: the step on each phase when one machine was switched on purpose.
//!
//! In: the times of the tests, and either the nearest log above the machine that has its three phases, or the rounds of
//! clamp readings before and after. Out: the logarithm of the likelihood of each connection of the machine.
//!
//! What else switched in the same minutes is taken from the log itself: differences over the same time, all day long,
//! have long tails (Student's t). The size of the step follows the rating, within what ratings are off by, and a test
//! may have been written down wrongly.

mod by_clamp;
mod by_log;
mod sizes;
mod tails;

use crate::options::LoadOptions;
use metering::Logs;
use site::Site;

/// A step was seen in a log, or between two rounds.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct SteppedVerdict {
    /// Logarithm of the likelihood of each option.
    pub(crate) log_likelihood: Vec<f64>,
    /// Tests that entered.
    pub(crate) tests: usize,
}

/// Share of the evidence that counts: a watch that is wrong is wrong in every test. Found with `tests/phases`.
const COUNTS: f64 = 0.6;

/// What the tests of each machine show.
pub(crate) fn judge(
    site: &Site,
    logs: &Logs,
    options: &[Option<LoadOptions>],
) -> Vec<Option<SteppedVerdict>> {
    let mut found: Vec<Option<SteppedVerdict>> = vec![None; options.len()];
    for test in &logs.switching {
        let Some(own) = &options[test.machine] else {
            continue;
        };
        let seen = by_log::likelihood(site, logs, test, own)
            .or_else(|| by_clamp::likelihood(site, logs, test, own));
        let Some(seen) = seen else { continue };
        let verdict = found[test.machine].get_or_insert_with(|| SteppedVerdict {
            log_likelihood: vec![0.0; own.connections.len()],
            tests: 0,
        });
        verdict.tests += 1;
        for (sum, log) in verdict.log_likelihood.iter_mut().zip(seen) {
            *sum += COUNTS * log;
        }
    }
    found
}
