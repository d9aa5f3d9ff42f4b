//! Switching tests: the step on each phase when one machine was switched on purpose, or is by a schedule of its own.
//!
//! In: the times of the tests, and either the nearest log above the machine that has its three phases, or the rounds of
//! clamp readings before and after. Out: the logarithm of the likelihood of each connection of the machine.
//!
//! What else switched in the same minutes is taken from the log itself: differences over the same time, all day long,
//! have long tails (Student's t). The size of the step follows the rating, within what ratings are off by, and a test
//! may have been written down wrongly.

mod by_clamp;
mod by_log;
mod by_schedule;
mod sizes;
mod tails;

use crate::options::LoadOptions;
use metering::{Logs, SwitchingTest};
use site::Site;

/// A step was seen in a log, or between two rounds.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct SteppedVerdict {
    /// Logarithm of the likelihood of each option.
    pub(crate) log_likelihood: Vec<f64>,
    /// Tests that entered.
    pub(crate) tests: usize,
    /// Beginnings and ends of its schedule that entered.
    pub(crate) scheduled: usize,
}

impl SteppedVerdict {
    fn nothing(options: &LoadOptions) -> SteppedVerdict {
        SteppedVerdict {
            log_likelihood: vec![0.0; options.connections.len()],
            tests: 0,
            scheduled: 0,
        }
    }

    fn add(&mut self, log_likelihood: &[f64]) {
        for (sum, log) in self.log_likelihood.iter_mut().zip(log_likelihood) {
            *sum += COUNTS * log;
        }
    }
}

/// Share of the evidence that counts: a watch that is wrong is wrong in every test. Found with `tests/phases`.
const COUNTS: f64 = 0.6;

/// What the tests of each machine show; where there are none and it has no log, what its schedule does.
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
        if is_before_its_move(site, test) {
            continue;
        }
        let seen = by_log::likelihood(site, logs, test, own)
            .or_else(|| by_clamp::likelihood(site, logs, test, own));
        let Some(seen) = seen else { continue };
        let verdict = found[test.machine].get_or_insert_with(|| SteppedVerdict::nothing(own));
        verdict.tests += 1;
        verdict.add(&seen);
    }
    for (machine, own) in options.iter().enumerate() {
        let has_log = site
            .machine_meter(machine)
            .is_some_and(|meter| logs.of(meter).is_some());
        let Some(own) = own
            .as_ref()
            .filter(|_| !has_log && found[machine].is_none())
        else {
            continue;
        };
        if let Some((seen, scheduled)) = by_schedule::likelihood(site, logs, machine, own) {
            let verdict = found[machine].get_or_insert_with(|| SteppedVerdict::nothing(own));
            verdict.scheduled = scheduled;
            verdict.add(&seen);
        }
    }
    found
}

/// Was the machine moved after the test?
fn is_before_its_move(site: &Site, test: &SwitchingTest) -> bool {
    site.works.iter().any(|work| {
        let moved = work.moves.iter().any(|moved| moved.machine == test.machine);
        moved && test.at < work.done
    })
}
