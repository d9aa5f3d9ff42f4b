//! One table for every output: a result declares its columns once, and gives its rows once.
//!
//! In: [`Columns`], each with a key for programs, a heading for people, the type of its values, where it is shown,
//! and the function that gives its cell for a row. Out: a [`Table`], which five renderers write: [`Table::text`] for a
//! terminal, [`Table::csv`] and [`Table::parquet`] for programs, [`workbook`] for spreadsheets and [`Table::html`] for a page. Cells for
//! people are formatted in one place ([`Table::shown`]), so that the outputs agree.
//!
//! Programs get every digit, keys, and an empty cell for unknown values; people get the digits of the quantity,
//! units in the headings, and a dash. Text of the user carries no control characters, starts no formula and is no markup.
//!
//! The declarations are in `export`, a file for each result; the table behind a chart is declared with the chart.

mod cell;
mod column;
mod columns;
mod plain;
mod sheet_chart;
mod table;
mod write_csv;
mod write_html;
mod write_parquet;
mod write_text;
mod write_workbook;

pub use crate::table_columns as columns;
pub use cell::Cell;
pub use column::{
    CSV, Column, ColumnKind, EVERYWHERE, FILES, Output, PAGES, PEOPLE, StoredAs, exact, fixed,
    money, number, words,
};
pub use columns::Columns;
pub use plain::{is_hidden, marked, plain, quoted, sentence};
pub use sheet_chart::{ChartShape, SheetChart};
pub use table::Table;
pub use write_csv::{csv_text, disarmed};
pub use write_html::escaped;
pub use write_workbook::{workbook, workbook_with_charts};
