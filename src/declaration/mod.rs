//! What a user's file may hold: each table with its keys, each file with its columns, declared once.
//!
//! In: nothing. Out: [`Declared`] tables of [`Key`]s, from which the readers take ranges, units and examples, and
//! `tapoff explain` its pages, so that the two cannot differ.

mod entry;
mod key;
mod value_kind;

pub use entry::{Entry, entries, row_example};
pub use key::{Default, Key};
pub use value_kind::{ValueKind, range_text};

/// A table of site.toml, or a file whose columns are declared.
#[derive(Debug)]
pub struct Declared {
    /// What it is for, in one or two sentences.
    pub meaning: &'static str,
    /// Its keys or columns, in the order in which they are explained.
    pub keys: &'static [Key],
}

impl Declared {
    /// A key by its name.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<&Key> {
        self.keys.iter().find(|key| key.name == name)
    }

    /// Names of all keys.
    pub fn names(&self) -> impl Iterator<Item = &'static str> + Clone {
        self.keys.iter().map(|key| key.name)
    }
}
