//! The header of a machine list: which column is where.

use super::Context;
use super::rating::RATINGS;
use message::{Message, Messages, closest, did_you_mean};
use user_tables::{Line, TableWords, WrittenTable};

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
        "add the column `connection`: L1, L2, L3, L1-L2, L2-L3, L3-L1, 3ph, any, any-2 or unknown",
    ),
];

/// The header with the list that it begins.
pub(super) struct MachineHeader<'h> {
    pub(super) file: &'h str,
    pub(super) table: &'h WrittenTable<'h>,
}

/// What is wrong with the header becomes messages.
pub(super) fn check_header(
    header: &MachineHeader<'_>,
    context: &Context<'_>,
    messages: &mut Messages,
) {
    let columns = &header.table.columns;
    let mut meant = Vec::new();
    for (index, name) in columns.header.cells().enumerate() {
        if let Some(meaning) = columns.meaning(index) {
            if let Some(first) = columns.get(meaning.column).filter(|first| *first != index) {
                messages.push(header.twice(first, index, meaning.column));
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
    let by_unit = columns.get(TableWords::BY_UNIT).is_some();
    if !by_unit && !RATINGS.iter().any(stands) {
        messages.push(header.without_rating());
    }
}

impl MachineHeader<'_> {
    fn line(&self) -> &Line<'_> {
        &self.table.columns.header
    }

    /// A column of the user's own, or one with nothing in it.
    fn is_of_the_user(&self, index: usize, name: &str) -> bool {
        let is_blank = || self.table.rows().all(|line| line.cell(index).is_none());
        name.starts_with("x_")
            || name.is_empty() && (index + 1 == self.line().width() || is_blank())
    }

    fn twice(&self, first: usize, index: usize, column: &str) -> Message {
        let name = |cell: usize| self.line().cell(cell).unwrap_or_default();
        let (one, other) = (name(first), name(index));
        let text = if one == other {
            format!("the column `{column}` appears twice")
        } else {
            format!("`{one}` and `{other}` are both taken for the column `{column}`")
        };
        Message::error("duplicate-column", text)
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
            numbers_or_counts(name)
                .or_else(|| did_you_mean(name, context.columns()))
                .or_else(|| Some("columns of your own start with `x_`".to_owned())),
        )
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

/// Help for a column that may number the rows or count the machines, or be input or output of a motor.
fn numbers_or_counts(name: &str) -> Option<String> {
    let plain = name.to_lowercase();
    let words: Vec<&str> = plain
        .split(|c: char| !c.is_alphanumeric() && c != '#')
        .filter(|word| !word.is_empty())
        .collect();
    match words[..] {
        ["no" | "nr" | "#" | "number"] => Some(
            "write `x_no` where it numbers the rows, `quantity` where it counts equal machines"
                .to_owned(),
        ),
        ["motor", ..] => Some(
            "write `shaft_kw`, with `efficiency`, for the output at the shaft; `power_kw` for the electrical input"
                .to_owned(),
        ),
        _ => None,
    }
}
