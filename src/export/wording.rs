//! Lines and sentences that several texts share.

use std::fmt::Write;

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

/// `1 move`, `3 moves`.
pub(crate) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}
