//! Changes since the last report, as text and as a table.

use std::fmt::Write;

use chrono::{DateTime, Utc};
use finding::Value;
use since::{Direction, Since, SinceEntry, Subject};
use tables::{Cell, Table, columns, fixed, plain, words};
use units::{format_local, format_period};

/// The list.
pub(super) fn since_text(since: &Since) -> String {
    let mut text = format!("\n{}\n", plain(&since_title(since)));
    if since.changes.is_empty() {
        text.push_str("  no changes in what both reports contain\n");
    }
    for change in &since.changes {
        let _ = writeln!(
            text,
            "  {} {}",
            since_mark(change.change),
            plain(&change.text)
        );
    }
    for note in &since.notes {
        let _ = writeln!(text, "    ({})", plain(note));
    }
    text
}

/// The title of the list, with the period of the last report, both days included.
pub fn since_title(since: &Since) -> String {
    let moment = |time: &Option<String>| time.as_ref()?.parse::<DateTime<Utc>>().ok();
    match (moment(&since.from), moment(&since.to)) {
        (Some(from), Some(to)) => {
            let period = format_period(from, to, &Utc);
            format!("Changes since the last report ({}, {period})", since.file)
        }
        _ => format!("Changes since the last report ({})", since.file),
    }
}

/// A sign that is clear without colour.
pub const fn since_mark(direction: Direction) -> &'static str {
    match direction {
        Direction::More | Direction::Grown => "↑",
        Direction::Less | Direction::Eased => "↓",
        Direction::AsBefore => "=",
        Direction::New | Direction::Added => "+",
        Direction::Gone | Direction::Removed => "−",
        Direction::Moved | Direction::Altered => "→",
    }
}

const fn subject(subject: Subject) -> &'static str {
    match subject {
        Subject::Energy => "energy",
        Subject::MaximumDemand => "maximum demand",
        Subject::PhaseCurrent => "phase current",
        Subject::Finding => "finding",
        Subject::Machine => "machine",
    }
}

/// In a word or two.
const fn word(direction: Direction) -> &'static str {
    match direction {
        Direction::More => "more",
        Direction::Less => "less",
        Direction::AsBefore => "unchanged",
        Direction::New => "new",
        Direction::Gone => "gone",
        Direction::Grown => "worse",
        Direction::Eased => "less severe",
        Direction::Added => "added",
        Direction::Removed => "removed",
        Direction::Moved => "moved",
        Direction::Altered => "changed",
    }
}

/// One row for each change.
pub(super) fn since_table(since: Option<&Since>) -> Table {
    let cell = |value: &Option<Value>| match value {
        Some(Value::Number(number)) => Cell::from(*number),
        Some(Value::Text(text)) => text.into(),
        Some(Value::Moment(at)) => format_local(*at).into(),
        Some(Value::Texts(texts)) => texts.join(", ").into(),
        None => "".into(),
    };
    columns! { change in &SinceEntry;
        subject: words("Subject") => subject(change.subject);
        change: words("Change") => word(change.change);
        name: words("Name") => &change.name;
        before: fixed("Before", "", 1) => cell(&change.before);
        now: fixed("Now", "", 1) => cell(&change.now);
        unit: words("Unit") => &change.unit;
        text: words("Description") => &change.text;
    }
    .table(
        "since",
        since.map_or_else(|| "Changes since the last report".to_owned(), since_title),
        since.into_iter().flat_map(|since| &since.changes),
    )
}
