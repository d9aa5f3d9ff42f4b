//! The header of a machine list: which column is where.

use super::Context;
use super::rating::RATINGS;
use message::{Message, Messages, closest, did_you_mean, kilowatts};
use user_tables::{Line, Lines, NamedColumns};

const NEEDED: [(&str, &str); 3] = [
    (
        "machine",
        "add the column `machine`, a name of its own for each row",
    ),
    (
        "circuit",
        "add the column `circuit`, the circuit or board that feeds the machine",
    ),
    (
        "connection",
        "add the column `connection`: L1, L2, L3, L1-L2, L2-L3, L3-L1, 3ph, any or any-2",
    ),
];

/// The header with the list that it begins.
pub(super) struct MachineHeader<'h> {
    pub(super) file: &'h str,
    pub(super) columns: &'h NamedColumns<'h>,
    pub(super) list: &'h Lines<'h>,
}

/// What is wrong with the header becomes messages.
pub(super) fn check_header(
    header: &MachineHeader<'_>,
    context: &Context<'_>,
    messages: &mut Messages,
) {
    let columns = header.columns;
    let mut meant = Vec::new();
    for (index, name) in columns.header.cells().enumerate() {
        if context.columns().any(|known| known == name) {
            if columns.get(name) != Some(index) {
                messages.push(header.twice(index, name));
            }
        } else if !header.is_of_the_user(index, name) {
            meant.extend(closest(name, context.columns()));
            messages.push(header.unknown(index, name, context));
        }
    }
    // A misspelt column is one fault, not two.
    let stands = |column: &&str| columns.get(column).is_some() || meant.contains(column);
    for (needed, help) in NEEDED {
        let asked_for = needed == "machine" || !context.unplaced;
        if asked_for && !stands(&needed) {
            messages.push(header.missing(needed, help));
        }
    }
    if !RATINGS.iter().any(stands) {
        messages.push(header.without_rating());
    }
}

impl MachineHeader<'_> {
    fn line(&self) -> &Line<'_> {
        &self.columns.header
    }

    /// A column of the user's own, or the end of a line that closes with its separator.
    fn is_of_the_user(&self, index: usize, name: &str) -> bool {
        name.starts_with("x_") || name.is_empty() && index + 1 == self.line().width()
    }

    fn twice(&self, index: usize, name: &str) -> Message {
        Message::error(
            "duplicate-column",
            format!("the column `{name}` appears twice"),
        )
        .at(self.line().place(index), "second time here")
        .help("remove one of the two")
    }

    fn unknown(&self, index: usize, name: &str, context: &Context<'_>) -> Message {
        Message::error(
            "unknown-column",
            format!("unknown column `{name}` in `{}`", self.file),
        )
        .at(self.line().place(index), "not a column of the machine list")
        .maybe_help(
            self.horsepower(index, name)
                .or_else(|| did_you_mean(name, context.columns()))
                .or_else(|| Some("columns of your own start with `x_`".to_owned())),
        )
    }

    /// Help for a column of horsepower: the figures of its first rows in kilowatts.
    fn horsepower(&self, index: usize, name: &str) -> Option<String> {
        const MOST: usize = 5;
        let is_hp = name
            .to_lowercase()
            .split(['_', ' '])
            .any(|word| ["hp", "bhp", "horsepower"].contains(&word));
        if !is_hp {
            return None;
        }
        let converted = self.list.again().skip(1).filter_map(|line| {
            let cell = line.cell(index)?;
            let horsepower: f64 = cell.replace(',', ".").parse().ok()?;
            Some(format!("{cell} hp is `{}`", kilowatts(horsepower)))
        });
        let converted: Vec<String> = converted.take(MOST).collect();
        Some(format!(
            "write the column `shaft_kw` in kW, with `efficiency`: {}",
            converted.join(", ")
        ))
    }

    fn missing(&self, needed: &str, help: &str) -> Message {
        Message::error(
            "missing-column",
            format!("`{}` needs the column `{needed}`", self.file),
        )
        .at(
            self.line().end(),
            format!("no column `{needed}` in this header"),
        )
        .help(help)
    }

    fn without_rating(&self) -> Message {
        Message::error(
            "missing-column",
            format!("`{}` needs a column for the rating", self.file),
        )
        .at(
            self.line().end(),
            format!("expected one of {}", RATINGS.join(", ")),
        )
        .help("add the column `power_kw`, the electrical input at rated load")
    }
}
