//! One table for every output: a result declares its columns once, and gives its rows once.
//!
//! In: [`Columns`], each with its key for programs, its head for people, what its figures are and where it is
//! shown, and what it says of a row. Out: a [`Table`], which four renderers write: [`Table::text`] for a terminal,
//! [`Table::csv`] for programs, [`workbook`] for spreadsheets and [`Table::html`] for a page. What is shown to
//! people is formatted in one place ([`Table::shown`]), so that the outputs agree.
//!
//! Programs get every digit, keys and an empty cell for what is not known; people get the digits of the quantity,
//! units in the heads and a dash. Text of the user carries no control characters, starts no formula and is no markup.
//!
//! The declarations live in `export`, a file for each result; numbers behind a chart are declared beside the chart.

mod cell;
mod column;
mod columns;
mod plain;
mod table;
mod write_csv;
mod write_html;
mod write_text;
mod write_workbook;

pub use crate::table_columns as columns;
pub use cell::Cell;
pub use column::{
    CSV, Column, EVERYWHERE, FILES, Kind, Output, PAGES, PEOPLE, exact, fixed, money, number, words,
};
pub use columns::Columns;
pub use plain::{plain, quoted, sentence};
pub use table::Table;
pub use write_csv::{csv_text, disarmed};
pub use write_html::escaped;
pub use write_workbook::workbook;
