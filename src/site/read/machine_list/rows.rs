//! The rows of a machine list.

use std::collections::HashMap;

use super::header::{MachineHeader, check_header};
use super::list_row::ListRow;
use super::{Context, doubtful_columns};
use crate::declared::machine_words;
use crate::read::bounds::MOST_MACHINES;
use crate::read::phase_words::PhaseWords;
use message::{Message, Messages, Place, straight_quotes, why_more_cells};
use user_tables::{TableText, Understood, WrittenTable};

/// Hands over each row of a list that is not blank, and says how the list was understood.
pub(crate) fn read_rows(
    source: TableText<'_>,
    context: &Context<'_>,
    messages: &mut Messages,
    mut each: impl FnMut(&ListRow<'_>, &mut Messages),
) -> Understood {
    let words = machine_words(context.unplaced);
    let Some(table) = WrittenTable::read(source, &words, "a machine") else {
        messages.push(empty(source.file));
        return Understood::default();
    };
    let header = MachineHeader {
        file: source.file,
        table: &table,
    };
    check_header(&header, context, messages);
    doubtful_columns::check(source, &table, &words, messages);
    let columns = &table.columns;
    let connections: Vec<String> = columns.get("connection").map_or_else(Vec::new, |cell| {
        let cells = table
            .rows()
            .filter_map(|line| line.cell(cell).map(str::to_owned));
        cells.collect()
    });
    let marks = context.site.supply.conductor_marks.as_ref();
    let phases = PhaseWords::of(marks, connections.iter().map(String::as_str));
    let mut understood = table.understood(source);
    let mut names: HashMap<String, usize> = HashMap::new();
    for (at, line) in table.rows().enumerate() {
        let row = ListRow {
            row: columns.read(line, &words, messages),
            phases: &phases,
        };
        if at == MOST_MACHINES {
            messages.push(too_many(&row));
            break;
        }
        if let Some(expected) = row.surplus() {
            complain_of_cells(&row, expected, messages);
            continue;
        }
        if complain_of_quotes(&row, messages) {
            continue;
        }
        complain_of_name(&row, &mut names, messages);
        row.note_words(&mut understood);
        each(&row, messages);
    }
    understood
}

fn empty(file: &str) -> Message {
    Message::error("empty-file", format!("`{file}` is empty"))
        .at(Place::file(file), "")
        .help(
            "a list without machines still needs its header: `machine,circuit,connection,power_kw`",
        )
}

fn complain_of_cells(row: &ListRow<'_>, expected: String, messages: &mut Messages) {
    row.complain(
        messages,
        "too-many-cells",
        "machine",
        format!("the row of `{}` has more cells than the header", row.name()),
        expected,
        why_more_cells(row.line.text()).or_else(|| {
            Some("put a text that contains the separator in quotation marks".to_owned())
        }),
    );
}

/// True where a cell begins with a typographic quotation mark, as word processors write them around a text.
fn complain_of_quotes(row: &ListRow<'_>, messages: &mut Messages) -> bool {
    let Some(help) = straight_quotes(row.line.text()) else {
        return false;
    };
    let mut places = (0..row.line.width()).map(|cell| row.line.place(cell));
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
fn complain_of_name(
    row: &ListRow<'_>,
    names: &mut HashMap<String, usize>,
    messages: &mut Messages,
) {
    if let Some(name) = row.cell("machine")
        && let Some(first) = names.insert(name.to_owned(), row.line.number)
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

fn too_many(row: &ListRow<'_>) -> Message {
    Message::error(
        "too-many",
        format!("the machine list has more than {MOST_MACHINES} rows"),
    )
    .at(row.place("machine"), "the first one too many")
    .help("make a site of each building or workshop; equal machines are one row with a `quantity`")
}
