//! Places for new machines as CSV: one row for each check of each place.

use super::csv_table::{csv_text, text};
use placement::{BeforeAfter, Check, Placement, Together};
use site::Connection;

const HEADER: [&str; 16] = [
    "machine",
    "rank",
    "circuit",
    "connection",
    "fits",
    "neutral_rms_before_a",
    "neutral_rms_after_a",
    "path_m",
    "check",
    "at",
    "pass",
    "value",
    "limit",
    "unit",
    "basis",
    "source",
];

/// What the rows of a place have in common.
struct At<'a> {
    machine: &'a str,
    /// Empty where there is one place for each machine.
    rank: String,
    circuit: &'a str,
    connection: Connection,
    fits: bool,
    neutral_rms_a: BeforeAfter<f64>,
    path_m: f64,
}

impl At<'_> {
    fn row(&self, check: &Check) -> Vec<String> {
        vec![
            text(self.machine),
            self.rank.clone(),
            text(self.circuit),
            self.connection.to_string(),
            yes(self.fits),
            self.neutral_rms_a.before.to_string(),
            self.neutral_rms_a.after.to_string(),
            self.path_m.to_string(),
            check.check.name().to_owned(),
            text(&check.at),
            yes(check.pass),
            check.value.to_string(),
            check.limit.to_string(),
            check.unit.to_owned(),
            text(&check.basis),
            check.source.to_owned(),
        ]
    }
}

/// One row for each check of each place.
///
/// # Errors
///
/// Those of the writer, which memory does not provoke.
pub fn placement_csv(results: &[Placement]) -> Result<String, csv::Error> {
    let mut rows = Vec::new();
    for result in results {
        for place in &result.places {
            let at = At {
                machine: &result.machine,
                rank: place.rank.to_string(),
                circuit: &place.circuit,
                connection: place.connection,
                fits: place.fits,
                neutral_rms_a: place.effect.neutral_rms_a,
                path_m: place.path_m,
            };
            rows.extend(place.checks.iter().map(|check| at.row(check)));
        }
    }
    csv_text(&HEADER, &rows)
}

/// One row for each check of each machine at its place; the neutral is that with all of them, the rank is empty.
///
/// # Errors
///
/// Those of the writer, which memory does not provoke.
pub fn together_csv(result: &Together) -> Result<String, csv::Error> {
    let mut rows = Vec::new();
    for placed in &result.machines {
        let at = At {
            machine: &placed.machine,
            rank: String::new(),
            circuit: &placed.circuit,
            connection: placed.connection,
            fits: placed.fits,
            neutral_rms_a: result.effect.neutral_rms_a,
            path_m: placed.path_m,
        };
        rows.extend(placed.checks.iter().map(|check| at.row(check)));
    }
    csv_text(&HEADER, &rows)
}

fn yes(value: bool) -> String {
    if value { "yes" } else { "no" }.to_owned()
}
