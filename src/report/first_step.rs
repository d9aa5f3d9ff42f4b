//! What to do first.

use super::conductor::SupplyConductor;
use super::format::{counted, limit, listed};
use balance::BalanceResult;

/// The moves in short: how many, and with which they begin.
pub(super) fn first_step(
    balance: Option<&BalanceResult>,
    conductors: &[SupplyConductor],
) -> String {
    let Some(balance) = balance else {
        return "No move is proposed: no machine list was read.".to_owned();
    };
    let over: Vec<&SupplyConductor> = conductors.iter().filter(|c| c.is_over()).collect();
    let Some(first) = balance.work_order.steps.first() else {
        return match over.first() {
            Some(_) if !balance.held_back.is_empty() => {
                "No move helps before the repair: run fewer machines at once until then.".to_owned()
            }
            Some(conductor) => format!(
                "No move improves the allocation. Bring {} below {}: run fewer of its machines at once, \
                 and have the supply capacity checked.",
                conductor.name,
                limit(conductor.limit_a)
            ),
            None => "Nothing to move. Repeat the report when machines or working hours change."
                .to_owned(),
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
            format!("{what} from {} to {}", work.from, work.to)
        })
        .collect();
    let visit = match balance.work_order.moves() {
        1 => "Have a competent person move".to_owned(),
        many => format!(
            "Have a competent person make {} in one visit, starting with",
            counted(many, "move", "moves")
        ),
    };
    let waits = if balance.held_back.is_empty() {
        ""
    } else {
        "; this need not wait for the repair"
    };
    let still = |conductor: &&&SupplyConductor| {
        conductor
            .after_a
            .is_some_and(|amps| conductor.is_above(amps))
    };
    let limit_words = over
        .iter()
        .find(|conductor| conductor.name != "N")
        .map(|conductor| {
            let when = if still(&conductor) {
                "Put"
            } else {
                "Until then, put"
            };
            format!(" {when} no further load on {}.", conductor.name)
        });
    format!(
        "{visit} {}{waits}.{}",
        listed(&beginning),
        limit_words.unwrap_or_default()
    )
}
