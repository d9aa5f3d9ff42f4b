//! Machines that are kept together must be able to: on one phase now, of one kind, free to move as one.

use std::collections::BTreeMap;

use crate::model::connection::Connection;
use crate::model::machine::Machine;
use crate::model::node::Node;
use crate::model::site::Site;
use message::{Message, Messages, Place};

/// What two kept machines must agree on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum KeptKind {
    ToNeutral,
    BetweenPhases,
    ThreePhase,
}

fn kind(connection: Connection) -> KeptKind {
    match connection {
        Connection::ToNeutral(_) | Connection::Any | Connection::Unknown => KeptKind::ToNeutral,
        Connection::Between(_) | Connection::AnyPair => KeptKind::BetweenPhases,
        Connection::ThreePhase { .. } => KeptKind::ThreePhase,
    }
}

/// The one- or two-phase circuit that a machine moves with.
fn moves_with(site: &Site, machine: &Machine) -> Option<usize> {
    match machine.tapped_off {
        Node::Circuit(circuit) => {
            let three_phase =
                matches!(site.circuits[circuit].phases, Connection::ThreePhase { .. });
            (!three_phase).then_some(circuit)
        }
        _ => None,
    }
}

/// Complains of each machine that cannot be kept with the first of its word. `kept_at` holds the
/// place of each machine's `keep_with`.
pub(crate) fn check(site: &Site, machines: &[Machine], kept_at: &[Place], messages: &mut Messages) {
    let mut words: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (index, machine) in machines.iter().enumerate() {
        if let Some(word) = &machine.keep_with {
            words.entry(word).or_default().push(index);
        }
    }
    let mut faults: Vec<(usize, Message)> = Vec::new();
    for list in words.values() {
        // The first that has a phase already sets it for all.
        let first = list
            .iter()
            .copied()
            .find(|&index| !machines[index].connection.is_open())
            .unwrap_or(list[0]);
        for &index in list {
            if index == first {
                continue;
            }
            if let Some((text, expected, help)) =
                disagreement(site, &machines[first], &machines[index])
            {
                let message = Message::error("keep-with", text)
                    .at(kept_at[index].clone(), expected)
                    .help(help);
                faults.push((index, message));
            }
        }
    }
    faults.sort_by_key(|&(index, _)| index);
    for (_, message) in faults {
        messages.push(message);
    }
}

/// What is wrong, what was expected, what to do.
fn disagreement(
    site: &Site,
    first: &Machine,
    other: &Machine,
) -> Option<(String, String, &'static str)> {
    let names = format!("`{}` cannot be kept with `{}`", other.name, first.name);
    let (here, there) = (other.connection, first.connection);
    if kind(here) != kind(there) {
        return Some((
            format!("{names}: one is on {here}, the other on {there}"),
            format!("expected machines of one kind, found {here} with {there}"),
            "keep together only machines to neutral, or only machines between two phases",
        ));
    }
    if moves_with(site, first) != moves_with(site, other) {
        return Some((
            format!("{names}: one of them moves with its whole circuit"),
            "expected machines of one circuit, or none on a one- or two-phase circuit".to_owned(),
            "take the word out: what is on a one- or two-phase circuit moves together anyway",
        ));
    }
    if here != there && !here.is_open() && !there.is_open() {
        return Some((
            format!("{names}: now they are on {here} and {there}"),
            format!("expected {there}, where `{}` is", first.name),
            "correct the connection, or keep together only what is on one phase now",
        ));
    }
    if first.movable != other.movable {
        let (fixed, free) = if first.movable {
            (other, first)
        } else {
            (first, other)
        };
        return Some((
            format!(
                "{names}: `{}` must stay, `{}` may move",
                fixed.name, free.name
            ),
            "expected `movable` to be the same for both".to_owned(),
            "fix both with `movable` = `no`, or take the word out",
        ));
    }
    None
}
