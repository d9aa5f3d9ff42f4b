//! The first thing to do.

use super::conductor::Conductor;
use super::format::{amps, counted, limit};
use crate::balance::{BalanceResult, Move};

pub(super) fn first_step(balance: Option<&BalanceResult>, conductors: &[Conductor]) -> String {
    let Some(balance) = balance else {
        return "Complete the machine list; then the report can say which phase each machine should \
                be tapped off."
            .to_owned();
    };
    let over: Vec<&Conductor> = conductors.iter().filter(|c| c.is_over()).collect();
    let Some(first) = first_move(balance, over.first().map(|conductor| conductor.name)) else {
        return match over.first() {
            Some(conductor) => format!(
                "No move helps the neutral further. Bring {} below {}: run fewer of its machines at \
                 once, and have the supply's capacity checked.",
                conductor.name,
                limit(conductor.limit_a)
            ),
            None => {
                "Nothing to move: the machines are connected as well as this report can make it. \
                     Repeat it when machines or working hours change."
                    .to_owned()
            }
        };
    };
    let largest = balance
        .machines
        .iter()
        .find(|machine| machine.machine == first.machine)
        .map(|machine| format!(", {} at its largest", amps(machine.current_max_a)))
        .unwrap_or_default();
    let all = counted(balance.moves.len(), "move", "moves");
    let visit = if balance.moves.len() == 1 {
        "Have a competent person make the one move below".to_owned()
    } else {
        format!("Have a competent person make the {all} below in one visit")
    };
    let limit_words = over.iter().find(|conductor| conductor.name != "N");
    let limit_words = limit_words.map_or_else(String::new, |conductor| {
        format!(" Until then, start nothing more on {}.", conductor.name)
    });
    format!(
        "{visit}, beginning with {} from {} to {}{largest}.{limit_words}",
        first.machine, first.from, first.to
    )
}

/// The largest machine that leaves the overfull phase; else the largest that moves at all.
fn first_move<'a>(balance: &'a BalanceResult, overfull: Option<&str>) -> Option<&'a Move> {
    let size = |m: &&Move| {
        let leaves = overfull.is_some_and(|phase| m.from.name() == phase && m.to.name() != phase);
        let share = balance
            .machines
            .iter()
            .find(|share| share.machine == m.machine);
        (leaves, share.map_or(0.0, |share| share.current_rms_a))
    };
    // Of equals the first in machine order.
    balance.moves.iter().rev().max_by(|a, b| {
        let ((leaves_a, amps_a), (leaves_b, amps_b)) = (size(a), size(b));
        leaves_a.cmp(&leaves_b).then(amps_a.total_cmp(&amps_b))
    })
}
