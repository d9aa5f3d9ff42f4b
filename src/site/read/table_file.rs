//! A table of the site, `machines` or `readings`: a CSV file or a workbook, in any letter case.

use std::path::Path;

use crate::read::file::{cannot_read, read_file, read_text};
use message::{Message, Messages, Place};
use user_tables::{
    NamedSheet, TableFile, TableText, TableWords, WrittenTable, is_workbook, read_workbook,
};

/// Kinds of file that a table may be kept in.
const KINDS: [&str; 3] = ["csv", "xlsx", "ods"];

/// Known columns that show a sheet to be the table looked for.
const KNOWN_COLUMNS: usize = 3;

/// The files of a folder that hold a table, such as `machines.csv` and `Machines.XLSX`.
#[must_use]
pub fn table_files(folder: &Path, table: &str) -> Vec<String> {
    let is_table = |name: &String| {
        let lower = name.to_lowercase();
        KINDS.iter().any(|kind| lower == format!("{table}.{kind}"))
    };
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let names = entries.map(|entry| entry.file_name().to_string_lossy().into_owned());
    let mut names: Vec<String> = names.filter(is_table).collect();
    names.sort_unstable();
    names
}

/// Reads a table from the one file that holds it.
pub fn read_table_file(
    folder: &Path,
    name: &str,
    table: &str,
    words: &TableWords<'_>,
    messages: &mut Messages,
) -> Option<TableFile> {
    if !is_workbook(Path::new(name)) {
        let text = read_text(folder, name, messages)?;
        return Some(TableFile {
            name: name.to_owned(),
            text,
            begins: None,
        });
    }
    let sheets = match read_file(&folder.join(name)) {
        Ok(bytes) => read_workbook(name, bytes),
        Err(error) => Err(cannot_read(folder, name, &error).into()),
    };
    let found = sheets.and_then(|sheets| table_sheet(name, sheets, table, words));
    found.map_err(|message| messages.push(*message)).ok()
}

/// The sheet called as the table, else the only one, else the first with its columns.
fn table_sheet(
    file: &str,
    mut sheets: Vec<NamedSheet>,
    table: &str,
    words: &TableWords<'_>,
) -> Result<TableFile, Box<Message>> {
    let called = |sheet: &NamedSheet| sheet.name.trim().eq_ignore_ascii_case(table);
    let like = |named: &NamedSheet| {
        named.sheet.as_ref().is_ok_and(|sheet| {
            let source = TableText {
                file,
                text: &sheet.text,
                sheet: Some(&sheet.begins),
            };
            WrittenTable::likeness(source, words) >= KNOWN_COLUMNS
        })
    };
    let at = sheets
        .iter()
        .position(called)
        .or_else(|| (sheets.len() == 1).then_some(0))
        .or_else(|| sheets.iter().position(like));
    let Some(at) = at else {
        let names: Vec<&str> = sheets.iter().map(|sheet| sheet.name.as_str()).collect();
        let text = format!("no sheet of `{file}` has the columns of `{table}`");
        return Err(Message::error("no-machine-sheet", text)
            .at(Place::file(file), "")
            .note(format!("its sheets: {}", names.join(", ")))
            .help(format!(
                "call the sheet `{table}`, with the names of its columns above them"
            ))
            .into());
    };
    sheet_file(file, sheets.swap_remove(at))
}

/// A sheet as a table.
pub(crate) fn sheet_file(file: &str, named: NamedSheet) -> Result<TableFile, Box<Message>> {
    match named.sheet {
        Ok(sheet) => Ok(TableFile {
            name: file.to_owned(),
            text: sheet.text,
            begins: Some(sheet.begins),
        }),
        Err(reason) => {
            let text = format!(
                "the sheet `{}` of `{file}` cannot be read: {reason}",
                named.name
            );
            Err(Message::error("not-a-spreadsheet", text)
                .at(Place::file(file), "")
                .help("keep on it nothing but the list, or save the list as CSV")
                .into())
        }
    }
}

/// More than one file holds a table.
#[must_use]
pub fn two_files(name: &'static str, what: &str, files: &[String]) -> Message {
    let text = format!("the site has {} {what}: {}", files.len(), files.join(", "));
    Message::error(name, text)
        .at(Place::file(&files[1]), "")
        .help("keep one of them; call the others something else")
}
