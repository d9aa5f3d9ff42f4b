//! One key of a table, or one column of a file.

use super::{Declared, ValueKind, range_text};

/// What is taken where a key is left out.
#[derive(Clone, Copy, Debug)]
pub enum Default {
    /// Nothing: the key must be there.
    Required,
    /// Nothing is assumed.
    Nothing,
    /// This value, as it is written in the file.
    Value(&'static str),
    /// What these words say.
    Words(&'static str),
}

/// One key of a table, or one column of a file.
#[derive(Clone, Copy, Debug)]
pub struct Key {
    /// As written in the file.
    pub name: &'static str,
    /// What may be written.
    pub kind: ValueKind,
    /// Unit of a number; empty where it has none.
    pub unit: &'static str,
    /// What is taken where it is left out.
    pub default: Default,
    /// A value as it is written in the file.
    pub example: &'static str,
    /// What an example needs besides: another table of the same list, or another key.
    pub needs: &'static str,
    /// What it means, in one or two sentences.
    pub meaning: &'static str,
}

impl Key {
    /// A key that may be left out.
    #[must_use]
    pub const fn new(name: &'static str, kind: ValueKind, meaning: &'static str) -> Key {
        Key {
            name,
            kind,
            unit: "",
            default: Default::Nothing,
            example: "",
            needs: "",
            meaning,
        }
    }

    /// A text in quotes.
    #[must_use]
    pub const fn text(name: &'static str, example: &'static str, meaning: &'static str) -> Key {
        Key::new(name, ValueKind::Text, meaning).example(example)
    }

    /// A number within a range, both ends included.
    #[must_use]
    pub const fn number(
        name: &'static str,
        (low, high, unit): (f64, f64, &'static str),
        example: &'static str,
        meaning: &'static str,
    ) -> Key {
        Key {
            unit,
            ..Key::new(name, ValueKind::Number(low, high), meaning).example(example)
        }
    }

    /// A table.
    #[must_use]
    pub const fn table(name: &'static str, table: &'static Declared) -> Key {
        Key::new(name, ValueKind::Table(table), table.meaning)
    }

    /// Any number of tables.
    #[must_use]
    pub const fn tables(name: &'static str, table: &'static Declared) -> Key {
        Key::new(name, ValueKind::Tables(table), table.meaning)
    }

    /// A table, or a list of them.
    #[must_use]
    pub const fn table_or_tables(name: &'static str, table: &'static Declared) -> Key {
        Key::new(name, ValueKind::TableOrTables(table), table.meaning)
    }

    /// The same, which must be there.
    #[must_use]
    pub const fn required(self) -> Key {
        Key {
            default: Default::Required,
            ..self
        }
    }

    /// The same with the value that is taken without it.
    #[must_use]
    pub const fn or(self, default: &'static str) -> Key {
        Key {
            default: Default::Value(default),
            ..self
        }
    }

    /// The same with words for what is taken without it.
    #[must_use]
    pub const fn or_else(self, default: &'static str) -> Key {
        Key {
            default: Default::Words(default),
            ..self
        }
    }

    /// The same with an example, as written in the file.
    #[must_use]
    pub const fn example(self, example: &'static str) -> Key {
        Key { example, ..self }
    }

    /// The same with what its example needs besides.
    #[must_use]
    pub const fn needs(self, needs: &'static str) -> Key {
        Key { needs, ..self }
    }

    /// Must it be there?
    #[must_use]
    pub const fn is_required(&self) -> bool {
        matches!(self.default, Default::Required)
    }

    /// What may be written, in words.
    #[must_use]
    pub fn values(&self) -> String {
        match self.kind {
            ValueKind::Number(low, high) => {
                format!("a number, {}", range_text(&(low..=high), self.unit))
            }
            kind => kind.to_string(),
        }
    }

    /// What is taken where it is left out, in words.
    #[must_use]
    pub fn default_text(&self) -> String {
        match self.default {
            Default::Required => "none: it must be given".to_owned(),
            Default::Nothing => "none: it may be left out".to_owned(),
            Default::Value(value) if self.unit.is_empty() => value.to_owned(),
            Default::Value(value) => format!("{value} {}", self.unit),
            Default::Words(words) => words.to_owned(),
        }
    }
}
