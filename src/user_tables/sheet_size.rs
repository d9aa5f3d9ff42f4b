//! How much a workbook unpacks to and how many cells it spans, before room is made for them; which of its cells are
//! shown in per cent.

use std::collections::HashSet;
use std::io::{Cursor, Read};

use calamine::{DataRef, Xlsx};
use quick_xml::events::{BytesStart, Event};
use quick_xml::name::QName;
use zip::ZipArchive;

/// Most bytes that the parts of a workbook unpack to together.
const LARGEST_UNPACKED: u64 = 64 << 20;
/// Most cells between the first and the last used one: room is made for all of them.
const MOST_CELLS: u64 = 1_000_000;

const ROW: QName<'_> = QName("table:table-row");
const CELLS: [QName<'_>; 2] = [QName("table:table-cell"), QName("table:covered-table-cell")];

type Bytes = Cursor<Vec<u8>>;

/// Refuses a workbook whose parts unpack to too much.
///
/// # Errors
///
/// What is wrong, to follow "cannot be read as a spreadsheet".
pub(crate) fn refuse_large(bytes: &Bytes) -> Result<(), String> {
    let mut archive = ZipArchive::new(bytes.clone()).map_err(|error| error.to_string())?;
    let mut unpacked = 0;
    for part in 0..archive.len() {
        let part = archive.by_index(part).map_err(|error| error.to_string())?;
        let name = part.name().map_err(|error| error.to_string())?.into_owned();
        let is_xml = [".xml", ".rels"].iter().any(|end| name.ends_with(end));
        // What the archive says of the size of its parts may not be so.
        let mut content = Vec::new();
        part.take(LARGEST_UNPACKED - unpacked + 1)
            .read_to_end(&mut content)
            .map_err(|error| error.to_string())?;
        unpacked += content.len() as u64;
        if unpacked > LARGEST_UNPACKED {
            let most = LARGEST_UNPACKED >> 20;
            return Err(format!("it unpacks to more than {most} MB"));
        }
        if is_xml {
            refuse_broken(&content).map_err(|error| format!("its part `{name}`: {error}"))?;
        }
    }
    Ok(())
}

/// Row and column of each cell with a per-cent format, from 0.
pub(crate) type PercentCells = HashSet<(u32, u32)>;

/// Refuses a sheet of an Office Open XML workbook that spans too many cells; those shown in per cent of another.
///
/// # Errors
///
/// What is wrong, as above.
pub(crate) fn percent_cells_of_narrow(
    book: &mut Xlsx<Bytes>,
    name: &str,
) -> Result<PercentCells, String> {
    let mut percent = PercentCells::new();
    let mut cells = book
        .worksheet_cells_reader(name)
        .map_err(|error| error.to_string())?;
    let mut used: Option<[u32; 4]> = None;
    while let Some((cell, style)) = cells
        .next_cell_with_style_id()
        .map_err(|error| error.to_string())?
    {
        if *cell.get_value() == DataRef::Empty {
            continue;
        }
        let (row, column) = cell.get_position();
        let format = cells.styles().get(style);
        let format = format.and_then(|style| style.number_format.as_ref());
        if format.is_some_and(|format| format.format_code.contains('%')) {
            percent.insert((row, column));
        }
        let [top, bottom, left, right] = used.unwrap_or([row, row, column, column]);
        used = Some([
            top.min(row),
            bottom.max(row),
            left.min(column),
            right.max(column),
        ]);
    }
    refuse_above(used.map_or(0, |[top, bottom, left, right]| {
        u64::from(bottom - top + 1) * u64::from(right - left + 1)
    }))?;
    Ok(percent)
}

/// The cells of each sheet of an `OpenDocument` workbook that are shown in per cent, by the name of the sheet.
/// Repeated rows and cells are within what [`refuse_repeats`] allows.
pub(crate) fn percent_cells_of_document(bytes: &Bytes) -> Vec<(String, PercentCells)> {
    let Ok(xml) = content(bytes) else {
        return Vec::new();
    };
    let mut reader = quick_xml::Reader::from_str(&xml);
    let mut sheets: Vec<(String, PercentCells)> = Vec::new();
    let (mut row, mut rows, mut column) = (0_u32, 1, 0_u32);
    loop {
        match reader.read_event() {
            Ok(Event::Start(tag)) if tag.name() == QName("table:table") => {
                let name = tag.try_get_attribute("table:name").ok().flatten();
                let name = name.map(|name| name.value.to_string());
                sheets.push((name.unwrap_or_default(), PercentCells::new()));
                row = 0;
            }
            Ok(Event::Start(tag)) if tag.name() == ROW => {
                column = 0;
                rows = repeats(&tag, "table:number-rows-repeated") as u32;
            }
            Ok(Event::End(tag)) if tag.name() == ROW => row = row.saturating_add(rows),
            Ok(Event::Start(tag) | Event::Empty(tag)) if CELLS.contains(&tag.name()) => {
                let kind = tag.try_get_attribute("office:value-type").ok().flatten();
                let times = repeated_cells(&tag) as u32;
                if kind.is_some_and(|kind| &*kind.value == "percentage")
                    && let Some((_, percent)) = sheets.last_mut()
                {
                    let all = (row..row.saturating_add(rows)).flat_map(|row| {
                        (column..column.saturating_add(times)).map(move |at| (row, at))
                    });
                    percent.extend(all);
                }
                column = column.saturating_add(times);
            }
            Ok(Event::Eof) | Err(_) => return sheets,
            Ok(_) => {}
        }
    }
}

fn refuse_above(cells: u64) -> Result<(), String> {
    if cells <= MOST_CELLS {
        return Ok(());
    }
    Err(format!(
        "it spans {cells} cells from its first to its last, more than {MOST_CELLS}"
    ))
}

/// Refuses an `OpenDocument` workbook whose sheets span too many cells: all are read when it is opened.
///
/// # Errors
///
/// What is wrong, as above.
pub(crate) fn refuse_repeats(bytes: &Bytes) -> Result<(), String> {
    refuse_above(count_repeats(&content(bytes)?))
}

/// The part of an `OpenDocument` workbook that has its sheets.
fn content(bytes: &Bytes) -> Result<String, String> {
    let mut archive = ZipArchive::new(bytes.clone()).map_err(|error| error.to_string())?;
    let mut text = Vec::new();
    archive
        .by_name("content.xml")
        .map_err(|error| error.to_string())?
        .take(LARGEST_UNPACKED)
        .read_to_end(&mut text)
        .map_err(|error| error.to_string())?;
    Ok(String::from_utf8_lossy(&text).into_owned())
}

/// Refuses XML that ends within an element: the reader library would wait for its end for ever.
fn refuse_broken(xml: &[u8]) -> Result<(), String> {
    let text = std::str::from_utf8(xml).map_err(|_| "it is not UTF-8 text".to_owned())?;
    let mut reader = quick_xml::Reader::from_str(text);
    let mut open = 0_usize;
    loop {
        match reader.read_event().map_err(|error| error.to_string())? {
            Event::Start(_) => open += 1,
            Event::End(_) => open = open.saturating_sub(1),
            Event::Eof if open > 0 => return Err("it ends within an element".to_owned()),
            Event::Eof => return Ok(()),
            _ => {}
        }
    }
}

/// Cells of all sheets, each as often as it is repeated; empty ones count where others follow.
fn count_repeats(xml: &str) -> u64 {
    let mut reader = quick_xml::Reader::from_str(xml);
    let mut cells = 0_u64;
    // Of the row: how often it stands there, its cells, the empty ones since the last other.
    let (mut rows, mut in_row, mut empty) = (1, 0_u64, 0_u64);
    // Rows without content are made room for where others follow.
    let mut empty_rows = 0_u64;
    loop {
        match reader.read_event() {
            Ok(Event::Start(tag)) if tag.name() == ROW => {
                (in_row, empty) = (0, 0);
                rows = repeats(&tag, "table:number-rows-repeated");
            }
            Ok(Event::Start(tag)) if CELLS.contains(&tag.name()) => {
                in_row = in_row
                    .saturating_add(empty)
                    .saturating_add(repeated_cells(&tag));
                empty = 0;
            }
            Ok(Event::Empty(tag)) if CELLS.contains(&tag.name()) => {
                empty = empty.saturating_add(repeated_cells(&tag));
                let plain = ["office:", "formula"]
                    .iter()
                    .all(|word| !tag.contains(word));
                if !plain {
                    in_row = in_row.saturating_add(std::mem::take(&mut empty));
                }
            }
            Ok(Event::End(tag)) if tag.name() == ROW && in_row == 0 => {
                empty_rows = empty_rows.saturating_add(rows);
            }
            Ok(Event::End(tag)) if tag.name() == ROW => {
                let rows = rows.saturating_add(std::mem::take(&mut empty_rows));
                cells = cells.saturating_add(rows.saturating_mul(in_row));
            }
            Ok(Event::Eof) | Err(_) => return cells,
            Ok(_) => {}
        }
    }
}

fn repeated_cells(tag: &BytesStart<'_>) -> u64 {
    repeats(tag, "table:number-columns-repeated")
}

/// How often a cell or row stands there.
fn repeats(tag: &BytesStart<'_>, attribute: &str) -> u64 {
    let found = tag.try_get_attribute(attribute).ok().flatten();
    found
        .and_then(|attribute| attribute.value.trim().parse().ok())
        .unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn xml_that_breaks_off_is_refused() {
        assert_eq!(
            refuse_broken(b"<?xml version='1.0'?><a><b/><c>x</c></a>"),
            Ok(())
        );
        let error = refuse_broken(b"<a><b>x").expect_err("open to the end");
        assert_eq!(error, "it ends within an element");
        assert!(refuse_broken(b"<a></b>").is_err());
        assert!(refuse_broken(b"<a>\xff</a>").is_err());
    }

    /// Two rows of three cells, then nothing to the end of the sheet; a gap of ten rows before a last.
    #[test]
    fn what_is_repeated_counts_as_often_as_it_has_content() {
        let cell =
            |more: &str| format!("<table:table-cell{more}><text:p>x</text:p></table:table-cell>");
        let row =
            |more: &str, cells: &str| format!("<table:table-row{more}>{cells}</table:table-row>");
        let wide = " table:number-columns-repeated=\"16384\"";
        let nothing = format!("<table:table-cell{wide}/>");
        let three = cell("") + "<table:table-cell/>" + &cell("") + &nothing;
        let twice = row(" table:number-rows-repeated=\"2\"", &three);
        assert_eq!(count_repeats(&twice), 6);
        let gap = row(" table:number-rows-repeated='10'", &nothing);
        assert_eq!(count_repeats(&(twice.clone() + &gap)), 6);
        assert_eq!(count_repeats(&(twice + &gap + &row("", &cell("")))), 17);
        let bomb = row(" table:number-rows-repeated='1000000'", &cell(wide));
        assert_eq!(count_repeats(&bomb), 16_384_000_000);
    }
}
