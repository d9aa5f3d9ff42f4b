//! The work order as text: the moves, the tests and the cautions.

use super::balance_tables::work_order_table;
use super::wording::{CAUTIONS, counted, line};
use balance::{BalanceResult, WaysCount, WorkMove, WorkOrder};
use tables::plain;

/// The moves in the order of work, with the cautions.
pub(super) fn work_order(text: &mut String, result: &BalanceResult) {
    let order = &result.work_order;
    if order.steps.is_empty() {
        line(text, "\nNothing to move.");
        return;
    }
    text.push_str(&work_order_table(result).text());
    line(text, &format!("\n{}", order_sentence(order)));
    details(text, order);
    line(text, "\nTests after each step");
    for test in order.all_tests() {
        line(text, &format!("  - {test}"));
    }
    line(text, "\nNote");
    for caution in order.cautions.iter().chain(&order.colour_caution) {
        line(text, &format!("  - {caution}"));
    }
    line(text, "");
    line(text, CAUTIONS);
}

/// `whole circuit J5 (Bench hall heaters)`, or the machines.
fn what(work: &WorkMove) -> String {
    let machines = work.machines.join(", ");
    match &work.circuit {
        Some(circuit) => format!("whole circuit {circuit} ({machines})"),
        None => machines,
    }
}

/// Is any conductor overloaded during the work?
pub fn order_sentence(order: &WorkOrder) -> String {
    let together: Vec<String> = order
        .steps
        .iter()
        .filter(|step| step.moves.len() > 1)
        .map(|step| step.number.to_string())
        .collect();
    if together.is_empty() {
        return "In this order no step takes a conductor over its limit; one that is over it already gets no worse than it is now or \
                after the plan. The board has a spare way for each move."
            .to_owned();
    }
    let sure = if order.searched_all {
        "no order in smaller steps is possible"
    } else {
        "no order in smaller steps was found"
    };
    format!(
        "Make all moves of {} {} in one shutdown, with the named boards off from the first move to the last: {sure}.",
        if together.len() == 1 { "step" } else { "steps" },
        together.join(", ")
    )
}

/// Ways are shown where few are left.
fn is_scarce(ways: &WaysCount) -> bool {
    ways.free_before
        .iter()
        .chain(&ways.free_after)
        .any(|&free| free <= 1)
}

/// Notes that do not fit into the table.
fn details(text: &mut String, order: &WorkOrder) {
    for step in &order.steps {
        let mut notes = Vec::new();
        if !step.boards_off.is_empty() {
            notes.push(format!(
                "{} off for all {}",
                step.boards_off.join(" and "),
                counted(step.moves.len(), "move", "moves")
            ));
        }
        notes.extend(step.reason.clone());
        for ways in step.ways.iter().filter(|ways| is_scarce(ways)) {
            let three = |ways: [usize; 3]| ways.map(|count| count.to_string()).join("/");
            notes.push(format!(
                "free ways on {} (L1/L2/L3): {} before, {} after",
                ways.board,
                three(ways.free_before),
                three(ways.free_after)
            ));
        }
        for work in &step.moves {
            let whose = if step.moves.len() > 1 {
                format!("{}: ", what(work))
            } else {
                String::new()
            };
            notes.extend(
                work.cautions
                    .iter()
                    .map(|caution| format!("{whose}{caution}")),
            );
        }
        if !notes.is_empty() {
            let notes = format!("  {}. {}", step.number, notes.join("; "));
            line(text, &plain(&notes));
        }
    }
}
