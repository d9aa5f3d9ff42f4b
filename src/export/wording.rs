//! Lines and sentences that several texts share.

use std::fmt::Write;

use chrono::NaiveDate;

use tables::Cell;
use units::grouped_digits;

/// The usual cautions of work on an installation.
pub(crate) const CAUTIONS: &str = "\
Moving a conductor is work for a competent person: isolate, lock off, prove dead. Move the neutral
of a circuit together with its line conductor, check the rotation of three-phase machines, retest, and
update the circuit chart. Local wiring rules and the manufacturer's data decide. A normal reading does
not prove it safe.";

/// Adds a line; writing to a string cannot fail.
pub(crate) fn line(text: &mut String, line: &str) {
    let _ = writeln!(text, "{line}");
}

/// A date where the key of a part or period is one (`2026-03-09`), else its words.
pub(crate) fn date_or_word(key: &str) -> Cell {
    key.parse::<NaiveDate>()
        .map_or_else(|_| key.into(), Cell::from)
}

/// `March 2026` for `2026-03`.
pub(crate) fn month_name(month: &str) -> String {
    format!("{month}-01").parse::<NaiveDate>().map_or_else(
        |_| month.to_owned(),
        |first| first.format("%B %Y").to_string(),
    )
}

/// `40 080 intervals of 60 s`.
pub(crate) fn intervals_of(count: usize, interval_s: impl std::fmt::Display) -> String {
    let count = grouped_digits(&count.to_string());
    format!("{count} intervals of {interval_s}\u{a0}s")
}

/// `1 move`, `3 moves`.
pub(crate) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}
