//! The step in a log.

use super::sizes::{log_sum, over_sizes};
use super::tails::LongTails;
use crate::metered::node_above;
use crate::options::{LoadOptions, lag_of, shares_of};
use metering::{Logs, SwitchingTest};
use site::{Quantity, Site};

/// A time is written to the minute, by a watch that may be a minute off. (s)
const MINUTE_S: i64 = 60;
/// Intervals longer than this do not show a step of one machine. (s)
pub(super) const LONGEST_S: i64 = 300;
/// How far around the test the usual scatter is taken from. (s)
const AROUND_S: i64 = 12 * 3600;
/// How far the step of the test itself reaches. (s)
const TEST_S: i64 = 600;
/// Least deviation that a meter resolves. (kW)
const LEAST_KW: f64 = 0.015;
/// What a machine draws from one time to another differs by so much, as a share of its rating. Common practice. (1)
const UNSTEADY: f64 = 0.025;
/// Reactive over active power against what the list says: what is tried. A power factor on a plate is good to some 0.03.
const LAGS: [f64; 3] = [-0.12, 0.0, 0.12];

/// How far a step of a machine may differ from one time to another, a standard deviation. (kW)
pub(super) fn unsteady_kw(rated_kw: f64) -> f64 {
    LEAST_KW + UNSTEADY * rated_kw
}

/// Logarithm of the likelihood of each option; `None` where no log shows it.
pub(super) fn likelihood(
    site: &Site,
    logs: &Logs,
    test: &SwitchingTest,
    options: &LoadOptions,
) -> Option<Vec<f64>> {
    let machine = &site.machines[test.machine];
    let log = logs.of(node_above(site, logs, machine.tapped_off)?)?;
    let table = &log.table;
    let interval_s = i64::from(table.interval_s());
    if interval_s > LONGEST_S {
        return None;
    }
    let phasors = log.phasors()?;
    let reactive = table.has(Quantity::ReactivePower(Some(electrical::Phase::L1)));
    let channels = if reactive { 6 } else { 3 };
    let volts = site.supply.phase_voltage_v() / 1000.0;
    let starts = table.starts();
    // Powers at nominal voltage: active, then reactive.
    let at = |row: usize| -> Option<Vec<f64>> {
        let amps = phasors.at(row)?;
        let active = amps.iter().map(|amps| amps.re * volts);
        let reactive = amps.iter().map(|amps| -amps.im * volts);
        Some(active.chain(reactive).take(channels).collect())
    };
    // From the last interval that surely ended before to the first that surely began after: one stretch for every
    // explanation, so that their likelihoods can be compared.
    let apart = ((3 * MINUTE_S + interval_s - 1).div_euclid(interval_s) + 1) as usize;
    let step_from = |row: usize| -> Option<Vec<f64>> {
        let later = row + apart;
        let whole = starts.get(later)? - starts[row] == apart as i64 * interval_s;
        let (before, after) = (at(row)?, at(later)?);
        whole.then(|| before.iter().zip(&after).map(|(a, b)| b - a).collect())
    };
    let moment = test.at.timestamp();
    let near = starts.partition_point(|&start| start < moment - AROUND_S)
        ..starts.partition_point(|&start| start < moment + AROUND_S);
    // Without what the test itself shows.
    let is_test = |row: &usize| (starts[*row] - moment).abs() <= TEST_S;
    let usual: Vec<Vec<f64>> = near
        .filter(|row| !is_test(row))
        .filter_map(&step_from)
        .collect();
    let rated = machine.rated_power(site.supply.phase_voltage_v()).re * machine.load_share;
    let tails = LongTails::fit(&usual, &vec![unsteady_kw(rated); channels])?;
    let sign = if test.on { 1.0 } else { -1.0 } * machine.flow();
    let lag = lag_of(machine);
    let ended = moment - MINUTE_S - interval_s;
    let row = starts
        .partition_point(|&start| start <= ended)
        .checked_sub(1)?;
    let step = step_from(row).filter(|_| ended - starts[row] < interval_s)?;
    Some(
        options
            .connections
            .iter()
            .map(|&connection| {
                let shares = shares_of(connection, None, channels);
                let of_lag = |more: f64| {
                    over_sizes(|size| {
                        let left: Vec<f64> = step
                            .iter()
                            .enumerate()
                            .map(|(k, seen)| {
                                let share = shares[0][k] + (lag + more) * shares[1][k];
                                seen - sign * size * rated * share
                            })
                            .collect();
                        tails.log_density(&left)
                    })
                };
                log_sum(&LAGS.map(of_lag))
            })
            .collect(),
    )
}
