//! The rows of a machine list.

use std::collections::HashMap;

use super::header::read_header;
use super::row::Row;
use super::{Context, list_separator};
use crate::message::{Message, Messages, Place};
use crate::site::bounds::MOST_MACHINES;

/// Hands over each row of a list that is not blank.
pub(in crate::site) fn read_rows(
    file: &str,
    text: &str,
    context: &Context<'_>,
    messages: &mut Messages,
    mut each: impl FnMut(&Row<'_>, &mut Messages),
) {
    let header_line = text.lines().next().unwrap_or("");
    let separator = list_separator(text);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(text.as_bytes());
    let mut header = csv::StringRecord::new();
    if !reader.read_record(&mut header).unwrap_or(false) {
        messages.push(
            Message::error("empty-file", format!("`{file}` is empty"))
                .at(Place::file(file), "")
                .help("a list without machines still needs its header: `machine,circuit,connection,power_kw`"),
        );
        return;
    }
    let columns = read_header(file, header_line, separator, &header, context, messages);
    let mut names: HashMap<String, usize> = HashMap::new();
    let mut record = csv::StringRecord::new();
    // Lines are counted up to here.
    let (mut line, mut counted) = (1, 0);
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
        let position = record
            .position()
            .cloned()
            .unwrap_or_else(csv::Position::new);
        // The line number of a record that follows blank lines is that of the record itself.
        let start = position.byte() as usize;
        let rest = &text[start..];
        let blank = rest.len() - rest.trim_start_matches(['\r', '\n']).len();
        line += text[counted..start + blank].matches('\n').count();
        counted = start + blank;
        let line_text = rest[blank..].lines().next().unwrap_or("");
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
            row.complain(
                messages,
                "too-many-cells",
                "machine",
                format!("the row of `{}` has more cells than the header", row.name()),
                format!("expected {} cells, found {}", header.len(), record.len()),
                Some("put a text that contains the separator in quotes".to_owned()),
            );
            continue;
        }
        if let Some(name) = row.cell("machine")
            && let Some(first) = names.insert(name.to_owned(), line)
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
        each(&row, messages);
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
