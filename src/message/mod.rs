//! Messages about the input: what is wrong, where, what was expected, what to do.
//!
//! In: what a reader found, with its place. Out: the messages in their order, drawn as text or as an error.
//! Readers put [`Message`]s into a [`Messages`] collector and go on, so that one run shows all
//! that is wrong in all files. Drawing is left to one function; nothing here prints.

mod brief;
mod collector;
mod explained;
mod place;
mod quietly;
mod suggest;
mod typing;

use brief::brief;
pub use collector::{InputErrors, Messages};
pub use explained::{Explained, explained};
pub use place::{Place, column_letters};
pub use quietly::quietly;
pub use suggest::{closest, did_you_mean, similar};
pub use typing::{
    decimal_point, horsepower, kilowatts, kind_of_file, not_text, straight_quotes, why_more_cells,
};

use schemars::JsonSchema;
use serde::Serialize;

/// Name of a message that `tapoff explain` has nothing to add to.
pub const PLAIN: &str = "failed";

/// How serious a message is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// The work cannot be done with this input.
    Error,
    /// The work was done; the reader should know this.
    Warning,
}

/// One thing that is wrong or odd in the input.
#[derive(Clone, Debug, PartialEq, Eq, JsonSchema, Serialize)]
pub struct Message {
    /// How serious it is.
    pub level: Level,
    /// Kebab-case name of the rule that was broken.
    pub name: &'static str,
    /// What is wrong, a sentence that makes sense alone.
    #[serde(rename = "message")]
    pub text: String,
    /// Where, if it has a place.
    #[serde(flatten)]
    pub place: Option<Place>,
    /// What was expected, what was found; shown next to the place.
    pub expected: String,
    /// Background the reader may lack.
    pub note: Option<String>,
    /// The one action that mends it.
    pub help: Option<String>,
}

impl Message {
    /// An error.
    pub fn error(name: &'static str, text: impl Into<String>) -> Self {
        Message::new(Level::Error, name, text)
    }

    /// A warning.
    pub fn warning(name: &'static str, text: impl Into<String>) -> Self {
        Message::new(Level::Warning, name, text)
    }

    fn new(level: Level, name: &'static str, text: impl Into<String>) -> Self {
        debug_assert!(
            name == PLAIN || explained::is_explained(name),
            "the message `{name}` has a page for `tapoff explain`"
        );
        Message {
            level,
            name,
            text: brief(text.into()),
            place: None,
            expected: String::new(),
            note: None,
            help: None,
        }
    }

    /// Points at a place and says what was expected there.
    #[must_use]
    pub fn at(mut self, place: Place, expected: impl Into<String>) -> Self {
        self.place = Some(place);
        self.expected = brief(expected.into());
        self
    }

    /// Adds background.
    #[must_use]
    pub fn note(mut self, note: impl Into<String>) -> Self {
        self.note = Some(brief(note.into()));
        self
    }

    /// Adds the action that mends it.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(brief(help.into()));
        self
    }

    /// Adds the action that mends it, where there is one.
    #[must_use]
    pub fn maybe_help(mut self, help: Option<String>) -> Self {
        self.help = help.map(brief);
        self
    }
}
