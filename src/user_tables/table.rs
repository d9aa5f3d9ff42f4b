//! A table as people write it: a title above the header, units below it, totals at its end.

use std::collections::BTreeSet;

use super::header::TableWords;
use super::number::WrittenUnit;
use super::{Line, Lines, NamedColumns, SheetStart, Understood, list_separator};

/// Lines among which the header is looked for.
const MOST_LINES_ABOVE: usize = 20;

/// Where the text of a table comes from.
#[derive(Clone, Copy, Debug)]
pub struct TableText<'t> {
    /// Name of the file.
    pub file: &'t str,
    /// Its text, or that of a sheet.
    pub text: &'t str,
    /// The sheet of a workbook.
    pub sheet: Option<&'t SheetStart>,
}

/// A table with its header.
#[derive(Debug)]
pub struct WrittenTable<'t> {
    /// Its columns.
    pub columns: NamedColumns<'t>,
    lines: Lines<'t>,
    /// Lines up to the first row.
    above: usize,
    /// Totals and examples.
    no_rows: BTreeSet<usize>,
    /// What is not read as a row, each with its number and the reason.
    pub left_out: Vec<String>,
}

impl<'t> WrittenTable<'t> {
    /// Finds the header; `None` where there is no line at all.
    #[must_use]
    pub fn read(
        source: TableText<'t>,
        words: &TableWords<'_>,
        row_is: &'static str,
    ) -> Option<WrittenTable<'t>> {
        let usual = source
            .sheet
            .map_or_else(|| list_separator(source.text), |_| b',');
        let others = [b',', b';', b'\t'];
        let mut best = (usual, 0, 0);
        for separator in [usual].into_iter().chain(others) {
            if source.sheet.is_some() && separator != usual {
                continue;
            }
            let (at, known) = find_header(source.lines(separator), words);
            if known > best.2 {
                best = (separator, at, known);
            }
        }
        let (separator, at, _) = best;
        let mut lines = source.lines(separator);
        let mut left_out: Vec<String> = Vec::new();
        for title in lines.by_ref().take(at) {
            left_out.push(format!("row {}, above the header", title.number));
        }
        let header = lines.next()?;
        let units = lines.again().nth(at + 1).filter(is_units);
        if let Some(units) = &units {
            left_out.push(format!("row {}, units", units.number));
        }
        let columns = NamedColumns::understood(header, units.as_ref(), words, row_is);
        let mut table = WrittenTable {
            columns,
            above: at + 1 + usize::from(units.is_some()),
            lines,
            no_rows: BTreeSet::new(),
            left_out,
        };
        let not_in_total = table.columns.get(words.not_in_total);
        let is_total = |line: &Line<'_>| {
            begins_as_total(line) && not_in_total.is_none_or(|cell| line.cell(cell).is_none())
        };
        let no_rows: Vec<(usize, &str)> = table
            .rows()
            .filter_map(|line| {
                let what = if is_example(&line) {
                    "an example"
                } else {
                    is_total(&line).then_some("a total")?
                };
                Some((line.number, what))
            })
            .collect();
        let shown = no_rows.iter();
        let shown = shown.map(|(number, what)| format!("row {number}, {what}"));
        table.left_out.extend(shown);
        table.no_rows = no_rows.into_iter().map(|(number, _)| number).collect();
        Some(table)
    }

    /// The rows below the header, from the first on.
    pub fn rows(&self) -> impl Iterator<Item = Line<'t>> + '_ {
        let rows = self.lines.again().skip(self.above);
        rows.filter(|line| !self.no_rows.contains(&line.number))
    }

    /// How it was understood so far: its columns and what was left out.
    #[must_use]
    pub fn understood(&self, source: TableText<'_>) -> Understood {
        let of_sheet = |sheet: &SheetStart| format!("{}, sheet `{}`", source.file, sheet.sheet);
        let columns = self.columns.in_other_words().map(|(header, meaning)| {
            let unit = meaning.unit.map(WrittenUnit::shown);
            let column = match unit {
                Some(unit) => format!("{}, in {unit}", meaning.column),
                None => meaning.column.to_owned(),
            };
            (header.to_owned(), column)
        });
        Understood {
            file: source
                .sheet
                .map_or_else(|| source.file.to_owned(), of_sheet),
            columns: columns.collect(),
            words: Vec::new(),
            left_out: self.left_out.clone(),
        }
    }

    /// How many columns of a text's header are known, at most: 0 of a text that is no such table.
    #[must_use]
    pub fn likeness(source: TableText<'t>, words: &TableWords<'_>) -> usize {
        WrittenTable::read(source, words, "a row").map_or(0, |table| {
            let cells = 0..table.columns.header.width();
            cells
                .filter(|&cell| table.columns.meaning(cell).is_some())
                .count()
        })
    }
}

impl<'t> TableText<'t> {
    fn lines(self, separator: u8) -> Lines<'t> {
        Lines::separated(self.file, self.text, self.sheet, separator)
    }
}

/// Which line is the header, and how many of its cells are known; the first line where none is.
fn find_header(lines: Lines<'_>, words: &TableWords<'_>) -> (usize, usize) {
    let known = |line: &Line<'_>| {
        let meanings: Vec<&str> = line
            .cells()
            .filter_map(|cell| words.meaning(cell))
            .map(|meaning| meaning.column)
            .collect();
        let is_header = meanings.len() >= 2 && meanings.contains(&words.key);
        if is_header { meanings.len() } else { 0 }
    };
    let lines = lines.take(MOST_LINES_ABOVE).enumerate();
    let mut found = lines.map(|(at, line)| (at, known(&line)));
    found.find(|(_, known)| *known > 0).unwrap_or((0, 0))
}

/// Does a line hold nothing but units?
fn is_units(line: &Line<'_>) -> bool {
    let mut filled = line.cells().filter(|cell| !cell.is_empty());
    let is_unit = |cell: &str| {
        let nothing = ["-", "–", "—", "(-)", "[-]"].contains(&cell);
        nothing || WrittenUnit::of_word(cell).is_some()
    };
    let any = line
        .cells()
        .any(|cell| WrittenUnit::of_word(cell).is_some());
    any && filled.all(is_unit)
}

/// Does a row show how to fill in the others?
fn is_example(line: &Line<'_>) -> bool {
    let first = line.cells().find(|cell| !cell.is_empty());
    first.is_some_and(|cell| cell.to_lowercase().starts_with("example:"))
}

/// Does its first filled cell say that it adds up the rows above?
fn begins_as_total(line: &Line<'_>) -> bool {
    let mut filled = line.cells().filter(|cell| !cell.is_empty());
    let first = filled.next().unwrap_or_default().to_lowercase();
    let word = first
        .split(|c: char| !c.is_alphanumeric() && c != 'Σ' && c != 'σ')
        .find(|word| !word.is_empty());
    word.is_some_and(|word| ["total", "totals", "sum", "subtotal", "σ"].contains(&word))
        || first.starts_with("sub-total")
        || first.starts_with("sub total")
        || first.starts_with("grand total")
}
