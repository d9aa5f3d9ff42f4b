//! The lines above the rows of a log: what comes before the header, the header, a row of units.

use std::collections::HashSet;

use super::guess::known;
use crate::header::dialect::{Dialect, read_cell};
use formats::column_unit;
use site::Meter;

/// How many lines may come before the header.
const LONGEST_PREAMBLE: usize = 60;
/// How many lines show how wide the table is.
const LINES_SEEN: usize = 200;
/// Usual headings of a column of times.
pub(crate) const TIME_WORDS: [&str; 5] = ["time", "timestamp", "datetime", "date time", "date"];

/// Names and units of the columns, and their lines.
#[derive(Clone, Debug, Default)]
pub(crate) struct Header {
    /// Line of the names, from 1.
    pub(crate) line: usize,
    /// That line.
    pub(crate) text: String,
    pub(crate) names: Vec<String>,
    /// The row of units under the names: its line, from 1, its text and its cells.
    pub(crate) units: Option<(usize, String, Vec<String>)>,
    /// Lines before the first row.
    pub(crate) lines_before: usize,
    /// Bytes before the first row.
    pub(crate) bytes_before: usize,
}

impl Header {
    /// Finds the names in the beginning of a log; `None` where it is empty.
    pub(crate) fn find(text: &str, dialect: &Dialect, meters: &[&Meter]) -> Option<Header> {
        let lines = HeaderLine::all(text);
        let width = usual_width(&lines, dialect);
        if meters.first().is_some_and(|meter| !meter.header) {
            let first = lines.iter().find(|line| !line.text.trim().is_empty())?;
            let cells = names_of(first.text, dialect).len();
            return Some(Header {
                line: 1,
                text: first.text.to_owned(),
                names: (1..=cells.max(width))
                    .map(|number| number.to_string())
                    .collect(),
                ..Header::default()
            });
        }
        let at = names_line(&lines, dialect, meters, width)?;
        let named = &lines[at];
        let mut header = Header {
            line: named.number,
            text: named.text.to_owned(),
            names: names_of(named.text, dialect),
            units: None,
            lines_before: named.number,
            bytes_before: named.end,
        };
        let below = lines[at + 1..]
            .iter()
            .find(|line| !line.text.trim().is_empty());
        if let Some(below) = below.filter(|line| are_units(line.text, dialect)) {
            header.units = Some((
                below.number,
                below.text.to_owned(),
                names_of(below.text, dialect),
            ));
            header.lines_before = below.number;
            header.bytes_before = below.end;
        }
        Some(header)
    }

    /// What the row of units says of a column.
    pub(crate) fn unit(&self, cell: usize) -> Option<&str> {
        let (.., units) = self.units.as_ref()?;
        let unit = units.get(cell)?.as_str();
        (!matches!(unit, "" | "-" | "[]" | "[-]")).then_some(unit)
    }

    #[cfg(test)]
    pub(super) fn of_names(names: &[&str]) -> Header {
        Header {
            names: names.iter().map(|&name| name.to_owned()).collect(),
            ..Header::default()
        }
    }
}

/// A line of the beginning.
struct HeaderLine<'t> {
    /// From 1.
    number: usize,
    text: &'t str,
    /// Bytes from the start of the log to the end of the line.
    end: usize,
}

impl HeaderLine<'_> {
    fn all(text: &str) -> Vec<HeaderLine<'_>> {
        let mut end = 0;
        let lines = text.split_inclusive('\n').take(LINES_SEEN).enumerate();
        lines
            .map(|(index, line)| {
                end += line.len();
                HeaderLine {
                    number: index + 1,
                    text: line.trim_end_matches(['\n', '\r']),
                    end,
                }
            })
            .collect()
    }
}

/// The cells of a line, trimmed.
pub(crate) fn names_of(line: &str, dialect: &Dialect) -> Vec<String> {
    dialect
        .split(line.trim_end_matches('\r').as_bytes())
        .iter()
        .map(|cell| String::from_utf8_lossy(cell).trim().to_owned())
        .collect()
}

/// The number of cells that most lines have.
fn usual_width(lines: &[HeaderLine<'_>], dialect: &Dialect) -> usize {
    let mut widths: Vec<usize> = lines
        .iter()
        .filter(|line| !line.text.trim().is_empty())
        .map(|line| dialect.split(line.text.as_bytes()).len())
        .collect();
    widths.sort_unstable();
    let runs = widths.chunk_by(|a, b| a == b);
    runs.max_by_key(|run| (run.len(), run[0]))
        .map_or(0, |run| run[0])
}

/// The line with most of the declared columns, or of the known ones where none is declared. Among
/// equals, the first that is as wide as the rows.
fn names_line(
    lines: &[HeaderLine<'_>],
    dialect: &Dialect,
    meters: &[&Meter],
    width: usize,
) -> Option<usize> {
    let declared: Vec<&str> = meters.iter().flat_map(|meter| declared(meter)).collect();
    let undeclared = meters.iter().any(|meter| meter.columns.is_empty());
    let mut best: Option<(usize, bool, usize)> = None;
    for (index, line) in lines.iter().take(LONGEST_PREAMBLE).enumerate() {
        if line.text.trim().is_empty() {
            continue;
        }
        let names = names_of(line.text, dialect);
        let here: HashSet<&str> = names.iter().map(String::as_str).collect();
        let mut hits = declared.iter().filter(|name| here.contains(*name)).count();
        if undeclared {
            let is_known = |name: &&String| {
                known(name)
                    || TIME_WORDS
                        .iter()
                        .any(|word| name.eq_ignore_ascii_case(word))
            };
            hits += names.iter().filter(is_known).count();
        }
        let fits = names.len() >= width;
        if best.is_none_or(|(most, fit, _)| (hits, fits) > (most, fit)) {
            best = Some((hits, fits, index));
        }
    }
    best.map(|(.., index)| index)
}

/// The columns that a meter names.
fn declared(meter: &Meter) -> impl Iterator<Item = &str> {
    let columns = meter.columns.iter().map(|column| column.column.as_str());
    let times = meter.time.columns.iter().map(String::as_str);
    times.chain(columns)
}

/// A row of units: at least one that is known, and neither a number nor a time.
fn are_units(line: &str, dialect: &Dialect) -> bool {
    let cells = names_of(line, dialect);
    let known = cells
        .iter()
        .any(|cell| column_unit::parse(cell).is_some() && cell != "1");
    let other = cells.iter().any(|cell| {
        let number = read_cell(cell.as_bytes(), dialect, &[]).number().is_some();
        let dated = cell.bytes().filter(u8::is_ascii_digit).count() > 3;
        number && cell != "1" || dated
    });
    known && !other
}
