//! The machine list as a grid of cells: read with its text, and written so that what nobody changed stays as it was.

/// A list of machines as it lies in the file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct ListGrid {
    separator: u8,
    ending: &'static str,
    pub(crate) header: Vec<String>,
    header_text: String,
    /// How many of the columns, the last ones, the file does not have.
    added: usize,
    pub(crate) rows: Vec<ListedRow>,
}

/// One row: its cells, and the text that they were read from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct ListedRow {
    pub(crate) cells: Vec<String>,
    text: String,
}

impl ListedRow {
    /// A row that was typed.
    pub(crate) fn of_cells(cells: Vec<String>) -> ListedRow {
        ListedRow {
            cells,
            text: String::new(),
        }
    }
}

/// Columns that a list begins with here, and that can be filled in where one has them not.
const USUAL_COLUMNS: [&str; 9] = [
    "machine",
    "circuit",
    "connection",
    "power_kw",
    "power_factor",
    "utilisation_factor",
    "schedule",
    "quantity",
    "movable",
];

impl ListGrid {
    /// A list without machines.
    pub(crate) fn new() -> ListGrid {
        let header = USUAL_COLUMNS.map(str::to_owned).to_vec();
        ListGrid {
            separator: b',',
            ending: "\n",
            header_text: format!("{}\n", USUAL_COLUMNS.join(",")),
            header,
            added: 0,
            rows: Vec::new(),
        }
    }

    /// Reads a list whose first row names its columns; `None`: it has titles above them, or is no such table.
    pub(crate) fn read(text: &str) -> Option<ListGrid> {
        let first = text.lines().next()?;
        let count = |separator: u8| first.bytes().filter(|byte| *byte == separator).count();
        let separator = [b',', b';', b'\t']
            .into_iter()
            .max_by_key(|&separator| count(separator))?;
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(separator)
            .from_reader(text.as_bytes());
        let mut rows = Vec::new();
        let mut starts = Vec::new();
        for record in reader.records() {
            let record = record.ok()?;
            // The rest of a line end, and empty lines, belong to the row before.
            let mut start = record.position()?.byte() as usize;
            while matches!(text.as_bytes().get(start), Some(b'\r' | b'\n')) {
                start += 1;
            }
            starts.push(start);
            rows.push(record.iter().map(str::to_owned).collect::<Vec<String>>());
        }
        starts.push(text.len());
        let mut all = rows
            .into_iter()
            .zip(starts.windows(2))
            .map(|(cells, place)| ListedRow {
                cells,
                text: text[place[0]..place[1]].to_owned(),
            });
        let header = all.next()?;
        let names: Vec<String> = header
            .cells
            .iter()
            .map(|cell| cell.trim_start_matches('\u{feff}').to_owned())
            .collect();
        let list = ListGrid {
            separator,
            ending: if first.len() < text.len() && text.as_bytes().get(first.len()) == Some(&b'\r')
            {
                "\r\n"
            } else {
                "\n"
            },
            header_text: header.text,
            header: names,
            added: 0,
            rows: all.collect(),
        };
        list.name_column().map(|_| list)
    }

    /// The column that names a machine.
    pub(crate) fn name_column(&self) -> Option<usize> {
        self.header
            .iter()
            .position(|name| name.trim().eq_ignore_ascii_case("machine"))
    }

    /// With empty columns for what the file says nothing of.
    pub(crate) fn with_usual_columns(mut self) -> ListGrid {
        for name in USUAL_COLUMNS {
            let is_it = |known: &String| known.trim().eq_ignore_ascii_case(name);
            if !self.header.iter().any(is_it) {
                self.header.push(name.to_owned());
                self.added += 1;
            }
        }
        self
    }

    /// The same list with other rows; those with cells as before keep their text.
    pub(crate) fn with_rows(&self, rows: Vec<Vec<String>>) -> ListGrid {
        let mut left: Vec<Option<&ListedRow>> = self.rows.iter().map(Some).collect();
        let rows = rows
            .into_iter()
            .map(|cells| {
                let is_it = |row: &&mut Option<&ListedRow>| {
                    row.is_some_and(|row| is_same(&row.cells, &cells))
                };
                let same = left.iter_mut().find(is_it).and_then(Option::take);
                same.cloned().unwrap_or_else(|| ListedRow::of_cells(cells))
            })
            .collect();
        ListGrid {
            rows,
            ..self.clone()
        }
    }

