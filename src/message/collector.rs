//! The collector of messages and the drawing of them.

use std::fmt::{self, Write};

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Level as DrawnLevel, Origin, Renderer, Snippet};

use super::place::is_harmful;
use super::{Level, Message};

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

fn draw_one(message: &Message, colour: bool) -> String {
    let level = match message.level {
        Level::Error => DrawnLevel::ERROR,
        Level::Warning => DrawnLevel::WARNING,
    };
    let title = harmless(&message.text);
    let expected = harmless(&message.expected);
    let (note, help) = (
        message.note.as_deref().map(harmless),
        message.help.as_deref().map(harmless),
    );
    let mut group = level
        .primary_title(title.as_str())
        .id(message.name)
        .elements([] as [Snippet<'_, annotate_snippets::Annotation<'_>>; 0]);
    if let Some(place) = &message.place {
        if place.line == 0 {
            group = group.element(Origin::path(place.file.as_str()));
        } else {
            // A row of a spreadsheet has no column of characters.
            let path = place.cell.is_none().then_some(place.file.as_str());
            if let Some(cell) = &place.cell {
                let at = format!("{}, {}", place.file, harmless(cell));
                group = group.element(Origin::path(at));
            }
            group = group.element(
                Snippet::source(place.text.as_str())
                    .line_start(place.line)
                    .path(path)
                    .annotation(
                        AnnotationKind::Primary
                            .span(place.span.clone())
                            .label(expected.as_str()),
                    ),
            );
        }
    }
    if let Some(note) = &note {
        group = group.element(DrawnLevel::NOTE.message(note.as_str()));
    }
    if let Some(help) = &help {
        group = group.element(DrawnLevel::HELP.message(help.as_str()));
    }
    let renderer = if colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    renderer.decor_style(DecorStyle::Ascii).render(&[group])
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
    use crate::Place;

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
        error[not-a-number]: `power_kw` of `welder` is not a number
         --> machines.csv:3:14
          |
        3 | welder,C1,L1,4 kW
          |              ^^^^ expected kilowatts, found `4 kW`
          |
          = help: write the value without a unit: `4`
        ");
    }

    #[test]
    fn many_errors_are_counted() {
        let mut messages = Messages::new();
        for n in 0..25 {
            messages.push(Message::error("x", format!("wrong {n}")));
        }
        let text = messages.draw(Level::Error, false);
        assert!(text.contains("wrong 19") && !text.contains("wrong 20"));
        assert!(text.ends_with("and 5 more"));
    }
}
