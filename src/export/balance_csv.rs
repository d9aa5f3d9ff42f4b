//! The plan as CSV: one row per machine.

use super::csv_table::{csv_text, number, text};
use balance::BalanceResult;
use units::Basis;

/// One row per machine: where it is, where it should be, what it draws.
///
/// # Errors
///
/// Those of the CSV writer, which memory does not provoke.
pub fn balance_csv(result: &BalanceResult) -> Result<String, csv::Error> {
    let header = [
        "machine",
        "from",
        "to",
        "moves",
        "movable",
        "basis",
        "energy_kwh",
        "current_rms_a",
        "current_max_a",
    ];
    let rows: Vec<Vec<String>> = result
        .machines
        .iter()
        .map(|machine| {
            let yes_no = |flag: bool| if flag { "yes" } else { "no" }.to_owned();
            vec![
                text(&machine.machine),
                machine.from.to_string(),
                machine.to.to_string(),
                yes_no(machine.from != machine.to),
                yes_no(machine.movable),
                basis(machine.basis).to_owned(),
                number(Some(machine.energy_kwh)),
                number(Some(machine.current_rms_a)),
                number(Some(machine.current_max_a)),
            ]
        })
        .collect();
    csv_text(&header, &rows)
}

/// One row per thing that is moved, in the order of work. Rows of one step are made in one go.
///
/// # Errors
///
/// Those of the CSV writer, which memory does not provoke.
pub fn work_order_csv(result: &BalanceResult) -> Result<String, csv::Error> {
    let header = [
        "step",
        "machines",
        "circuit",
        "at",
        "board",
        "from",
        "from_marks",
        "to",
        "to_marks",
        "boards_off",
        "current_max_a",
        "neutral_rms_after_a",
        "test",
        "cautions",
    ];
    let mut rows = Vec::new();
    for step in &result.work_order.steps {
        for work in &step.moves {
            let optional = |value: &Option<String>| text(value.as_deref().unwrap_or(""));
            rows.push(vec![
                step.number.to_string(),
                text(&work.machines.join("; ")),
                optional(&work.circuit),
                text(&work.at),
                text(&work.board),
                work.from.to_string(),
                optional(&work.from_marks),
                work.to.to_string(),
                optional(&work.to_marks),
                text(&step.boards_off.join("; ")),
                number(Some(work.current_max_a)),
                number(step.neutral_rms_after_a),
                text(&work.test),
                text(&work.cautions.join("; ")),
            ]);
        }
    }
    csv_text(&header, &rows)
}

/// The word for where a figure comes from.
pub(super) const fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Measured => "measured",
        Basis::Declared => "declared",
        Basis::Estimated => "estimated",
    }
}
