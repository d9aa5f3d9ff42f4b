//! What moves as one.

use std::collections::BTreeMap;

use super::connections::{connection_now, moves_with_circuit, turn_of};
use super::profile::Profile;
use crate::problem::currents::Currents;
use crate::problem::problem::Unit;
use site::{Connection, Site};

/// What moves as one, and the machines of each unit.
pub(crate) fn units_of(site: &Site, profiles: &[Profile]) -> (Vec<Unit>, Vec<Vec<usize>>) {
    let mut groups: BTreeMap<(usize, String), Vec<usize>> = BTreeMap::new();
    for machine in 0..site.machines.len() {
        if let Some(key) = group_of(site, profiles, machine) {
            groups.entry(key).or_default().push(machine);
        }
    }
    let mut lists: Vec<Vec<usize>> = groups.into_values().collect();
    lists.sort_by_key(|list| list[0]);
    let units = lists
        .iter()
        .map(|list| {
            let mut currents = Currents::none();
            for &machine in list {
                currents.add(&profiles[machine].currents);
            }
            let on_circuit = moves_with_circuit(site, list[0]).is_some();
            Unit {
                name: site.machines[list[0]].name.clone(),
                currents,
                choices: vec![0, 1, 2],
                current: list
                    .iter()
                    .find_map(|&machine| turn_of(connection_now(site, machine))),
                moves: if on_circuit { 1 } else { list.len() },
            }
        })
        .collect();
    (units, lists)
}

/// Which unit a machine belongs to; `None` where it stays.
fn group_of(site: &Site, profiles: &[Profile], index: usize) -> Option<(usize, String)> {
    let machine = &site.machines[index];
    if let Some(circuit) = moves_with_circuit(site, index) {
        let members = || {
            (0..site.machines.len())
                .filter(|&other| moves_with_circuit(site, other) == Some(circuit))
        };
        let free =
            site.circuits[circuit].movable && members().all(|member| site.machines[member].movable);
        return free.then(|| (0, format!("{circuit:06}")));
    }
    // What is somewhere, but nobody knows where, cannot be moved from there.
    if !machine.movable || machine.connection == Connection::Unknown {
        return None;
    }
    if matches!(machine.connection, Connection::ThreePhase { .. }) && !profiles[index].phases_differ
    {
        return None;
    }
    Some(match &machine.keep_with {
        Some(word) => (1, word.clone()),
        None => (2, format!("{index:06}")),
    })
}
