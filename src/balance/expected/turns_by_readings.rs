//! On which phase each load is, by rounds of clamp readings.

use std::collections::BTreeMap;

use super::{DRAWS, FROM_TIME_TO_TIME, SEED, loads};
use crate::pose::connections::{connection_at, moves_with_circuit, turn_of};
use estimation::Turns;
use metering::Logs;
use site::{Connection, Site};

/// Probability of each turn of machines on one or two phases after the rounds of readings, given it before; `None`
/// without readings. `before` gives the kind of the load and its probabilities.
#[must_use]
pub fn turns_by_readings(
    site: &Site,
    logs: &Logs,
    before: &BTreeMap<usize, (Connection, [f64; 3])>,
) -> Option<BTreeMap<usize, [f64; 3]>> {
    if logs.rounds.is_empty() {
        return None;
    }
    // A load that is installed runs, on whichever phase.
    let mut installed = site.clone();
    for (&machine, &(kind, turns)) in before {
        if turn_of(installed.machines[machine].connection).is_none() {
            installed.machines[machine].connection = connection_at(kind, Turns(turns).first());
        }
    }
    let rounds = &logs.rounds;
    let (mut all, machines) = loads::of_list(&installed, rounds);
    for (load, machine) in all.iter_mut().zip(&machines) {
        let Some(machine) = *machine else { continue };
        if let Some((_, turns)) = before.get(&machine)
            && moves_with_circuit(site, machine).is_none()
        {
            load.turns = Turns(*turns);
        }
    }
    let estimate = estimation::estimate(
        &all,
        &loads::places(&installed, rounds),
        rounds.len(),
        &loads::readings(&installed, rounds),
        loads::spread(site, FROM_TIME_TO_TIME),
        (DRAWS, SEED),
    );
    let mut found: BTreeMap<usize, [f64; 3]> = BTreeMap::new();
    for (&machine, (_, turns)) in before {
        let own: Vec<usize> = (0..machines.len())
            .filter(|&load| machines[load] == Some(machine))
            .collect();
        // As if the probabilities before had been one draw more.
        let mut counts = *turns;
        for draw in &estimate.draws {
            for &load in &own {
                counts[draw.turns[load]] += 1.0 / own.len() as f64;
            }
        }
        let sum: f64 = counts.iter().sum();
        found.insert(machine, counts.map(|count| count / sum));
    }
    Some(found)
}