    /// The text of the file, and the line on which each row begins, from 1. A column that the file has not is written
    /// once a row has a word in it.
    pub(crate) fn write(&self) -> (String, Vec<usize>) {
        let own = self.header.len() - self.added;
        let is_filled = |column: &usize| {
            let cells = self.rows.iter().filter_map(|row| row.cells.get(*column));
            *column < own || cells.into_iter().any(|cell| !cell.trim().is_empty())
        };
        let columns: Vec<usize> = (0..self.header.len()).filter(is_filled).collect();
        let is_wider = columns.len() > own;
        let chosen = |cells: &[String]| -> Vec<String> {
            columns
                .iter()
                .map(|&column| cells.get(column).cloned().unwrap_or_default())
                .collect()
        };
        let mut text = if is_wider {
            self.written(&chosen(&self.header))
        } else {
            self.header_text.clone()
        };
        let mut lines = Vec::with_capacity(self.rows.len());
        for row in &self.rows {
            if !text.is_empty() && !text.ends_with('\n') {
                text.push_str(self.ending);
            }
            lines.push(text.matches('\n').count() + 1);
            if is_wider || row.text.is_empty() {
                text.push_str(&self.written(&chosen(&row.cells)));
            } else {
                text.push_str(&row.text);
            }
        }
        (text, lines)
    }

    fn written(&self, cells: &[String]) -> String {
        let mut writer = csv::WriterBuilder::new()
            .delimiter(self.separator)
            .terminator(csv::Terminator::Any(b'\n'))
            .from_writer(Vec::new());
        // A Vec takes whatever is written to it.
        let _ = writer.write_record(cells);
        let bytes = writer.into_inner().unwrap_or_default();
        String::from_utf8_lossy(&bytes).replace('\n', self.ending)
    }
}

/// Are the cells the same but for empty ones at the end?
pub(crate) fn is_same(one: &[String], other: &[String]) -> bool {
    let cell = |row: &[String], at: usize| row.get(at).map_or(String::new(), Clone::clone);
    (0..one.len().max(other.len())).all(|at| cell(one, at) == cell(other, at))
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIST: &str = "machine;circuit;note\r\nsaw;C1;\"old; loud\"\r\ndrill ;C1\r\n";

    fn row(cells: &[&str]) -> Vec<String> {
        cells.iter().map(|cell| (*cell).to_owned()).collect()
    }

    #[test]
    fn what_nobody_changed_keeps_its_text() {
        let list = ListGrid::read(LIST).expect("a list");
        assert_eq!(list.header, ["machine", "circuit", "note"]);
        let same = list.with_rows(vec![
            row(&["saw", "C1", "old; loud"]),
            row(&["drill ", "C1", ""]),
        ]);
        assert_eq!(same.write().0, LIST);
        let changed = list.with_rows(vec![
            row(&["drill ", "C1", ""]),
            row(&["saw", "C2", "a \"b\""]),
        ]);
        let (text, lines) = changed.write();
        assert_eq!(
            text,
            "machine;circuit;note\r\ndrill ;C1\r\nsaw;C2;\"a \"\"b\"\"\"\r\n"
        );
        assert_eq!(lines, [2, 3]);
    }

    #[test]
    fn a_table_without_the_column_of_machines_is_no_list() {
        assert_eq!(
            ListGrid::read("Works of the north\nmachine,circuit\n"),
            None
        );
        assert_eq!(ListGrid::read(""), None);
    }

    #[test]
    fn a_last_row_without_line_end_gets_one_before_the_next() {
        let list = ListGrid::read("machine,circuit\nsaw,C1").expect("a list");
        let more = list.with_rows(vec![row(&["saw", "C1"]), row(&["oven", "C2"])]);
        assert_eq!(more.write().0, "machine,circuit\nsaw,C1\noven,C2\n");
    }

    #[test]
    fn a_column_that_the_file_has_not_is_written_once_it_is_used() {
        let list = ListGrid::read("machine,circuit,connection\nsaw,C1,L1\n").expect("a list");
        let list = list.with_usual_columns();
        assert_eq!(list.header.len(), 9);
        let same = list.with_rows(vec![row(&["saw", "C1", "L1", "", "", "", "", "", ""])]);
        assert_eq!(same.write().0, "machine,circuit,connection\nsaw,C1,L1\n");
        let more = list.with_rows(vec![
            row(&["saw", "C1", "L1"]),
            row(&["oven", "C2", "L2", "", "", "0.5", "", "", ""]),
        ]);
        assert_eq!(
            more.write().0,
            "machine,circuit,connection,utilisation_factor\nsaw,C1,L1,\noven,C2,L2,0.5\n"
        );
    }
}
