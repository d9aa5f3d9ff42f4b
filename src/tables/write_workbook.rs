//! Tables as a workbook: one sheet each, typed cells, units in the headings, no formulas.

use chrono::{Datelike, NaiveDate, Timelike};
use rust_decimal::prelude::ToPrimitive;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

use super::cell::Cell;
use super::column::{Column, Output};
use super::plain::plain;
use super::sheet_chart::SheetChart;
use super::table::Table;

/// A workbook of tables with a sheet of contents first; tables without rows are left out.
///
/// # Errors
///
/// Those of the workbook's writer: more rows than a sheet holds.
pub fn workbook<'t>(
    tables: &[Table],
    about: &str,
    notes: impl IntoIterator<Item = &'t String>,
) -> Result<Vec<u8>, XlsxError> {
    workbook_with_charts(tables, &[], about, notes)
}

/// The same with a sheet of charts after the contents, where there are any.
///
/// # Errors
///
/// Those of the workbook's writer: more rows than a sheet holds.
pub fn workbook_with_charts<'t>(
    tables: &[Table],
    charts: &[SheetChart],
    about: &str,
    notes: impl IntoIterator<Item = &'t String>,
) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // The same results give the same bytes.
    let epoch = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&rust_xlsxwriter::DocProperties::new().set_creation_datetime(&epoch));
    let filled: Vec<&Table> = tables
        .iter()
        .filter(|table| !table.rows.is_empty())
        .collect();
    let bold = Format::new().set_bold();
    let contents = book.add_worksheet().set_name("contents")?;
    contents.set_column_width(0, 24)?.set_column_width(1, 100)?;
    contents.write_string(0, 0, plain(about))?;
    let mut row = 2;
    for table in &filled {
        let mut title = table.title.clone();
        if !table.method.is_empty() {
            title = format!("{title} ({})", table.method);
        }
        contents.write_string_with_format(row, 0, table.id, &bold)?;
        contents.write_string(row, 1, plain(&title))?;
        row += 1;
    }
    for note in notes {
        row += 1;
        contents.write_string(row, 1, plain(note))?;
    }
    if !charts.is_empty() {
        draw(book.add_worksheet().set_name("charts")?, &filled, charts)?;
    }
    for table in filled {
        sheet(book.add_worksheet().set_name(table.id)?, table)?;
    }
    book.save_to_buffer()
}

/// Rows of a sheet that a chart takes.
const CHART_ROWS: u32 = 18;

fn draw(page: &mut Worksheet, tables: &[&Table], charts: &[SheetChart]) -> Result<(), XlsxError> {
    let mut row = 0;
    for chart in charts {
        let table = tables.iter().find(|table| table.id == chart.table);
        let drawn = table.map(|table| chart.of(table)).transpose()?.flatten();
        if let Some(drawn) = drawn {
            page.insert_chart(row, 0, &drawn)?;
            row += CHART_ROWS;
        }
    }
    Ok(())
}

fn sheet(page: &mut Worksheet, table: &Table) -> Result<(), XlsxError> {
    let head = Format::new().set_bold().set_text_wrap();
    let places = table.places(Output::Workbook);
    for (index, &place) in (0..).zip(&places) {
        let heading = table.columns[place].heading();
        page.write_string_with_format(0, index, plain(&heading), &head)?;
        page.set_column_width(index, 18)?;
    }
    let named = if table
        .columns
        .first()
        .is_some_and(|column| column.key == "site")
    {
        2
    } else {
        1
    };
    page.set_freeze_panes(1, named)?;
    if let (Ok(last), Ok(rows)) = (u16::try_from(places.len()), u32::try_from(table.rows.len())) {
        page.autofilter(0, 0, rows, last.saturating_sub(1))?;
    }
    for (index, &place) in (0..).zip(&places) {
        let format = Format::new().set_num_format(number_format(&table.columns[place]));
        for (row, cells) in (1..).zip(&table.rows) {
            write(page, (row, index), &cells[place], &format)?;
        }
    }
    Ok(())
}

fn write(
    page: &mut Worksheet,
    (row, column): (u32, u16),
    cell: &Cell,
    format: &Format,
) -> Result<(), XlsxError> {
    let time = |pattern: &str| Format::new().set_num_format(pattern);
    match cell {
        // Written as a string: a spreadsheet shows it and does not run it.
        Cell::Text(words) => page.write_string(row, column, plain(words))?,
        Cell::Number(value) | Cell::Rounded(value, _) | Cell::Change(_, value) => {
            page.write_number_with_format(row, column, *value, format)?
        }
        Cell::Decimal(value) => match value.to_f64() {
            Some(value) => page.write_number_with_format(row, column, value, format)?,
            None => page,
        },
        Cell::Local(at) | Cell::Instant(at) => {
            let stamp = stamp(at.date_naive(), at.num_seconds_from_midnight())?;
            page.write_datetime_with_format(row, column, stamp, &time("yyyy-mm-dd hh:mm"))?
        }
        Cell::Date(day) => {
            page.write_datetime_with_format(row, column, stamp(*day, 0)?, &time("yyyy-mm-dd"))?
        }
        Cell::YesNo(flag) => page.write_boolean(row, column, *flag)?,
        Cell::Unknown => page,
    };
    Ok(())
}

/// A time without a zone, as workbooks store it.
fn stamp(day: NaiveDate, second: u32) -> Result<ExcelDateTime, XlsxError> {
    let (hour, minute) = ((second / 3600) as u16, ((second / 60) % 60) as u8);
    let year = u16::try_from(day.year()).unwrap_or(0);
    let date = ExcelDateTime::from_ymd(year, day.month() as u8, day.day() as u8)?;
    date.and_hms(hour, minute, (second % 60) as u8)
}

fn number_format(column: &Column) -> String {
    match column.decimals() {
        None => "General".to_owned(),
        Some(0) => "0".to_owned(),
        Some(decimals) => format!("0.{}", "0".repeat(decimals)),
    }
}
