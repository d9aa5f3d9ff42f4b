//! A workbook: the cells of its sheets as text, each sheet as it would be written in a CSV file.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use calamine::{Data, DataType, ExcelDateTime, Ods, Range, Reader, Sheets, Xlsx};

use super::SheetStart;
use super::sheet_size::{
    PercentCells, percent_cells_of_document, percent_cells_of_narrow, refuse_large, refuse_repeats,
};
use message::quietly;
use message::{Message, Place};

/// Most bytes of a workbook that is read.
const LARGEST: usize = 64 << 20;

/// The cells of a sheet as comma-separated text, a line for each row from the first used one.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Its lines.
    pub text: String,
    /// Its name and first used cell.
    pub begins: SheetStart,
}

/// A sheet of a workbook by its name; what is wrong where it cannot be read.
#[derive(Clone, Debug)]
pub struct NamedSheet {
    /// Its name.
    pub name: String,
    /// Its cells.
    pub sheet: Result<Sheet, String>,
}

/// Is a file a workbook, by its name?
#[must_use]
pub fn is_workbook(file: &Path) -> bool {
    let kind = file.extension().and_then(|kind| kind.to_str());
    kind.is_some_and(|kind| {
        ["xlsx", "ods"]
            .iter()
            .any(|known| kind.eq_ignore_ascii_case(known))
    })
}

/// The sheets of a workbook in their order.
///
/// # Errors
///
/// A message that says why it cannot be read.
pub fn read_workbook(file: &str, bytes: Vec<u8>) -> Result<Vec<NamedSheet>, Box<Message>> {
    // The reader library stops hard at some damaged files.
    let read = AssertUnwindSafe(|| read_sound(file, bytes));
    quietly(|| catch_unwind(read))
        .unwrap_or_else(|_| Err(not_a_workbook(file, "its structure contradicts itself")))
}

fn not_a_workbook(file: &str, reason: &str) -> Box<Message> {
    let text = format!("`{file}` cannot be read as a spreadsheet: {reason}");
    Message::error("not-a-spreadsheet", text)
        .at(Place::file(file), "")
        .help("save it again as .xlsx or .ods, or save its sheet as CSV")
        .into()
}

fn read_sound(file: &str, bytes: Vec<u8>) -> Result<Vec<NamedSheet>, Box<Message>> {
    if bytes.len() > LARGEST {
        let text = format!("`{file}` has more than {} MB", LARGEST >> 20);
        return Err(Message::error("too-large", text)
            .at(Place::file(file), "")
            .help("keep the list in a file of its own")
            .into());
    }
    let bytes = Cursor::new(bytes);
    let (mut workbook, percent) =
        open(file, &bytes).map_err(|reason| not_a_workbook(file, &reason))?;
    let names = workbook.sheet_names();
    let sheet = |name: String| {
        let of_document = percent.iter().find(|(known, _)| *known == name);
        let sheet = read_sheet(&mut workbook, &name, of_document.map(|(_, cells)| cells));
        NamedSheet { name, sheet }
    };
    Ok(names.into_iter().map(sheet).collect())
}

type Book = Sheets<Cursor<Vec<u8>>>;

/// With the cells of an `OpenDocument` workbook that are shown in per cent.
fn open(
    file: &str,
    bytes: &Cursor<Vec<u8>>,
) -> Result<(Book, Vec<(String, PercentCells)>), String> {
    refuse_large(bytes)?;
    let is_document = Path::new(file)
        .extension()
        .is_some_and(|kind| kind.eq_ignore_ascii_case("ods"));
    if is_document {
        refuse_repeats(bytes)?;
        let book = Ods::new(bytes.clone()).map_err(|error| error.to_string())?;
        Ok((Sheets::Ods(book), percent_cells_of_document(bytes)))
    } else {
        let book = Xlsx::new(bytes.clone()).map_err(|error| error.to_string())?;
        Ok((Sheets::Xlsx(book), Vec::new()))
    }
}

fn read_sheet(
    workbook: &mut Book,
    name: &str,
    of_document: Option<&PercentCells>,
) -> Result<Sheet, String> {
    let own = if let Sheets::Xlsx(book) = workbook {
        percent_cells_of_narrow(book, name)?
    } else {
        PercentCells::new()
    };
    let range = workbook
        .worksheet_range(name)
        .map_err(|error| error.to_string())?;
    Ok(Sheet {
        text: as_text(&range, of_document.unwrap_or(&own)),
        begins: SheetStart {
            start: range.start().unwrap_or((0, 0)),
            sheet: name.to_owned(),
        },
    })
}

fn as_text(range: &Range<Data>, percent: &PercentCells) -> String {
    let (top, left) = range.start().unwrap_or((0, 0));
    let mut text = String::new();
    for (row, cells) in (top..).zip(range.rows()) {
        if cells.iter().any(|cell| !cell.is_empty()) {
            let cells: Vec<String> = (left..)
                .zip(cells)
                .map(|(column, cell)| quoted(&cell_text(cell, percent.contains(&(row, column)))))
                .collect();
            text.push_str(&cells.join(","));
        }
        text.push('\n');
    }
    text
}

/// A cell as it would be written in a text list; line ends within it become blanks.
fn cell_text(cell: &Data, in_percent: bool) -> String {
    match cell {
        Data::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Data::Float(number) if in_percent => format!("{}%", (number * 1e11).round() / 1e9),
        Data::Float(number) => number.to_string(),
        Data::DateTime(time) if time.is_datetime() => time_text(time),
        other => other.to_string().replace(['\r', '\n'], " "),
    }
}

/// A date, a time of day, or both, as stored.
fn time_text(time: &ExcelDateTime) -> String {
    let (year, month, day, hour, minute, second, _) = time.to_ymd_hms_milli();
    let clock = if second == 0 {
        format!("{hour:02}:{minute:02}")
    } else {
        format!("{hour:02}:{minute:02}:{second:02}")
    };
    if time.as_f64() < 1.0 {
        clock
    } else if (hour, minute, second) == (0, 0, 0) {
        format!("{year:04}-{month:02}-{day:02}")
    } else {
        format!("{year:04}-{month:02}-{day:02} {clock}")
    }
}

fn quoted(text: &str) -> String {
    if text.contains([',', '"']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}
