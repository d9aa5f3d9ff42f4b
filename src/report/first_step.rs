//! The first thing to do.

use super::conductor::Conductor;
use super::format::{amps, counted, limit, listed};
use balance::BalanceResult;

pub(super) fn first_step(balance: Option<&BalanceResult>, conductors: &[Conductor]) -> String {
    let Some(balance) = balance else {
        return "Complete the machine list; then the report can say which phase each machine should \
                be tapped off."
            .to_owned();
    };
    let over: Vec<&Conductor> = conductors.iter().filter(|c| c.is_over()).collect();
    let Some(first) = balance.work_order.steps.first() else {
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
    let beginning: Vec<String> = first
        .moves
        .iter()
        .map(|work| {
            let what = match &work.circuit {
                Some(circuit) => format!("circuit {circuit}"),
                None => listed(&work.machines),
            };
            format!(
                "{what} from {} to {}, {} at its largest",
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
        format!("Have a competent person make the {all} below in one visit")
    };
    let limit_words = over.iter().find(|conductor| conductor.name != "N");
    let limit_words = limit_words.map_or_else(String::new, |conductor| {
        format!(" Until then, start nothing more on {}.", conductor.name)
    });
    format!(
        "{visit}, beginning with {}.{limit_words}",
        listed(&beginning)
    )
}
