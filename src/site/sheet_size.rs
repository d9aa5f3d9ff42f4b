//! How much a spreadsheet unpacks to and how many cells it spans, before room is made for them.

use std::io::{self, Cursor, Read};

use calamine::{DataRef, Xlsx};
use zip::ZipArchive;

/// Most bytes that the parts of a workbook unpack to together.
const LARGEST_UNPACKED: u64 = 64 << 20;
/// Most cells between the first and the last used one: room is made for all of them.
const MOST_CELLS: u64 = 1_000_000;

type Bytes = Cursor<Vec<u8>>;

/// Refuses a workbook whose parts unpack to too much.
///
/// # Errors
///
/// What is wrong, to follow "cannot be read as a spreadsheet".
pub(super) fn refuse_large(bytes: &Bytes) -> Result<(), String> {
    let mut archive = ZipArchive::new(bytes.clone()).map_err(|error| error.to_string())?;
    let mut unpacked = 0;
    for part in 0..archive.len() {
        let part = archive.by_index(part).map_err(|error| error.to_string())?;
        // What the archive says of its parts may not be so.
        let mut part = part.take(LARGEST_UNPACKED - unpacked + 1);
        unpacked += io::copy(&mut part, &mut io::sink()).map_err(|error| error.to_string())?;
        if unpacked > LARGEST_UNPACKED {
            let most = LARGEST_UNPACKED >> 20;
            return Err(format!("it unpacks to more than {most} MB"));
        }
    }
    Ok(())
}

/// Refuses a sheet of an Office Open XML workbook that spans too many cells.
///
/// # Errors
///
/// What is wrong, as above.
pub(super) fn refuse_wide(book: &mut Xlsx<Bytes>, name: &str) -> Result<(), String> {
    let mut cells = book
        .worksheet_cells_reader(name)
        .map_err(|error| error.to_string())?;
    let mut used: Option<[u32; 4]> = None;
    while let Some(cell) = cells.next_cell().map_err(|error| error.to_string())? {
        if *cell.get_value() == DataRef::Empty {
            continue;
        }
        let (row, column) = cell.get_position();
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
    }))
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
pub(super) fn refuse_repeats(bytes: &Bytes) -> Result<(), String> {
    let mut archive = ZipArchive::new(bytes.clone()).map_err(|error| error.to_string())?;
    let mut text = Vec::new();
    archive
        .by_name("content.xml")
        .map_err(|error| error.to_string())?
        .take(LARGEST_UNPACKED)
        .read_to_end(&mut text)
        .map_err(|error| error.to_string())?;
    refuse_above(count_repeats(&String::from_utf8_lossy(&text)))
}

/// Cells of all sheets, each as often as it is repeated; empty ones count where others follow.
fn count_repeats(xml: &str) -> u64 {
    let (mut cells, mut in_row, mut empty, mut rows) = (0_u64, 0_u64, 0_u64, 1_u64);
    // Rows without content are made room for where others follow.
    let mut empty_rows = 0_u64;
    for tag in xml.split('<').skip(1) {
        let tag = tag.split('>').next().unwrap_or_default();
        let name = tag.split([' ', '\t', '\n', '\r', '/']).next();
        match name.unwrap_or_default() {
            "table:table-row" => {
                (in_row, empty) = (0, 0);
                rows = repeats(tag, "table:number-rows-repeated");
            }
            "table:table-cell" | "table:covered-table-cell" => {
                let count = repeats(tag, "table:number-columns-repeated");
                if tag.ends_with('/') && !tag.contains("office:") && !tag.contains("formula") {
                    empty = empty.saturating_add(count);
                } else {
                    in_row = in_row.saturating_add(empty).saturating_add(count);
                    empty = 0;
                }
            }
            "" if tag == "/table:table-row" && in_row == 0 => {
                empty_rows = empty_rows.saturating_add(rows);
            }
            "" if tag == "/table:table-row" => {
                let rows = rows.saturating_add(std::mem::take(&mut empty_rows));
                cells = cells.saturating_add(rows.saturating_mul(in_row));
            }
            _ => {}
        }
    }
    cells
}

/// How often a cell or row stands there.
fn repeats(tag: &str, attribute: &str) -> u64 {
    tag.split_once(attribute)
        .and_then(|(_, rest)| rest.split(['"', '\'']).nth(1))
        .and_then(|number| number.trim().parse().ok())
        .unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::*;

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
