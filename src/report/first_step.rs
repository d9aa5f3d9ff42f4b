//! What to do first.

use super::conductor::SupplyConductor;
use super::format::{amps, counted, limit, listed};
use balance::{BalanceResult, HeldBack};

/// What waits for a repair; the repair itself is the action of its finding.
fn repair(held_back: &[HeldBack]) -> String {
    if held_back.is_empty() {
        return String::new();
    }
    let places: Vec<String> = held_back.iter().map(HeldBack::place).collect();
    format!(
        "Nothing is moved or connected onto {} until it is repaired, and this plan keeps to that. ",
        listed(&places)
    )
}

pub(super) fn first_step(
    balance: Option<&BalanceResult>,
    conductors: &[SupplyConductor],
) -> String {
    let Some(balance) = balance else {
        return "Complete the machine list; the report can then determine the phase for each machine."
            .to_owned();
    };
    let repair = repair(&balance.held_back);
    let over: Vec<&SupplyConductor> = conductors.iter().filter(|c| c.is_over()).collect();
    let Some(first) = balance.work_order.steps.first() else {
        return repair + &match over.first() {
            Some(conductor) => format!(
                "No move improves the allocation. Bring {} below {}: run fewer of its machines at once, \
                 and have the supply capacity checked.",
                conductor.name,
                limit(conductor.limit_a)
            ),
            None => {
                "Nothing to move: no move improves the allocation. Repeat the report when machines or \
                     working hours change."
                    .to_owned()
            }
        };
    };
    let beginning: Vec<String> = first
        .moves
        .iter()
        .map(|work| {
            let what = match &work.circuit {
                Some(circuit) => format!("circuit {circuit}"),
                None => listed(&work.machines),
            };
            format!(
                "{what} from {} to {} (max. {})",
                work.from,
                work.to,
                amps(work.current_max_a)
            )
        })
        .collect();
    let all = counted(balance.work_order.moves(), "move", "moves");
    let visit = if balance.work_order.moves() == 1 {
        "Have a competent person make the one move below".to_owned()
    } else {
        format!("Have a competent person make the moves below ({all}) in one visit")
    };
    let limit_words = over.iter().find(|conductor| conductor.name != "N");
    let limit_words = limit_words.map_or_else(String::new, |conductor| {
        format!(" Until then, put no further load on {}.", conductor.name)
    });
    format!(
        "{repair}{visit}, starting with {}.{limit_words}",
        listed(&beginning)
    )
}
