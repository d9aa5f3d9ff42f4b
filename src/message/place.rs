//! A place in a file.

use std::fmt;
use std::ops::Range;

use schemars::JsonSchema;
use serde::Serialize;

/// A stretch of one line of a file, with the line itself, so that it can be drawn without the file.
#[derive(Clone, Debug, PartialEq, Eq, JsonSchema, Serialize)]
pub struct Place {
    /// The file as the user knows it, relative to the site folder if it is inside.
    pub file: String,
    /// Line, from 1; 0 where the whole file is meant.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Sheet and cell, where the file is a spreadsheet; the line is then its row.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cell: Option<String>,
    /// Number of the cell within its row from 0, where the file is a table of text.
    #[serde(skip)]
    pub field: Option<usize>,
    /// The line's text, shortened if it is very long.
    #[serde(skip)]
    pub text: String,
    /// Byte range within `text`.
    #[serde(skip)]
    pub span: Range<usize>,
}

/// Lines longer than this are cut for display, around the cell in question.
const LONGEST_LINE: usize = 160;

impl Place {
    /// The file as a whole.
    pub fn file(file: impl Into<String>) -> Self {
        Place {
            file: file.into(),
            line: 0,
            column: 0,
            cell: None,
            field: None,
            text: String::new(),
            span: 0..0,
        }
    }

    /// A byte range of a whole text; only its first line is drawn.
    pub fn in_text(file: impl Into<String>, text: &str, span: Range<usize>) -> Self {
        let start = floor_boundary(text, span.start);
        let end = floor_boundary(text, span.end.max(start));
        let line_start = text[..start].rfind('\n').map_or(0, |at| at + 1);
        let line_end = text[start..].find('\n').map_or(text.len(), |at| start + at);
        let line = text[..start].matches('\n').count() + 1;
        Place::in_line(
            file,
            line,
            text[line_start..line_end].trim_end_matches('\r'),
            start - line_start..end.min(line_end) - line_start,
        )
    }

    /// A byte range of one line.
    pub fn in_line(file: impl Into<String>, line: usize, text: &str, span: Range<usize>) -> Self {
        let start = floor_boundary(text, span.start);
        let end = floor_boundary(text, span.end.max(start));
        let column = text[..start].chars().count() + 1;
        let (text, span) = shortened(text, start..end);
        Place {
            file: file.into(),
            line,
            column,
            cell: None,
            field: None,
            text,
            span,
        }
    }

    /// A cell of a separated record, counted from 0; quotes are honoured.
    pub fn in_record(
        file: impl Into<String>,
        line: usize,
        text: &str,
        separator: u8,
        cell: usize,
    ) -> Self {
        let mut place = Place::in_line(file, line, text, cell_span(text, separator, cell));
        place.field = Some(cell);
        place
    }

    /// What stands at the place; `None` where nothing does.
    pub(crate) fn found(&self) -> Option<&str> {
        self.text
            .get(self.span.clone())
            .map(str::trim)
            .filter(|found| !found.is_empty())
    }
}

/// File, row and column as a spreadsheet names them; a file that is no table has lines.
impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        match (&self.cell, self.field) {
            (Some(cell), _) => write!(f, ", {cell}"),
            _ if self.line == 0 => Ok(()),
            (None, Some(field)) => {
                write!(f, ", row {}, column {}", self.line, column_letters(field))
            }
            (None, None) => write!(f, ", line {}", self.line),
        }
    }
}

/// Name of a column in a spreadsheet, counted from 0: A to Z, AA …
#[must_use]
pub fn column_letters(column: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = column + 1;
    while rest > 0 {
        rest -= 1;
        letters.push(char::from(b'A' + (rest % 26) as u8));
        rest /= 26;
    }
    letters.iter().rev().collect()
}

/// The largest character boundary not above `at`.
fn floor_boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Control characters, and the marks that turn the direction of writing.
pub(super) fn is_harmful(c: char) -> bool {
    c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Harmful characters become blanks of the same width: they must reach no terminal.
fn printable(text: &str) -> String {
    text.chars()
        .flat_map(|c| {
            let blanks = if is_harmful(c) { c.len_utf8() } else { 0 };
            std::iter::repeat_n(' ', blanks).chain((blanks == 0).then_some(c))
        })
        .collect()
}

fn shortened(text: &str, span: Range<usize>) -> (String, Range<usize>) {
    if text.len() <= LONGEST_LINE {
        return (printable(text), span);
    }
    let from = floor_boundary(text, span.start.saturating_sub(LONGEST_LINE / 2));
    let to = floor_boundary(text, from + LONGEST_LINE);
    let end = span.end.min(to).max(span.start);
    (printable(&text[from..to]), span.start - from..end - from)
}

/// Byte range of a cell, without surrounding blanks; empty at the end of a short record.
fn cell_span(text: &str, separator: u8, cell: usize) -> Range<usize> {
    let bytes = text.as_bytes();
    let (mut start, mut index, mut quoted) = (0, 0, false);
    for (at, &byte) in bytes.iter().enumerate() {
        if byte == b'"' {
            quoted = !quoted;
        } else if byte == separator && !quoted {
            if index == cell {
                return trimmed(text, start..at);
            }
            index += 1;
            start = at + 1;
        }
    }
    if index == cell {
        trimmed(text, start..bytes.len())
    } else {
        bytes.len()..bytes.len()
    }
}

fn trimmed(text: &str, span: Range<usize>) -> Range<usize> {
    let cell = &text[span.clone()];
    let lead = cell.len() - cell.trim_start().len();
    let inner = cell.trim().len();
    span.start + lead..span.start + lead + inner
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_of_a_text_becomes_line_and_column() {
        let place = Place::in_text("a.toml", "one\ntwö = 3\n", 11..12);
        assert_eq!((place.line, place.column), (2, 7));
        assert_eq!(&place.text[place.span.clone()], "3");
    }

    #[test]
    fn cells_are_found_through_quotes() {
        let place = Place::in_record("m.csv", 4, "saw, \"a,b\" ,7", b',', 1);
        assert_eq!(&place.text[place.span.clone()], "\"a,b\"");
        let place = Place::in_record("m.csv", 4, "saw,x", b',', 5);
        assert!(place.span.is_empty());
    }

    #[test]
    fn long_lines_are_cut_around_the_cell() {
        let line = format!("{},here,{}", "x".repeat(500), "y".repeat(500));
        let place = Place::in_record("m.csv", 1, &line, b',', 1);
        assert_eq!(&place.text[place.span.clone()], "here");
        assert!(place.text.len() <= LONGEST_LINE);
        assert_eq!(place.column, 502);
    }

    #[test]
    fn columns_are_named_as_a_spreadsheet_names_them() {
        let names = [0, 25, 26, 51, 52, 701, 702].map(column_letters);
        assert_eq!(names, ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]);
        let place = Place::in_record("m.csv", 4, "saw,7", b',', 1);
        assert_eq!(place.to_string(), "m.csv, row 4, column B");
        let place = Place::in_text("site.toml", "a = 1\nb = 2\n", 6..7);
        assert_eq!(place.to_string(), "site.toml, line 2");
        assert_eq!(Place::file("m.csv").to_string(), "m.csv");
    }

    #[test]
    fn control_characters_do_not_survive() {
        let place = Place::in_line("m.csv", 1, "a\u{1b}[31mb", 0..1);
        assert_eq!(place.text, "a [31mb");
    }
}
