//! Sheets of a site kept in one workbook, and their columns.

/// How a cell is written in site.toml.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SheetValue {
    /// In quotation marks.
    Text,
    /// As a number.
    Number,
    /// `true` or `false`, from yes or no.
    YesNo,
}

/// A column of a sheet, or a row of the sheet `Supply`.
#[derive(Clone, Copy, Debug)]
pub struct SheetColumn {
    /// What is written above it, with its unit.
    pub header: &'static str,
    /// Key of site.toml; one within a table has its name before a point.
    pub key: &'static str,
    /// How it is written there.
    pub value: SheetValue,
    /// The header in small letters, without punctuation and unit.
    pub words: &'static [&'static str],
    /// Of an example.
    pub example: &'static str,
    /// Note for the user.
    pub note: &'static str,
    /// What may be chosen; empty: anything.
    pub choices: &'static [&'static str],
}

/// A sheet and the table of site.toml that each of its rows stands for.
#[derive(Clone, Copy, Debug)]
pub struct SiteSheet {
    /// Name of the sheet.
    pub name: &'static str,
    /// Table of site.toml.
    pub table: &'static str,
    /// What a row is, for messages.
    pub row_is: &'static str,
    /// Its columns, the one that every row has first.
    pub columns: &'static [SheetColumn],
}

pub(super) const fn column(
    header: &'static str,
    key: &'static str,
    words: &'static [&'static str],
    example: &'static str,
    note: &'static str,
) -> SheetColumn {
    SheetColumn {
        header,
        key,
        value: SheetValue::Text,
        words,
        example,
        note,
        choices: &[],
    }
}

impl SheetColumn {
    pub(super) const fn number(self) -> SheetColumn {
        SheetColumn {
            value: SheetValue::Number,
            ..self
        }
    }

    pub(super) const fn choices(self, choices: &'static [&'static str]) -> SheetColumn {
        SheetColumn { choices, ..self }
    }
}
