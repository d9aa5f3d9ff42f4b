//! The moves, with what they carry, and the cautions beside them.

use super::format::{UNKNOWN, amps, kwh, number};
use super::header::{ConductorColours, SiteHeader};
use super::table::Table;
use crate::balance::{BalanceResult, Basis, MachineShare};
use crate::electrical::Phase;
use crate::site::Connection;

/// One line of the list of moves.
#[derive(Debug)]
pub(super) struct MoveView {
    pub(super) number: usize,
    pub(super) machine: String,
    pub(super) from: String,
    pub(super) from_colour: String,
    pub(super) to: String,
    pub(super) to_colour: String,
    pub(super) load: String,
    /// The circuit that moves as a whole; empty where the machine moves alone.
    pub(super) circuit: String,
}

/// The word for a figure's origin.
pub(super) const fn origin(basis: Basis) -> &'static str {
    match basis {
        Basis::Measured => "measured",
        Basis::Declared => "declared",
        Basis::Estimated => "estimated",
    }
}

pub(super) fn moves(header: &SiteHeader, balance: &BalanceResult) -> Vec<MoveView> {
    balance
        .moves
        .iter()
        .enumerate()
        .map(|(position, planned)| {
            let share = balance
                .machines
                .iter()
                .find(|share| share.machine == planned.machine);
            MoveView {
                number: position + 1,
                machine: planned.machine.clone(),
                from: connection(planned.from),
                from_colour: colours(&header.conductor_colours, planned.from),
                to: connection(planned.to),
                to_colour: colours(&header.conductor_colours, planned.to),
                load: share.map_or_else(|| UNKNOWN.to_owned(), load),
                circuit: planned.with_circuit.clone().unwrap_or_default(),
            }
        })
        .collect()
}

fn load(share: &MachineShare) -> String {
    format!(
        "{} at its largest, {}\u{A0}kWh in the period ({})",
        amps(share.current_max_a),
        kwh(share.energy_kwh),
        origin(share.basis)
    )
}

/// A connection in words.
fn connection(connection: Connection) -> String {
    match connection {
        Connection::ToNeutral(phase) => phase.name().to_owned(),
        Connection::Between(pair) => pair.name().to_owned(),
        Connection::ThreePhase { shift: 0 } => "three-phase, as it is".to_owned(),
        Connection::ThreePhase { shift: 1 } => "three-phase, L1→L2→L3→L1".to_owned(),
        Connection::ThreePhase { .. } => "three-phase, L1→L3→L2→L1".to_owned(),
        Connection::Any | Connection::AnyPair => "not yet assigned".to_owned(),
    }
}

/// Colours of the conductors of a connection; empty where not known.
fn colours(colours: &ConductorColours, connection: Connection) -> String {
    let of = |phase: Phase| colours.phases[phase.index()].clone();
    match connection {
        Connection::ToNeutral(phase) => of(phase).unwrap_or_default(),
        Connection::Between(pair) => {
            let (one, other) = pair.phases();
            of(one)
                .zip(of(other))
                .map_or_else(String::new, |(one, other)| format!("{one}, {other}"))
        }
        Connection::ThreePhase { .. } | Connection::Any | Connection::AnyPair => String::new(),
    }
}

/// Every machine with its connection and its share.
pub(super) fn machine_table(balance: &BalanceResult) -> Table {
    let rows = balance
        .machines
        .iter()
        .map(|share| {
            let to = if share.to == share.from {
                "stays".to_owned()
            } else {
                connection(share.to)
            };
            vec![
                share.machine.clone(),
                connection(share.from),
                to,
                if share.movable { "yes" } else { "no" }.to_owned(),
                number(share.current_rms_a, 1),
                number(share.current_max_a, 1),
                kwh(share.energy_kwh),
                origin(share.basis).to_owned(),
            ]
        })
        .collect();
    let head = [
        "Machine",
        "Now on",
        "After the moves",
        "Movable",
        "#Phase current, rms [A]",
        "#Largest [A]",
        "#Energy [kWh]",
        "Origin of the figures",
    ];
    Table::new("Machines as the assignment saw them", &head, rows)
}

/// Supply, boards and circuits, now and after.
pub(super) fn node_table(header: &SiteHeader, balance: &BalanceResult) -> Table {
    let rows = balance
        .nodes
        .iter()
        .map(|node| {
            let board = header.boards.iter().find(|board| board.id == node.id);
            let limit = if node.id == "supply" {
                Some(header.phase_limit_a)
            } else {
                board.and_then(|board| board.phase_limit_a)
            };
            let pair = |now: Option<f64>, after: f64| match now {
                Some(now) => format!("{} → {}", number(now, 1), number(after, 1)),
                None => number(after, 1),
            };
            let mut row = vec![node.id.clone()];
            for phase in 0..3 {
                let now = node
                    .before
                    .as_ref()
                    .map(|figures| figures.phase_max_a[phase]);
                row.push(pair(now, node.after.phase_max_a[phase]));
            }
            row.push(limit.map_or_else(|| UNKNOWN.to_owned(), |amps| number(amps, 0)));
            let before = node.before.as_ref();
            row.push(pair(
                before.map(|f| f.neutral_rms_a),
                node.after.neutral_rms_a,
            ));
            row.push(pair(
                before.map(|f| f.neutral_max_a),
                node.after.neutral_max_a,
            ));
            row
        })
        .collect();
    let head = [
        "At",
        "#L1, largest [A]",
        "#L2, largest [A]",
        "#L3, largest [A]",
        "#Limit per phase [A]",
        "#Neutral, rms [A]",
        "#Neutral, largest [A]",
    ];
    Table::new(
        "Supply, boards and circuits: now → after the moves",
        &head,
        rows,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::electrical::PhasePair;

    #[test]
    fn colours_are_given_in_the_users_words() {
        let words = ConductorColours {
            phases: ["a", "b", "c"].map(|word| Some(word.to_owned())),
            neutral: None,
        };
        assert_eq!(
            colours(&words, Connection::Between(PhasePair::L3L1)),
            "c, a"
        );
        assert_eq!(colours(&words, Connection::ToNeutral(Phase::L2)), "b");
        assert_eq!(
            colours(
                &ConductorColours::default(),
                Connection::ToNeutral(Phase::L2)
            ),
            ""
        );
    }
}
