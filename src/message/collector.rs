//! The collector of messages and the drawing of them.

use std::fmt::{self, Write};

use super::place::is_harmful;
use super::{Level, Message, PLAIN, Place};

/// How many errors are drawn before the rest is only counted.
const MOST_DRAWN: usize = 20;

/// All messages of one run, in the order they were found.
#[derive(Clone, Debug, Default)]
pub struct Messages {
    list: Vec<Message>,
}

/// The input cannot be worked with; the messages say why.
#[derive(Clone, Debug)]
pub struct InputErrors(pub Messages);

impl fmt::Display for InputErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.draw(Level::Error, false))
    }
}

impl std::error::Error for InputErrors {}

impl Messages {
    /// An empty collector.
    #[must_use]
    pub fn new() -> Self {
        Messages::default()
    }

    /// Adds a message.
    pub fn push(&mut self, message: Message) {
        self.list.push(message);
    }

    /// Adds all messages of another collector.
    pub fn append(&mut self, mut other: Messages) {
        self.list.append(&mut other.list);
    }

    /// True if any message is an error.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.of(Level::Error).next().is_some()
    }

    /// The messages of one level.
    pub fn of(&self, level: Level) -> impl Iterator<Item = &Message> {
        self.list
            .iter()
            .filter(move |message| message.level == level)
    }

    /// All messages.
    #[must_use]
    pub fn all(&self) -> &[Message] {
        &self.list
    }

    /// `Err` with everything if there is an error, the warnings otherwise.
    ///
    /// # Errors
    ///
    /// [`InputErrors`] if any message is an error.
    pub fn into_result(self) -> Result<Messages, InputErrors> {
        if self.has_errors() {
            Err(InputErrors(self))
        } else {
            Ok(self)
        }
    }

    /// The messages of one level as text for people, the first twenty in full.
    #[must_use]
    pub fn draw(&self, level: Level, colour: bool) -> String {
        let wanted: Vec<&Message> = self.of(level).collect();
        let mut text = wanted
            .iter()
            .take(MOST_DRAWN)
            .map(|message| draw_one(message, colour))
            .collect::<Vec<_>>()
            .join("\n\n");
        if wanted.len() > MOST_DRAWN {
            // Writing to a string cannot fail.
            let _ = write!(text, "\n\nand {} more", wanted.len() - MOST_DRAWN);
        }
        text
    }
}

/// What is wrong; where, what stands there and what was expected; what to write; last the name, for
/// `tapoff explain`.
fn draw_one(message: &Message, colour: bool) -> String {
    let (level, strong) = match message.level {
        Level::Error => ("Error", "1;31"),
        Level::Warning => ("Warning", "1;33"),
    };
    let level = painted(level, strong, colour);
    let mut text = format!("{level}: {}", sentence(&message.text));
    let mut line = |words: &str| {
        text.push_str("\n  ");
        text.push_str(words);
    };
    if let Some(place) = &message.place {
        line(&sentence(&located(place, &message.expected)));
    }
    for words in [&message.note, &message.help].into_iter().flatten() {
        line(&sentence(&capital(words)));
    }
    if message.name != PLAIN {
        line(&painted(&format!("({})", message.name), "2", colour));
    }
    text
}

/// The place, and what was expected there instead of what stands there.
fn located(place: &Place, expected: &str) -> String {
    let mut text = place.to_string();
    // Writing to a string cannot fail.
    let found = place.found().filter(|found| !expected.contains(found));
    let around = place.text.trim();
    match found {
        Some(found) => {
            let _ = write!(text, ", `{found}`");
        }
        None if !expected.contains("found") && !around.is_empty() && place.field.is_none() => {
            let _ = write!(text, ", in `{around}`");
        }
        None => {}
    }
    if !expected.is_empty() {
        text.push_str(": ");
        text.push_str(expected);
    }
    text
}

/// Ends with a full stop, unless it ends a sentence already or ends in what is to be written.
fn sentence(text: &str) -> String {
    let text = harmless(text);
    let ended = text.ends_with(['.', '?', '!', '…', ':']);
    if ended { text } else { text + "." }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

fn painted(text: &str, style: &str, colour: bool) -> String {
    if colour {
        format!("\x1b[{style}m{text}\x1b[0m")
    } else {
        text.to_owned()
    }
}

/// User text must not break the line, reach the terminal as control codes or turn the direction of
/// writing.
fn harmless(text: &str) -> String {
    text.chars()
        .map(|c| if is_harmful(c) { ' ' } else { c })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_is_drawn_with_its_cell() {
        let mut messages = Messages::new();
        messages.push(
            Message::error("not-a-number", "`power_kw` of `welder` is not a number")
                .at(
                    Place::in_record("machines.csv", 3, "welder,C1,L1,4 kW", b',', 3),
                    "expected kilowatts, found `4 kW`",
                )
                .help("write the value without a unit: `4`"),
        );
        insta::assert_snapshot!(messages.draw(Level::Error, false), @r"
        Error: `power_kw` of `welder` is not a number.
          machines.csv, row 3, column D: expected kilowatts, found `4 kW`.
          Write the value without a unit: `4`.
          (not-a-number)
        ");
    }

    #[test]
    fn many_errors_are_counted() {
        let mut messages = Messages::new();
        for n in 0..25 {
            messages.push(Message::error("not-a-number", format!("wrong {n}")));
        }
        let text = messages.draw(Level::Error, false);
        assert!(text.contains("wrong 19") && !text.contains("wrong 20"));
        assert!(text.ends_with("and 5 more"));
    }
}
