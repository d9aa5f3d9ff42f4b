//! What may be written as a value.

use std::fmt;
use std::ops::RangeInclusive;

use super::Declared;

/// What may be written as a value.
#[derive(Clone, Copy, Debug)]
pub enum ValueKind {
    /// Any text.
    Text,
    /// A text of a certain form, or one of two kinds of value, in words.
    Form(&'static str),
    /// One of a few words.
    Word(&'static [&'static str]),
    /// A number from the one to the other.
    Number(f64, f64),
    /// A whole number from the one to the other.
    Whole(u32, u32),
    /// One of a few whole numbers.
    OneOf(&'static [u32]),
    /// `true` or `false`.
    Flag,
    /// A list of texts, in words.
    Texts(&'static str),
    /// Three whole numbers, of L1, L2 and L3.
    Triple,
    /// A table.
    Table(&'static Declared),
    /// Any number of tables.
    Tables(&'static Declared),
    /// A table, or a list of them.
    TableOrTables(&'static Declared),
    /// A text, whose form is described, or a table.
    TextOrTable(&'static str, &'static Declared),
}

impl ValueKind {
    /// The table, where it is or may be one.
    #[must_use]
    pub const fn declared(self) -> Option<&'static Declared> {
        match self {
            ValueKind::Table(table)
            | ValueKind::Tables(table)
            | ValueKind::TableOrTables(table)
            | ValueKind::TextOrTable(_, table) => Some(table),
            _ => None,
        }
    }
}

impl fmt::Display for ValueKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ValueKind::Text => f.write_str("a text"),
            ValueKind::Form(form) => f.write_str(form),
            ValueKind::Word(words) => write!(f, "one of {}", words.join(", ")),
            ValueKind::Number(low, high) => {
                write!(f, "a number, {}", range_text(&(*low..=*high), ""))
            }
            ValueKind::Whole(low, high) => write!(f, "a whole number from {low} to {high}"),
            ValueKind::OneOf(numbers) => {
                let numbers: Vec<String> = numbers.iter().map(u32::to_string).collect();
                write!(f, "one of {}", numbers.join(", "))
            }
            ValueKind::Flag => f.write_str("true or false"),
            ValueKind::Texts(of) => write!(f, "a list of {of}"),
            ValueKind::Triple => f.write_str("three whole numbers, for L1, L2 and L3"),
            ValueKind::Table(_) => f.write_str("a table"),
            ValueKind::Tables(_) => f.write_str("any number of tables"),
            ValueKind::TableOrTables(_) => f.write_str("a table, or a list of tables"),
            ValueKind::TextOrTable(form, _) => write!(f, "{form}, or a table"),
        }
    }
}

/// `at least 0 and at most 1`, `more than 0 A`, …
#[must_use]
pub fn range_text(range: &RangeInclusive<f64>, unit: &str) -> String {
    let (low, high) = (*range.start(), *range.end());
    let unit = if unit.is_empty() {
        String::new()
    } else {
        format!(" {unit}")
    };
    let low_text = if low > 0.0 && low <= f64::MIN_POSITIVE {
        "more than 0".to_owned()
    } else {
        format!("at least {low}")
    };
    if high >= f64::MAX {
        format!("{low_text}{unit}")
    } else {
        format!("{low_text} and at most {high}{unit}")
    }
}
