//! A site in one workbook: its sheets as the tables of site.toml, each line with the cell that it was made from.

use std::path::Path;

use super::file::{cannot_read, read_file};
use super::sheet_rows::{CellLines, toml_line, write_rows};
use super::table_file::sheet_file;
use super::tariff_sheet;
use crate::declared::{SITE_SHEETS, SUPPLY_ROWS, SheetColumn, SiteSheet, sheet_words};
use message::{Message, Messages, Place, did_you_mean};
use user_tables::{Line, Lines, NamedSheet, TableFile, read_workbook};

/// What a workbook holds.
pub(crate) struct WorkbookSite {
    /// Tables of site.toml.
    pub(crate) text: String,
    /// The cell behind each of its lines.
    pub(crate) places: Vec<Place>,
    pub(crate) machines: TableFile,
    pub(crate) readings: Option<TableFile>,
}

/// Does a workbook hold a site? It has a sheet for its supply or its machines.
#[must_use]
pub fn is_site_workbook(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let sheets = read_file(path)
        .ok()
        .and_then(|bytes| read_workbook(&name, bytes).ok());
    let is_of_site = |sheet: &NamedSheet| {
        ["Supply", "Machines"]
            .iter()
            .any(|name| sheet.name.trim().eq_ignore_ascii_case(name))
    };
    sheets.is_none_or(|sheets| sheets.iter().any(is_of_site))
}

/// Reads the sheets of a workbook; what is wrong becomes messages.
pub(crate) fn read(path: &Path, messages: &mut Messages) -> Option<WorkbookSite> {
    let name = path.file_name()?.to_string_lossy().into_owned();
    let folder = path.parent().unwrap_or(Path::new("."));
    let sheets = match read_file(path) {
        Ok(bytes) => read_workbook(&name, bytes),
        Err(error) => Err(cannot_read(folder, &name, &error).into()),
    };
    let sheets = sheets.map_err(|message| messages.push(*message)).ok()?;
    let mut find = |wanted: &str| {
        let called = |sheet: &&NamedSheet| sheet.name.trim().eq_ignore_ascii_case(wanted);
        let sheet = sheets.iter().find(called)?.clone();
        sheet_file(&name, sheet)
            .map_err(|message| messages.push(*message))
            .ok()
    };
    let supply = find("Supply");
    let tables: Vec<(&SiteSheet, TableFile)> = SITE_SHEETS
        .iter()
        .filter_map(|sheet| Some((sheet, find(sheet.name)?)))
        .collect();
    let machines = find("Machines");
    let readings = find("Readings");
    let mut lines = CellLines::default();
    match &supply {
        Some(supply) => write_supply(supply, &mut lines, messages),
        None => messages.push(no_sheet(&name, "Supply")),
    }
    for (sheet, file) in &tables {
        if sheet.table == "tariff" {
            tariff_sheet::write(sheet, file, &mut lines, messages);
        } else {
            write_rows(sheet, file, &mut lines, messages);
        }
    }
    if machines.is_none() {
        messages.push(no_sheet(&name, "Machines"));
    }
    (!messages.has_errors()).then_some(())?;
    Some(WorkbookSite {
        text: lines.text,
        places: lines.places,
        machines: machines?,
        readings,
    })
}

fn no_sheet(file: &str, sheet: &str) -> Message {
    Message::error("no-sheet", format!("`{file}` has no sheet `{sheet}`"))
        .at(Place::file(file), "")
        .note("a site in one workbook has the sheets Supply and Machines, and may have Boards, Circuits, Schedules, Readings and Tariff")
        .help("`tapoff new mill --workbook` writes such a workbook to begin with")
}

/// What and its value in each row.
fn write_supply(file: &TableFile, lines: &mut CellLines, messages: &mut Messages) {
    let words: Vec<_> = SUPPLY_ROWS.iter().map(|row| (row.key, row.words)).collect();
    let words = sheet_words(&words, "");
    let rows: Vec<Line<'_>> = Lines::new(&file.name, &file.text, file.begins.as_ref()).collect();
    let mut known: Vec<(&SheetColumn, &Line<'_>)> = Vec::new();
    for line in &rows {
        let Some(label) = line.cell(0) else { continue };
        let meaning = words.meaning(label);
        let row =
            meaning.and_then(|meaning| SUPPLY_ROWS.iter().find(|row| row.key == meaning.column));
        match row {
            Some(row) if line.cell(1).is_some() => {
                if known.iter().any(|(other, _)| other.key == row.key) {
                    messages.push(
                        Message::error("duplicate-key", format!("`{label}` appears twice"))
                            .at(line.place(0), "the second is here"),
                    );
                } else {
                    known.push((row, line));
                }
            }
            // A heading of the two columns, a row of text, or one with nothing in it.
            _ if row.is_some() || line.cell(1).is_none() || is_heading(line) => {}
            _ => messages.push(
                Message::error(
                    "unknown-key",
                    format!("`{label}` is not known in the sheet `Supply`"),
                )
                .at(line.place(0), "not a row of this sheet")
                .maybe_help(did_you_mean(
                    label,
                    SUPPLY_ROWS.iter().map(|row| row.header),
                )),
            ),
        }
    }
    let start = rows
        .first()
        .map_or_else(|| Place::file(&file.name), Line::whole);
    for table in ["site", "supply"] {
        lines.push(&format!("[{table}]"), start.clone());
        for (row, line) in &known {
            if let Some(key) = row
                .key
                .strip_prefix(table)
                .and_then(|key| key.strip_prefix('.'))
            {
                lines.push(
                    &toml_line(key, row, line.cell(1).unwrap_or_default()),
                    line.place(1),
                );
            }
        }
    }
}

fn is_heading(line: &Line<'_>) -> bool {
    line.cell(1)
        .is_some_and(|text| text.eq_ignore_ascii_case("value"))
}
