//! The rows of a machine list.

use std::collections::HashMap;

use super::header::{MachineHeader, read_header};
use super::row::Row;
use super::{Context, list_separator};
use crate::read::bounds::MOST_MACHINES;
use message::{Message, Messages, Place, straight_quotes, why_more_cells};

/// Hands over each row of a list that is not blank.
pub(crate) fn read_rows(
    file: &str,
    text: &str,
    context: &Context<'_>,
    messages: &mut Messages,
    mut each: impl FnMut(&Row<'_>, &mut Messages),
) {
    let separator = list_separator(text);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(text.as_bytes());
    let mut header = csv::StringRecord::new();
    if !reader.read_record(&mut header).unwrap_or(false) {
        messages.push(empty(file));
        return;
    }
    let header_line = MachineHeader {
        file,
        text: text.lines().next().unwrap_or(""),
        list: text,
        separator,
        cells: &header,
    };
    let columns = read_header(&header_line, context, messages);
    let mut names: HashMap<String, usize> = HashMap::new();
    let mut record = csv::StringRecord::new();
    let mut lines = Lines::new(text);
    let mut rows = 0;
    loop {
        match reader.read_record(&mut record) {
            Ok(false) => break,
            Ok(true) => {}
            Err(error) => {
                messages.push(
                    Message::error("not-csv", format!("`{file}` cannot be read: {error}"))
                        .at(Place::file(file), ""),
                );
                break;
            }
        }
        let (line, line_text) = lines.of(&record);
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let row = Row {
            file,
            line,
            text: line_text,
            separator,
            record: &record,
            columns: &columns,
        };
        rows += 1;
        if rows > MOST_MACHINES {
            messages.push(too_many(&row));
            break;
        }
        if record.len() > header.len() {
            complain_of_cells(&row, header.len(), messages);
            continue;
        }
        if complain_of_quotes(&row, messages) {
            continue;
        }
        complain_of_name(&row, &mut names, messages);
        each(&row, messages);
    }
}

/// Where the records of a text begin.
struct Lines<'t> {
    text: &'t str,
    /// Number of the line up to which was counted, from 1.
    line: usize,
    /// Byte up to which was counted.
    counted: usize,
}

impl<'t> Lines<'t> {
    fn new(text: &'t str) -> Self {
        Lines {
            text,
            line: 1,
            counted: 0,
        }
    }

    /// Number and text of the line in which a record begins. One that follows blank lines begins
    /// behind them.
    fn of(&mut self, record: &csv::StringRecord) -> (usize, &'t str) {
        let start = record.position().map_or(0, csv::Position::byte) as usize;
        let rest = &self.text[start..];
        let blank = rest.len() - rest.trim_start_matches(['\r', '\n']).len();
        self.line += self.text[self.counted..start + blank].matches('\n').count();
        self.counted = start + blank;
        (self.line, rest[blank..].lines().next().unwrap_or(""))
    }
}

fn empty(file: &str) -> Message {
    Message::error("empty-file", format!("`{file}` is empty"))
        .at(Place::file(file), "")
        .help(
            "a list without machines still needs its header: `machine,circuit,connection,power_kw`",
        )
}

fn complain_of_cells(row: &Row<'_>, most: usize, messages: &mut Messages) {
    row.complain(
        messages,
        "too-many-cells",
        "machine",
        format!("the row of `{}` has more cells than the header", row.name()),
        format!("expected {most} cells, found {}", row.record.len()),
        why_more_cells(row.text).or_else(|| {
            Some("put a text that contains the separator in quotation marks".to_owned())
        }),
    );
}

/// True where a cell begins with a typographic quotation mark, as word processors write them around a text.
fn complain_of_quotes(row: &Row<'_>, messages: &mut Messages) -> bool {
    let Some(help) = straight_quotes(row.text) else {
        return false;
    };
    let mut places = (0..row.record.len())
        .map(|cell| Place::in_record(row.file, row.line, row.text, row.separator, cell));
    let Some(place) =
        places.find(|place| place.text[place.span.clone()].starts_with(['“', '„', '«']))
    else {
        return false;
    };
    let text = format!(
        "the row of `{}` has typographic quotation marks",
        row.name()
    );
    messages.push(
        Message::error("curly-quotes", text)
            .at(place, "expected straight ones (`\"`)")
            .help(help),
    );
    true
}

/// `names` holds the names so far, each with its line.
fn complain_of_name(row: &Row<'_>, names: &mut HashMap<String, usize>, messages: &mut Messages) {
    if let Some(name) = row.cell("machine")
        && let Some(first) = names.insert(name.to_owned(), row.line)
    {
        row.complain(
            messages,
            "duplicate-machine",
            "machine",
            format!("two machines are called `{name}`"),
            format!("used before, in line {first}"),
            Some("give each row its own name, or use `quantity`".to_owned()),
        );
    }
}

fn too_many(row: &Row<'_>) -> Message {
    Message::error(
        "too-many",
        format!("the machine list has more than {MOST_MACHINES} rows"),
    )
    .at(row.place("machine"), "the first one too many")
    .help("make a site of each building or workshop; equal machines are one row with a `quantity`")
}
