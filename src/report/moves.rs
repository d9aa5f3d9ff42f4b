//! The moves, with their loads, their effect and their cautions.

use super::format::{amps, kwh, listed};
use super::header::{ConductorColours, SiteHeader};
use balance::{BalanceResult, MachineShare, WorkMove, WorkStep};
use electrical::Phase;
use site::Connection;

/// One line of the list of moves.
#[derive(Debug)]
pub(super) struct MoveView {
    /// Number of the step; with a letter where several are made in one go.
    pub(super) number: String,
    pub(super) machine: String,
    pub(super) at: String,
    pub(super) from: String,
    pub(super) from_colour: String,
    pub(super) to: String,
    pub(super) to_colour: String,
    pub(super) load: String,
    /// Effect of this move on the neutral current; empty where that is not known.
    pub(super) effect: String,
    /// The circuit that moves as a whole; empty where the machine moves alone.
    pub(super) circuit: String,
    /// What must be off, free ways, notes.
    pub(super) remarks: Vec<String>,
}

/// The moves in the order of work.
pub(super) fn moves(header: &SiteHeader, balance: &BalanceResult) -> Vec<MoveView> {
    balance
        .work_order
        .steps
        .iter()
        .flat_map(|step| {
            step.moves
                .iter()
                .enumerate()
                .map(move |(position, work)| move_view(header, balance, step, position, work))
        })
        .collect()
}

fn move_view(
    header: &SiteHeader,
    balance: &BalanceResult,
    step: &WorkStep,
    position: usize,
    work: &WorkMove,
) -> MoveView {
    let letter = if step.moves.len() > 1 {
        char::from(b'a' + (position % 26) as u8).to_string()
    } else {
        String::new()
    };
    let loads: Vec<String> = balance
        .machines
        .iter()
        .filter(|share| work.machines.contains(&share.machine))
        .map(load)
        .collect();
    let is_last = position + 1 == step.moves.len();
    MoveView {
        number: format!("{}{letter}", step.number),
        machine: listed(&work.machines),
        at: if work.at == work.board {
            work.board.clone()
        } else {
            format!("{}, board {}", work.at, work.board)
        },
        from: connection(work.from),
        from_colour: colours(&header.conductor_colours, work.from),
        to: connection(work.to),
        to_colour: colours(&header.conductor_colours, work.to),
        load: if loads.is_empty() {
            "Load not known".to_owned()
        } else {
            format!("Load: {}", loads.join("; "))
        },
        effect: effect(balance, work, step.neutral_rms_after_a.filter(|_| is_last)),
        circuit: work.circuit.clone().unwrap_or_default(),
        remarks: remarks(step, position, work),
    }
}

/// Neutral current after this step, saving of the move alone, and what is lost if it is omitted.
fn effect(balance: &BalanceResult, work: &WorkMove, after_a: Option<f64>) -> String {
    let planned = balance
        .moves
        .iter()
        .find(|planned| work.machines.contains(&planned.machine));
    let mut parts = Vec::new();
    if let Some(after) = after_a {
        parts.push(format!("Neutral after this step: {} rms.", amps(after)));
    }
    if let Some(gain) = planned.and_then(|planned| planned.gain_alone_a) {
        parts.push(if gain >= 0.0 {
            format!(
                "This move alone reduces the neutral current by {}.",
                amps(gain)
            )
        } else {
            format!(
                "This move alone adds {} to the neutral current.",
                amps(-gain)
            )
        });
    }
    if let Some(loss) = planned.and_then(|planned| planned.loss_without_a) {
        parts.push(format!(
            "If it is left out of the plan, the neutral current is {} higher.",
            amps(loss)
        ));
    }
    parts.join(" ")
}

fn remarks(step: &WorkStep, position: usize, work: &WorkMove) -> Vec<String> {
    let mut remarks = Vec::new();
    if position == 0 && !step.boards_off.is_empty() {
        remarks.push(format!(
            "Make all moves of step {} in one shutdown, with {} isolated from the first move to the last{}.",
            step.number,
            listed(&step.boards_off),
            step.reason
                .as_ref()
                .map_or_else(String::new, |reason| format!(": {reason}"))
        ));
    }
    if position == 0 {
        for ways in &step.ways {
            let three = |ways: [usize; 3]| ways.map(|count| count.to_string()).join(", ");
            remarks.push(format!(
                "Free ways on {} (L1, L2, L3): {} before, {} after this step.",
                ways.board,
                three(ways.free_before),
                three(ways.free_after)
            ));
        }
    }
    for caution in &work.cautions {
        remarks.push(format!("Note: {caution}."));
    }
    remarks
}

fn load(share: &MachineShare) -> String {
    format!(
        "max. {}, {}\u{A0}kWh in the period ({})",
        amps(share.current_max_a),
        kwh(share.energy_kwh),
        share.basis.name()
    )
}

/// A connection in words.
fn connection(connection: Connection) -> String {
    match connection {
        Connection::ToNeutral(phase) => phase.name().to_owned(),
        Connection::Between(pair) => pair.name().to_owned(),
        Connection::ThreePhase { shift: 0 } => "three-phase, as wired".to_owned(),
        Connection::ThreePhase { shift: 1 } => "three-phase, L1→L2→L3→L1".to_owned(),
        Connection::ThreePhase { .. } => "three-phase, L1→L3→L2→L1".to_owned(),
        Connection::Any | Connection::AnyPair | Connection::Unknown => "no phase yet".to_owned(),
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
        Connection::ThreePhase { .. }
        | Connection::Any
        | Connection::AnyPair
        | Connection::Unknown => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use electrical::PhasePair;

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
