//! The moves, with what they carry, and the cautions beside them.

use super::format::{UNKNOWN, amps, kwh, listed, number};
use super::header::{ConductorColours, SiteHeader};
use super::table::Table;
use balance::{BalanceResult, MachineShare, WorkMove, WorkStep};
use electrical::Phase;
use site::Connection;
use units::Basis;

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
    /// What this move does for the neutral; empty where that is not known.
    pub(super) effect: String,
    /// The circuit that moves as a whole; empty where the machine moves alone.
    pub(super) circuit: String,
    /// What must be off, free ways, what to mind.
    pub(super) remarks: Vec<String>,
}

/// The word for a figure's origin.
pub(super) const fn origin(basis: Basis) -> &'static str {
    match basis {
        Basis::Measured => "measured",
        Basis::Declared => "declared",
        Basis::Estimated => "estimated",
    }
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
            format!("{} of {}", work.at, work.board)
        },
        from: connection(work.from),
        from_colour: colours(&header.conductor_colours, work.from),
        to: connection(work.to),
        to_colour: colours(&header.conductor_colours, work.to),
        load: if loads.is_empty() {
            UNKNOWN.to_owned()
        } else {
            loads.join("; ")
        },
        effect: effect(balance, work, step.neutral_rms_after_a.filter(|_| is_last)),
        circuit: work.circuit.clone().unwrap_or_default(),
        remarks: remarks(step, position, work),
    }
}

/// What the move does alone, what is lost without it, where the neutral stands after it.
fn effect(balance: &BalanceResult, work: &WorkMove, after_a: Option<f64>) -> String {
    let planned = balance
        .moves
        .iter()
        .find(|planned| work.machines.contains(&planned.machine));
    let mut parts = Vec::new();
    if let Some(gain) = planned.and_then(|planned| planned.gain_alone_a) {
        parts.push(if gain >= 0.0 {
            format!("alone it takes {} off the neutral", amps(gain))
        } else {
            format!("alone it adds {} to the neutral", amps(-gain))
        });
    }
    if let Some(loss) = planned.and_then(|planned| planned.loss_without_a) {
        parts.push(format!("without it the plan leaves {} more", amps(loss)));
    }
    if let Some(after) = after_a {
        parts.push(format!("once it is done the neutral is at {}", amps(after)));
    }
    let text = parts.join("; ");
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| {
        format!("{}{} (rms).", first.to_uppercase(), chars.as_str())
    })
}

fn remarks(step: &WorkStep, position: usize, work: &WorkMove) -> Vec<String> {
    let mut remarks = Vec::new();
    if position == 0 && !step.boards_off.is_empty() {
        remarks.push(format!(
            "All of step {} in one go, with {} off from its first move to its last{}.",
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
                "Free ways on {} (L1, L2, L3): {} before, {} after.",
                ways.board,
                three(ways.free_before),
                three(ways.free_after)
            ));
        }
    }
    for caution in &work.cautions {
        remarks.push(format!("Mind: {caution}."));
    }
    remarks
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
pub(super) fn node_table(balance: &BalanceResult) -> Table {
    let rows = balance
        .nodes
        .iter()
        .map(|node| {
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
            row.push(
                node.phase_limit_a
                    .map_or_else(|| UNKNOWN.to_owned(), |amps| number(amps, 0)),
            );
            let before = node.before.as_ref();
            row.push(pair(
                before.map(|f| f.neutral_rms_a),
                node.after.neutral_rms_a,
            ));
            row.push(pair(
                before.map(|f| f.neutral_max_a),
                node.after.neutral_max_a,
            ));
            row.push(origin(node.basis).to_owned());
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
        "Origin of the figures",
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
