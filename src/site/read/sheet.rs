//! A machine list kept as a spreadsheet: its cells as text, its faults at sheet and cell.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use calamine::{Data, DataType, Ods, Range, Reader, Sheets, Xlsx};

use super::sheet_size::{refuse_large, refuse_repeats, refuse_wide};

use message::quietly;
use message::{Message, Place};
use user_tables::SheetStart;

/// Files that a list may be kept in, besides `machines.csv`.
pub(crate) const NAMES: [&str; 2] = ["machines.xlsx", "machines.ods"];

/// Most bytes of a spreadsheet that is read.
const LARGEST: usize = 64 << 20;

/// The list of a spreadsheet as comma-separated text, a line for each row from the first used one.
#[derive(Debug)]
pub(crate) struct Sheet {
    pub(crate) text: String,
    pub(crate) begins: SheetStart,
}

impl Sheet {
    /// The sheet called `machines`, else the only one, else the first whose header names a machine
    /// and its connection.
    pub(crate) fn read(file: &str, bytes: Vec<u8>) -> Result<Sheet, Box<Message>> {
        // The reader library stops hard at some damaged files.
        let read = AssertUnwindSafe(|| Sheet::read_sound(file, bytes));
        quietly(|| catch_unwind(read)).unwrap_or_else(|_| {
            let text = format!(
                "`{file}` cannot be read as a spreadsheet: its structure contradicts itself"
            );
            Err(Message::error("not-a-spreadsheet", text)
                .at(Place::file(file), "")
                .help("save it again, or save the list as `machines.csv`")
                .into())
        })
    }

    fn read_sound(file: &str, bytes: Vec<u8>) -> Result<Sheet, Box<Message>> {
        let fault = |name, text: String| Message::error(name, text).at(Place::file(file), "");
        if bytes.len() > LARGEST {
            return Err(fault(
                "too-large",
                format!("`{file}` has more than {} MB", LARGEST >> 20),
            )
            .help("keep the machine list in a file of its own")
            .into());
        }
        let bytes = Cursor::new(bytes);
        let mut workbook = open(file, &bytes).map_err(|error| {
            fault(
                "not-a-spreadsheet",
                format!("`{file}` cannot be read as a spreadsheet: {error}"),
            )
            .help("save it again, or save the list as `machines.csv`")
        })?;
        let name = sheet_name(&mut workbook).ok_or_else(|| {
            fault(
                "no-machine-sheet",
                format!("no sheet of `{file}` looks like a machine list"),
            )
            .note(format!("its sheets: {}", workbook.sheet_names().join(", ")))
            .help("call the sheet `machines`, with the columns `machine`, `circuit`, `connection` in its first row")
        })?;
        let range = range_of(&mut workbook, &name).map_err(|error| {
            fault(
                "not-a-spreadsheet",
                format!("the sheet `{name}` of `{file}` cannot be read: {error}"),
            )
            .help("keep on it nothing but the list, or save the list as `machines.csv`")
        })?;
        Ok(Sheet {
            text: as_text(&range),
            begins: SheetStart {
                start: range.start().unwrap_or((0, 0)),
                sheet: name,
            },
        })
    }
}

fn open(file: &str, bytes: &Cursor<Vec<u8>>) -> Result<Sheets<Cursor<Vec<u8>>>, String> {
    refuse_large(bytes)?;
    let bytes = bytes.clone();
    if Path::new(file)
        .extension()
        .is_some_and(|kind| kind == "ods")
    {
        refuse_repeats(&bytes)?;
        let book = Ods::new(bytes).map_err(|error| error.to_string());
        book.map(Sheets::Ods)
    } else {
        let book = Xlsx::new(bytes).map_err(|error| error.to_string());
        book.map(Sheets::Xlsx)
    }
}

fn range_of(workbook: &mut Sheets<Cursor<Vec<u8>>>, name: &str) -> Result<Range<Data>, String> {
    if let Sheets::Xlsx(book) = workbook {
        refuse_wide(book, name)?;
    }
    let range = workbook.worksheet_range(name);
    range.map_err(|error| error.to_string())
}

fn sheet_name(workbook: &mut Sheets<Cursor<Vec<u8>>>) -> Option<String> {
    let names = workbook.sheet_names();
    let called = |name: &&String| name.trim().eq_ignore_ascii_case("machines");
    if let Some(name) = names.iter().find(called) {
        return Some(name.clone());
    }
    if let [only] = names.as_slice() {
        return Some(only.clone());
    }
    names.into_iter().find(|name| {
        range_of(workbook, name).is_ok_and(|range| {
            let header: Vec<String> = range
                .rows()
                .next()
                .map(|row| row.iter().map(cell_text).collect())
                .unwrap_or_default();
            ["machine", "connection"]
                .iter()
                .all(|column| header.iter().any(|name| name.trim() == *column))
        })
    })
}

fn as_text(range: &Range<Data>) -> String {
    let mut text = String::new();
    for row in range.rows() {
        if row.iter().any(|cell| !cell.is_empty()) {
            let cells: Vec<String> = row.iter().map(|cell| quoted(&cell_text(cell))).collect();
            text.push_str(&cells.join(","));
        }
        text.push('\n');
    }
    text
}

/// A cell as it would stand in the text list; line ends within it become blanks.
fn cell_text(cell: &Data) -> String {
    match cell {
        Data::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Data::Float(number) => number.to_string(),
        other => other.to_string().replace(['\r', '\n'], " "),
    }
}

fn quoted(text: &str) -> String {
    if text.contains([',', '"']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}
