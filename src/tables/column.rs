//! The heading of a column, the type of its values and where it is shown.

use std::borrow::Cow;

use units::FigureKind;

/// Where a column is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Output {
    /// A terminal.
    Text,
    /// Comma-separated values for programs.
    Csv,
    /// A sheet of a workbook.
    Workbook,
    /// A page.
    Html,
}

/// Shown in every output.
pub const EVERYWHERE: &[Output] = &[Output::Text, Output::Csv, Output::Workbook, Output::Html];
/// Not in the CSV.
pub const PEOPLE: &[Output] = &[Output::Text, Output::Workbook, Output::Html];
/// In files; not in terminal and page, where it would be too wide.
pub const FILES: &[Output] = &[Output::Csv, Output::Workbook];
/// In terminal and page.
pub const PAGES: &[Output] = &[Output::Text, Output::Html];
/// For programs alone.
pub const CSV: &[Output] = &[Output::Csv];

/// The type of the values in a column, which decides how they are shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ColumnKind {
    /// Words, times, yes and no: to the left.
    Words,
    /// A quantity with its digits and its unit.
    Number(FigureKind),
    /// Numbers of a unit with fixed decimals.
    Fixed(usize, Cow<'static, str>),
    /// Numbers of a unit with their own digits: counts, limits, prices.
    Exact(Cow<'static, str>),
}

/// The type of a column in a Parquet file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StoredAs {
    /// A text.
    Text,
    /// A number.
    Number,
    /// Milliseconds of UTC.
    Moment,
    /// Days.
    Date,
    /// True or false.
    YesNo,
}

/// A column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Name for programs; empty where no program reads it.
    pub key: &'static str,
    /// Head for people, without its unit.
    pub head: Cow<'static, str>,
    /// The type of its values.
    pub kind: ColumnKind,
    /// A positive number carries its sign.
    pub is_signed: bool,
    /// Left out of terminal and page where every row is empty or unknown.
    pub is_optional: bool,
    /// Cells are sentences: on a page names in backticks are in quotation marks.
    pub has_sentences: bool,
    /// Where it is shown.
    pub shown_in: &'static [Output],
    /// Its type in a Parquet file, whatever its rows hold; `None`: as its cells are.
    pub stored_as: Option<StoredAs>,
}

/// A column of words, times, dates, yes and no.
pub fn words(head: impl Into<Cow<'static, str>>) -> Column {
    Column {
        key: "",
        head: head.into(),
        kind: ColumnKind::Words,
        is_signed: false,
        is_optional: false,
        has_sentences: false,
        shown_in: EVERYWHERE,
        stored_as: None,
    }
}

/// A column of a quantity.
pub fn number(head: impl Into<Cow<'static, str>>, quantity: FigureKind) -> Column {
    Column {
        kind: ColumnKind::Number(quantity),
        ..words(head)
    }
}

/// A column of numbers with their own digits; without a unit where it is empty.
pub fn exact(head: impl Into<Cow<'static, str>>, unit: impl Into<Cow<'static, str>>) -> Column {
    Column {
        kind: ColumnKind::Exact(unit.into()),
        ..words(head)
    }
}

/// A column of numbers with fixed decimals.
pub fn fixed(
    head: impl Into<Cow<'static, str>>,
    unit: impl Into<Cow<'static, str>>,
    decimals: usize,
) -> Column {
    Column {
        kind: ColumnKind::Fixed(decimals, unit.into()),
        ..words(head)
    }
}

/// A column of amounts of money, in the currency where one is named.
pub fn money(head: impl Into<Cow<'static, str>>, currency: Option<&str>) -> Column {
    fixed(head, currency.unwrap_or_default().to_owned(), 2)
}

impl Column {
    /// With a sign also where a number is positive.
    #[must_use]
    pub fn signed(self) -> Column {
        Column {
            is_signed: true,
            ..self
        }
    }

    /// Left out of terminal and page where every row is empty or unknown.
    #[must_use]
    pub fn optional(self) -> Column {
        Column {
            is_optional: true,
            ..self
        }
    }

    /// Its cells are sentences, in which names may be in backticks.
    #[must_use]
    pub fn sentences(self) -> Column {
        Column {
            has_sentences: true,
            ..self
        }
    }

    /// Of this type in a Parquet file, also where no cell is known: files of several results then fit together.
    #[must_use]
    pub fn stored_as(self, stored_as: StoredAs) -> Column {
        Column {
            stored_as: Some(stored_as),
            ..self
        }
    }

    /// Shown there only.
    #[must_use]
    pub fn only(self, shown_in: &'static [Output]) -> Column {
        Column { shown_in, ..self }
    }

    /// Are the cells numbers, aligned to the right?
    #[must_use]
    pub fn is_number(&self) -> bool {
        self.kind != ColumnKind::Words
    }

    /// Decimals of its numbers; `None` where they are shown with their own digits.
    #[must_use]
    pub fn decimals(&self) -> Option<usize> {
        match &self.kind {
            ColumnKind::Number(quantity) => Some(quantity.decimals()),
            ColumnKind::Fixed(decimals, _) => Some(*decimals),
            ColumnKind::Words | ColumnKind::Exact(_) => None,
        }
    }

    /// Head with the unit in square brackets.
    #[must_use]
    pub fn heading(&self) -> String {
        let unit = match &self.kind {
            ColumnKind::Words => "",
            ColumnKind::Number(quantity) => quantity.unit(),
            ColumnKind::Fixed(_, unit) | ColumnKind::Exact(unit) => unit,
        };
        if unit.is_empty() {
            self.head.clone().into_owned()
        } else {
            format!("{} [{unit}]", self.head)
        }
    }
}
