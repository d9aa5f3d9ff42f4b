//! The work order as text: what to move first, what to test, what to mind.

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
    line(text, "\nAfter each step test");
    for test in order.all_tests() {
        line(text, &format!("  - {test}"));
    }
    line(text, "\nMind");
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

/// Is anything overloaded on the way?
pub fn order_sentence(order: &WorkOrder) -> String {
    let together: Vec<String> = order
        .steps
        .iter()
        .filter(|step| step.moves.len() > 1)
        .map(|step| step.number.to_string())
        .collect();
    if together.is_empty() {
        return "In this order no step takes a conductor above its limit (or further above it than now or \
                after the plan), and a way is free for each."
            .to_owned();
    }
    let sure = if order.searched_all {
        "no order of smaller steps exists"
    } else {
        "no order of smaller steps was found"
    };
    format!(
        "{} {} must be made in one go, with the boards named off from its first move to its last: {sure}.",
        if together.len() == 1 { "Step" } else { "Steps" },
        together.join(", ")
    )
}

/// Ways are told where hardly any is left.
fn is_scarce(ways: &WaysCount) -> bool {
    ways.free_before
        .iter()
        .chain(&ways.free_after)
        .any(|&free| free <= 1)
}

/// What the table has no room for.
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
