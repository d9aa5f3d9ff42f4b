//! The header of a machine list: which column is where.

use std::collections::HashMap;

use super::Context;
use crate::message::{Message, Messages, Place, closest, did_you_mean};

pub(super) fn read_header(
    file: &str,
    line: &str,
    separator: u8,
    header: &csv::StringRecord,
    context: &Context<'_>,
    messages: &mut Messages,
) -> HashMap<&'static str, usize> {
    let known_columns = || context.columns();
    let mut columns = HashMap::new();
    let mut meant = Vec::new();
    for (index, name) in header.iter().enumerate() {
        let name = name.trim();
        let place = || Place::in_record(file, 1, line, separator, index);
        if let Some(known) = known_columns().find(|known| *known == name) {
            if columns.contains_key(known) {
                messages.push(
                    Message::error(
                        "duplicate-column",
                        format!("the column `{name}` stands twice"),
                    )
                    .at(place(), "second time here")
                    .help("take one of the two out"),
                );
            } else {
                columns.insert(known, index);
            }
        } else if !(name.starts_with("x_") || name.is_empty() && index + 1 == header.len()) {
            meant.extend(closest(name, known_columns()));
            messages.push(
                Message::error(
                    "unknown-column",
                    format!("unknown column `{name}` in `{file}`"),
                )
                .at(place(), "not a column of the machine list")
                .maybe_help(
                    did_you_mean(name, known_columns())
                        .or_else(|| Some("columns of your own start with `x_`".to_owned())),
                ),
            );
        }
    }
    // A misspelt column is one fault, not two.
    let stands = |column: &&str| columns.contains_key(*column) || meant.contains(column);
    for (needed, help) in [
        (
            "machine",
            "add the column `machine`, a name of its own for each row",
        ),
        (
            "circuit",
            "add the column `circuit`, the circuit or board that the machine is tapped off",
        ),
        (
            "connection",
            "add the column `connection`: L1, L2, L3, L1-L2, L2-L3, L3-L1, 3ph, any or any-2",
        ),
    ] {
        let asked_for = needed == "machine" || !context.unplaced;
        if asked_for && !stands(&needed) {
            messages.push(
                Message::error(
                    "missing-column",
                    format!("`{file}` needs the column `{needed}`"),
                )
                .at(
                    Place::in_line(file, 1, line, line.len()..line.len()),
                    format!("no column `{needed}` in this header"),
                )
                .help(help),
            );
        }
    }
    let ratings = ["power_kw", "apparent_kva", "current_a", "shaft_kw"];
    if !ratings.iter().any(stands) {
        messages.push(
            Message::error(
                "missing-column",
                format!("`{file}` needs a column for the rating"),
            )
            .at(
                Place::in_line(file, 1, line, line.len()..line.len()),
                "expected one of power_kw, apparent_kva, current_a, shaft_kw",
            )
            .help("add the column `power_kw`, the electrical input at rated load"),
        );
    }
    columns
}
