//! Where in a file something is, for messages.

use message::Place;

pub(crate) fn place(file: &str, line: usize, text: &str) -> Place {
    let shown: String = text.chars().take(80).collect();
    Place::in_line(file, line + 1, &shown, 0..shown.len())
}

/// A field for a message.
pub(crate) fn short(field: &str) -> String {
    field.chars().take(20).collect()
}
