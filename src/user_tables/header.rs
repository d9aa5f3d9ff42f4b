//! What the words of a header mean: which column, in which unit.

use super::number::WrittenUnit;
use declaration::{Declared, Key, ValueKind};

/// The columns that a table may have, and the words that people write for them.
#[derive(Clone, Copy, Debug)]
pub struct TableWords<'w> {
    /// Columns by their own names.
    pub declared: &'w [&'static Declared],
    /// Further words in small letters, without punctuation and unit.
    pub words: &'w [(&'static str, &'w [&'static str])],
    /// Which column a quantity is in by its unit; [`BY_UNIT`](Self::BY_UNIT) is the column of all of them in `words`.
    pub by_unit: &'w [(&'static str, &'static str)],
    /// Words of this site for a column.
    pub of_site: &'w [(String, &'static str)],
    /// The column that every header has; a line with it and one more is the header.
    pub key: &'static str,
    /// A row that begins with a word for total and has no such cell is a total.
    pub not_in_total: &'static str,
}

/// A column as it was understood.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeaderMeaning {
    /// Declared name, or [`TableWords::BY_UNIT`].
    pub column: &'static str,
    /// Unit in the header.
    pub unit: Option<WrittenUnit>,
}

impl TableWords<'_> {
    /// Stands for the columns whose unit decides which of them it is.
    pub const BY_UNIT: &'static str = "rating";

    /// The declared column.
    #[must_use]
    pub fn key_of(&self, column: &str) -> Option<&'static Key> {
        self.declared.iter().find_map(|list| list.find(column))
    }

    /// The column that a header cell names.
    #[must_use]
    pub fn meaning(&self, header: &str) -> Option<HeaderMeaning> {
        if let Some(key) = self.key_of(header) {
            return Some(HeaderMeaning {
                column: key.name,
                unit: None,
            });
        }
        let words = words_of(header);
        if words.is_empty() {
            return None;
        }
        let whole = words.join(" ");
        let unit = words.last().and_then(|word| WrittenUnit::of_word(word));
        // `A` may be a phase or a unit: all of a header comes first.
        let plain = self.column_of(&whole, false).map(|column| (column, None));
        let (column, unit) = plain.or_else(|| {
            let (_, name) = unit.and(words.split_last())?;
            Some((self.column_of(&name.join(" "), true)?, unit))
        })?;
        if column != Self::BY_UNIT {
            return Some(HeaderMeaning { column, unit });
        }
        let of_unit = unit.map(|unit| self.column_of_unit(unit));
        Some(HeaderMeaning {
            column: of_unit.unwrap_or(Some(column))?,
            unit,
        })
    }

    /// Which of the columns that their unit tells apart has a unit.
    pub(crate) fn column_of_unit(&self, unit: WrittenUnit) -> Option<&'static str> {
        let mut columns = self.by_unit.iter();
        columns
            .find(|(of, _)| *of == unit.of)
            .map(|(_, column)| *column)
    }

    /// With a unit behind it a name is that of a number.
    fn column_of(&self, name: &str, has_unit: bool) -> Option<&'static str> {
        let fits = |column: &str| {
            let kind = self.key_of(column).map(|key| key.kind);
            !has_unit || kind.is_none_or(|kind| matches!(kind, ValueKind::Number(..)))
        };
        let known = |(column, words): &(&'static str, &[&str])| {
            (words.contains(&name) && fits(column)).then_some(*column)
        };
        let of_site = self.of_site.iter().find(|(word, _)| word == name);
        of_site
            .map(|(_, column)| *column)
            .or_else(|| self.words.iter().find_map(known))
            .or_else(|| {
                let declared = self.declared.iter().flat_map(|list| list.keys);
                let mut same = declared.filter(|key| key.name.replace('_', " ") == name);
                same.next().map(|key| key.name)
            })
    }
}

/// The words of a header in small letters, without punctuation.
fn words_of(header: &str) -> Vec<String> {
    let lower = header.to_lowercase();
    lower
        .replace(['φ', 'ϕ'], "phi")
        .replace('²', "2")
        .split(|c: char| !c.is_alphanumeric() && !"%#".contains(c))
        .filter(|word| !word.is_empty())
        .flat_map(|word| match word.strip_suffix('%') {
            Some(name) if !name.is_empty() => vec![name.to_owned(), "%".to_owned()],
            _ => vec![word.to_owned()],
        })
        .collect()
}
