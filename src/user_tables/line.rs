//! The lines of a table, each with its cells and where they stand.

use message::{Place, column_letters};

/// Where a table begins in a workbook.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetStart {
    /// Name of the sheet.
    pub sheet: String,
    /// Row and column of the first used cell, from 0.
    pub start: (u32, u32),
}

/// What the places of a table have in common.
#[derive(Clone, Copy, Debug)]
struct TableSource<'t> {
    file: &'t str,
    separator: u8,
    sheet: Option<&'t SheetStart>,
}

/// The lines of a table with anything in their cells, the header first. They are read one by one: a file may be far too
/// long.
#[derive(Debug)]
pub struct Lines<'t> {
    source: TableSource<'t>,
    text: &'t str,
    reader: csv::Reader<&'t [u8]>,
    /// Number of the line up to which was counted, and the byte.
    number: usize,
    counted: usize,
}

/// One line: its cells and their places.
#[derive(Debug)]
pub struct Line<'t> {
    source: TableSource<'t>,
    /// Line of the file in which it begins, or row of the sheet, from 1.
    pub number: usize,
    text: &'t str,
    cells: csv::StringRecord,
}

/// What separates the cells of a table: a semicolon where its header has more of them than commas.
#[must_use]
pub fn list_separator(text: &str) -> u8 {
    let text = text.trim_start_matches('\u{feff}');
    let header = text.lines().find(|line| !line.trim().is_empty());
    let count = |separator| header.unwrap_or_default().matches(separator).count();
    if count(';') > count(',') { b';' } else { b',' }
}

impl<'t> Lines<'t> {
    /// Of a CSV file, or of the cells of a sheet separated by commas.
    #[must_use]
    pub fn new(file: &'t str, text: &'t str, sheet: Option<&'t SheetStart>) -> Lines<'t> {
        let separator = sheet.map_or_else(|| list_separator(text), |_| b',');
        Lines::separated(file, text, sheet, separator)
    }

    /// Of a text whose separator is known.
    pub(crate) fn separated(
        file: &'t str,
        text: &'t str,
        sheet: Option<&'t SheetStart>,
        separator: u8,
    ) -> Lines<'t> {
        let text = text.trim_start_matches('\u{feff}');
        let source = TableSource {
            file,
            separator,
            sheet,
        };
        Lines::begin(source, text)
    }

    fn begin(source: TableSource<'t>, text: &'t str) -> Lines<'t> {
        Lines {
            source,
            text,
            reader: csv::ReaderBuilder::new()
                .has_headers(false)
                .flexible(true)
                .delimiter(source.separator)
                .from_reader(text.as_bytes()),
            number: 1 + source.sheet.map_or(0, |sheet| sheet.start.0 as usize),
            counted: 0,
        }
    }

    /// All lines once more, from the header on.
    #[must_use]
    pub fn again(&self) -> Lines<'t> {
        Lines::begin(self.source, self.text)
    }

    /// A line without cells, to point at where there is none.
    #[must_use]
    pub fn none(&self) -> Line<'t> {
        Line {
            source: self.source,
            number: 1,
            text: "",
            cells: csv::StringRecord::new(),
        }
    }
}

impl<'t> Iterator for Lines<'t> {
    type Item = Line<'t>;

    fn next(&mut self) -> Option<Line<'t>> {
        let mut cells = csv::StringRecord::new();
        // Whole text in memory cannot fail to be read.
        while self.reader.read_record(&mut cells).unwrap_or(false) {
            let start = cells.position().map_or(0, csv::Position::byte) as usize;
            let rest = &self.text[start..];
            let text = rest.trim_start_matches(['\r', '\n']);
            let begin = start + rest.len() - text.len();
            self.number += self.text[self.counted..begin].matches('\n').count();
            self.counted = begin;
            if cells.iter().any(|cell| !cell.trim().is_empty()) {
                return Some(Line {
                    source: self.source,
                    number: self.number,
                    text: text.lines().next().unwrap_or_default(),
                    cells,
                });
            }
        }
        None
    }
}

impl Line<'_> {
    /// The text of the line as written; of a record over several lines the first.
    #[must_use]
    pub fn text(&self) -> &str {
        self.text
    }

    /// The cells without the blanks around them.
    pub fn cells(&self) -> impl Iterator<Item = &str> {
        self.cells.iter().map(str::trim)
    }

    /// How many cells there are.
    #[must_use]
    pub fn width(&self) -> usize {
        self.cells.len()
    }

    /// A cell, counted from 0; `None` where it is empty.
    #[must_use]
    pub fn cell(&self, cell: usize) -> Option<&str> {
        let text = self.cells.get(cell).map(str::trim);
        text.filter(|text| !text.is_empty())
    }

    /// A number as it is written in this file, with a decimal point.
    #[must_use]
    pub fn with_point(&self, number: &str) -> String {
        if self.source.separator == b';' {
            number.replace(',', ".")
        } else {
            number.to_owned()
        }
    }

    /// Is a comma in a number of this file a decimal sign?
    pub(crate) fn has_decimal_commas(&self) -> bool {
        self.source.separator == b';'
    }

    /// The place of a cell.
    #[must_use]
    pub fn place(&self, cell: usize) -> Place {
        let TableSource {
            file, separator, ..
        } = self.source;
        let place = Place::in_record(file, self.number, self.text, separator, cell);
        self.in_sheet(place, cell)
    }

    /// The whole line.
    #[must_use]
    pub fn whole(&self) -> Place {
        let place = Place::in_line(self.source.file, self.number, self.text, 0..self.text.len());
        self.in_sheet(place, 0)
    }

    /// Behind its last cell.
    #[must_use]
    pub fn end(&self) -> Place {
        let end = self.text.len();
        let place = Place::in_line(self.source.file, self.number, self.text, end..end);
        self.in_sheet(place, self.width().saturating_sub(1))
    }

    fn in_sheet(&self, mut place: Place, cell: usize) -> Place {
        if let Some(SheetStart { sheet, start }) = self.source.sheet {
            let column = column_letters(start.1 as usize + cell);
            place.cell = Some(format!("sheet `{sheet}`, cell {column}{}", self.number));
        }
        place
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_has_its_place_behind_blank_lines() {
        let text = "\u{feff}\r\na;b\n\n ; \n\"1\n;2\"; 3,5 ;\n4\n";
        let lines: Vec<Line> = Lines::new("t.csv", text, None).collect();
        let numbers: Vec<usize> = lines.iter().map(|line| line.number).collect();
        assert_eq!(numbers, [2, 5, 7]);
        let number = lines[1].cell(1).map(|text| lines[1].with_point(text));
        assert_eq!(number.as_deref(), Some("3.5"));
        assert_eq!((lines[1].cell(2), lines[2].cell(1)), (None, None));
        assert_eq!(lines[2].end(), Place::in_line("t.csv", 7, "4", 1..1));
    }

    #[test]
    fn separators_within_quotes_separate_no_cells_of_a_sheet() {
        let sheet = SheetStart {
            sheet: "list".to_owned(),
            start: (3, 1),
        };
        let mut lines = Lines::new("t.xlsx", "a,b,c\na,\"b;,c\",d\n", Some(&sheet)).skip(1);
        let place = lines.next().map(|line| line.place(2));
        let cell = place.and_then(|place| place.cell);
        assert_eq!(cell.as_deref(), Some("sheet `list`, cell D5"));
    }
}
