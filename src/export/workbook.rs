//! Tables as a workbook: one sheet each, typed cells, units in the heads, nothing that runs.

use chrono::{Datelike, NaiveDate, Timelike};
use rust_xlsxwriter::{Format, Workbook, Worksheet, XlsxError};

use super::bill_sheets::bill_sheets;
use super::breakdown_sheet::breakdown_sheet;
use super::energy_sheets::energy_sheets;
use super::meters_sheet::meters_sheet;
use super::sheet::{Cell, Sheet};
use super::text_table::plain;
use demand::EnergyResult;
use site::Site;

/// All tables of energy and demand. Times are local, as workbooks know no zones.
///
/// # Errors
///
/// Those of the workbook's writer: more rows than a sheet holds.
pub fn energy_workbook(site: &Site, result: &EnergyResult) -> Result<Vec<u8>, XlsxError> {
    let mut sheets = vec![meters_sheet(result, site.timezone)];
    sheets.extend(bill_sheets(result.cost.as_ref(), &result.cost_by_day));
    let currency = site.currency.as_deref();
    let parts = result.breakdown.as_deref();
    sheets.extend(parts.map(|parts| breakdown_sheet(parts, currency)));
    sheets.extend(energy_sheets(result));
    let about = format!(
        "{}. Times are local ({}). Empty: not known, which is no nought.",
        site.name, site.timezone
    );
    let bill = result.cost.iter().flat_map(|bill| &bill.notes);
    let notes: Vec<&String> = result
        .notes
        .iter()
        .chain(bill)
        .chain(&result.breakdown_notes)
        .collect();
    workbook(&sheets, &about, &notes)
}

/// A workbook of tables, those without rows left out, and a first sheet that says what they are.
fn workbook(sheets: &[Sheet], about: &str, notes: &[&String]) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // The same results give the same bytes.
    let epoch = rust_xlsxwriter::ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&rust_xlsxwriter::DocProperties::new().set_creation_datetime(&epoch));
    let filled: Vec<&Sheet> = sheets
        .iter()
        .filter(|sheet| !sheet.rows.is_empty())
        .collect();
    let bold = Format::new().set_bold();
    let contents = book.add_worksheet().set_name("contents")?;
    contents.set_column_width(0, 24)?.set_column_width(1, 100)?;
    contents.write_string(0, 0, plain(about))?;
    let mut row = 2;
    for sheet in &filled {
        contents.write_string_with_format(row, 0, sheet.name, &bold)?;
        contents.write_string(row, 1, plain(&sheet.title))?;
        row += 1;
    }
    for note in notes {
        row += 1;
        contents.write_string(row, 1, plain(note))?;
    }
    for sheet in filled {
        write_sheet(book.add_worksheet().set_name(sheet.name)?, sheet)?;
    }
    book.save_to_buffer()
}

fn write_sheet(page: &mut Worksheet, sheet: &Sheet) -> Result<(), XlsxError> {
    let head = Format::new().set_bold().set_text_wrap();
    let moment = Format::new().set_num_format("yyyy-mm-dd hh:mm");
    let date = Format::new().set_num_format("yyyy-mm-dd");
    let numbers: Vec<Format> = sheet
        .columns
        .iter()
        .map(|column| Format::new().set_num_format(number_format(column.decimals)))
        .collect();
    for (index, column) in (0..).zip(&sheet.columns) {
        page.write_string_with_format(0, index, plain(&column.head), &head)?;
        page.set_column_width(index, 18)?;
    }
    page.set_freeze_panes(1, 1)?;
    for (row, cells) in (1..).zip(&sheet.rows) {
        for (column, cell) in (0..).zip(cells) {
            match cell {
                // Written as a string of its own type: a spreadsheet shows it and runs nothing of it.
                Cell::Text(words) => page.write_string(row, column, plain(words))?,
                Cell::Number(Some(value)) if value.is_finite() => {
                    page.write_number_with_format(row, column, *value, &numbers[column as usize])?
                }
                Cell::Moment(Some(at)) | Cell::Instant(at) => page.write_datetime_with_format(
                    row,
                    column,
                    stamp(at.date_naive(), at.num_seconds_from_midnight())?,
                    &moment,
                )?,
                Cell::Date(day) => {
                    page.write_datetime_with_format(row, column, stamp(*day, 0)?, &date)?
                }
                Cell::Flag(flag) => page.write_boolean(row, column, *flag)?,
                Cell::Number(_) | Cell::Moment(None) => page,
            };
        }
    }
    Ok(())
}

/// A moment without a zone, as workbooks keep it.
fn stamp(day: NaiveDate, second: u32) -> Result<rust_xlsxwriter::ExcelDateTime, XlsxError> {
    let (hour, minute) = ((second / 3600) as u16, ((second / 60) % 60) as u8);
    let year = u16::try_from(day.year()).unwrap_or(0);
    rust_xlsxwriter::ExcelDateTime::from_ymd(year, day.month() as u8, day.day() as u8)?.and_hms(
        hour,
        minute,
        (second % 60) as u8,
    )
}

fn number_format(decimals: usize) -> String {
    if decimals == 0 {
        return "0".to_owned();
    }
    format!("0.{}", "0".repeat(decimals))
}
