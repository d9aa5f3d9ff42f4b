//! Loads with a meter of their own, against the nearest meter above them that logs its phases.
//!
//! In: the site and its logs. Out: for each such load the probabilities of its connections, before which nothing but
//! the machine list was known.

mod blocks;
mod nodes;
mod record_of;
mod voltages;

use std::collections::BTreeMap;

use crate::changes::{LoadVerdict, estimate};
use crate::options::LoadOptions;
use metering::Logs;
use nodes::{NodeWithLog, lengths_at, nodes_with_phases};
pub(crate) use nodes::{node_above, places_with_phases};
use record_of::{JudgedRecord, record_at};
use site::Site;
pub(crate) use voltages::{VoltageVerdict, judge as judge_voltages};

/// Fewer intervals say nothing about the unmetered part. (1)
const FEWEST_ROWS: usize = 12;
/// Seed of the draws.
const SEED: u64 = 1;

/// What the logs say of a machine.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct MeteredVerdict {
    /// Probability of each of its options.
    pub(crate) probabilities: Vec<f64>,
    /// Meter above that it is compared with.
    pub(crate) meter: usize,
    /// Intervals that entered, and their length. (s)
    pub(crate) rows: usize,
    /// Intervals that there were: of very many with many loads the latest enter.
    pub(crate) of_rows: usize,
    pub(crate) interval_s: i64,
    /// How far its clock is behind. (s)
    pub(crate) late_s: f64,
    /// Gain of its meter. (1)
    pub(crate) gain: f64,
}

/// Compares the logs of the loads with those above them.
pub(crate) fn judge(
    site: &Site,
    logs: &Logs,
    options: &[Option<LoadOptions>],
) -> BTreeMap<usize, MeteredVerdict> {
    let mut found: BTreeMap<usize, MeteredVerdict> = BTreeMap::new();
    for node in nodes_with_phases(site, logs) {
        for interval_s in lengths_at(site, logs, &node) {
            judge_at(site, logs, options, &node, interval_s, &mut found);
        }
    }
    found
}

/// The loads of one node over intervals of one length; what shorter ones have said is known by then.
fn judge_at(
    site: &Site,
    logs: &Logs,
    options: &[Option<LoadOptions>],
    node: &NodeWithLog,
    interval_s: i64,
    found: &mut BTreeMap<usize, MeteredVerdict>,
) {
    let known: BTreeMap<usize, Vec<f64>> = found
        .iter()
        .map(|(machine, verdict)| (*machine, verdict.probabilities.clone()))
        .collect();
    let Some((record, judged)) = record_at(site, logs, options, node, interval_s, &known) else {
        return;
    };
    let of_rows = record.runs.iter().map(|run| run.len() - 1).sum();
    if of_rows < FEWEST_ROWS {
        return;
    }
    let Some(all) = estimate(&record, SEED) else {
        return;
    };
    for (own, verdict) in judged.iter().zip(&all.loads) {
        let JudgedRecord::Machines(machines) = own else {
            continue;
        };
        let LoadVerdict {
            probabilities,
            gain,
            late_s,
        } = verdict;
        for &machine in machines {
            found.entry(machine).or_insert_with(|| MeteredVerdict {
                probabilities: probabilities.clone(),
                meter: node.meter,
                rows: all.rows,
                of_rows,
                interval_s,
                late_s: *late_s,
                gain: *gain,
            });
        }
    }
}
