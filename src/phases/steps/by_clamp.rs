//! The step between two rounds of clamp readings.

use super::sizes::over_sizes;
use crate::options::LoadOptions;
use electrical::Phase;
use metering::{Logs, SwitchingTest};
use site::{Connection, Measured, Site};

/// Rounds farther from the test than this show other loads as well. (s)
const FARTHEST_S: i64 = 3600;
/// What other loads change between two rounds, a standard deviation as a share of the reading. A guess.
const OTHERS: f64 = 0.1;
/// Readings are within twice this of the truth in 95 of 100 cases.
const STANDARD_DEVIATIONS: f64 = 1.96;
/// Probability that another load of the place is switched between the rounds. A guess.
const ANOTHER: f64 = 0.2;
/// Degrees of freedom of what other loads change.
const FREEDOM: f64 = 3.0;

/// Logarithm of the likelihood of each option; `None` where no two rounds enclose the test.
pub(super) fn likelihood(
    site: &Site,
    logs: &Logs,
    test: &SwitchingTest,
    options: &LoadOptions,
) -> Option<Vec<f64>> {
    let machine = &site.machines[test.machine];
    let between = |earlier: i64, later: i64| {
        logs.switching
            .iter()
            .filter(|other| (earlier..=later).contains(&other.at.timestamp()))
            .count()
    };
    // The nearest place above it that was read before and after, with this test alone between.
    let mut place = std::iter::successors(Some(machine.tapped_off), |&at| site.parent(at));
    let (node, before, after) = place.find_map(|node| {
        let read = |round: &metering::Round| {
            let phases = round.of(Measured::Node(node))?.phases_a;
            Some((round.at.timestamp(), [phases[0]?, phases[1]?, phases[2]?]))
        };
        let all: Vec<(i64, [f64; 3])> = logs.rounds.iter().filter_map(read).collect();
        let moment = test.at.timestamp();
        let before = all
            .iter()
            .rfind(|(at, _)| *at <= moment && moment - at <= FARTHEST_S)?;
        let after = all
            .iter()
            .find(|(at, _)| *at > moment && at - moment <= FARTHEST_S)?;
        (between(before.0, after.0) == 1).then_some((node, before.1, after.1))
    })?;
    let deviation = |amps: f64| {
        let clamp = site.accuracy.clamp_pct / 100.0 * amps.abs() + site.accuracy.clamp_a;
        clamp / STANDARD_DEVIATIONS
    };
    let rated = machine.rated_current_a(site.supply.phase_voltage_v()) * machine.load_share;
    let sign = if test.on { 1.0 } else { -1.0 };
    let volts = site.supply.phase_voltage_v();
    let others =
        site.machines.iter().enumerate().filter(|&(index, other)| {
            index != test.machine && site.is_within(other.tapped_off, node)
        });
    let largest = others
        .map(|(_, other)| other.rated_current_a(volts) * other.load_share)
        .fold(0.0, f64::max);
    let is_on = |connection: Connection, phase: Phase| match connection {
        Connection::ToNeutral(own) => own == phase,
        Connection::Between(pair) => <[Phase; 2]>::from(pair.phases()).contains(&phase),
        _ => false,
    };
    let of_option = |connection: Connection| {
        over_sizes(|size| {
            Phase::ALL
                .into_iter()
                .map(|phase| {
                    let k = phase.index();
                    let expected = if is_on(connection, phase) {
                        sign * size * rated
                    } else {
                        0.0
                    };
                    let scale = deviation(before[k])
                        .hypot(deviation(after[k]))
                        .hypot(OTHERS * before[k].abs().min(after[k].abs()));
                    let left = after[k] - before[k] - expected;
                    let density = |scale: f64| {
                        let distance = left / scale;
                        (1.0 + distance * distance / FREEDOM).powf(-0.5 * (FREEDOM + 1.0)) / scale
                    };
                    ((1.0 - ANOTHER) * density(scale) + ANOTHER * density(scale.hypot(largest)))
                        .ln()
                })
                .sum()
        })
    };
    Some(
        options
            .connections
            .iter()
            .map(|&one| of_option(one))
            .collect(),
    )
}
