//! Places for a new machine as CSV: one row for each check of each place.

use super::csv_table::{csv_text, text};
use crate::placement::Placement;

/// One row for each check of each place.
///
/// # Errors
///
/// Those of the writer, which memory does not provoke.
pub fn placement_csv(results: &[Placement]) -> Result<String, csv::Error> {
    let mut rows = Vec::new();
    for result in results {
        for place in &result.places {
            for check in &place.checks {
                rows.push(vec![
                    text(&result.machine),
                    place.rank.to_string(),
                    text(&place.circuit),
                    place.connection.to_string(),
                    yes(place.fits),
                    place.neutral_rms_a.before.to_string(),
                    place.neutral_rms_a.after.to_string(),
                    place.path_m.to_string(),
                    check.check.name().to_owned(),
                    text(&check.at),
                    yes(check.pass),
                    check.value.to_string(),
                    check.limit.to_string(),
                    check.unit.to_owned(),
                    text(&check.basis),
                    check.source.to_owned(),
                ]);
            }
        }
    }
    let header = [
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
    csv_text(&header, &rows)
}

fn yes(value: bool) -> String {
    if value { "yes" } else { "no" }.to_owned()
}
