//! The plan as CSV: one row per machine.

use super::csv_table::{csv_text, number, text};
use crate::balance::{BalanceResult, Basis};

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

/// The word for where a figure comes from.
pub(super) const fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Measured => "measured",
        Basis::Declared => "declared",
        Basis::Estimated => "estimated",
    }
}
