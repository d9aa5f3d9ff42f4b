//! Small tables that a user writes: a header, then rows of names, dates and numbers; each fault is reported at its cell.
//!
//! In: the bytes of a file, which [`text_of`] makes a text or a message, or a workbook, whose sheets [`read_workbook`]
//! makes texts with their places. Out: lines with located cells ([`Lines`]), rows by the names of their columns
//! ([`NamedColumns`], [`Row`]), or a table in the words of the people who wrote it ([`WrittenTable`], [`TableWords`]):
//! with a title above it, units below its header, totals at its end, numbers in other units and with other signs, each
//! brought to the unit of its declared column. Logs have a reader of their own.

mod header;
mod line;
mod number;
mod row;
mod sheet_size;
mod table;
mod table_file;
mod text;
mod understood;
mod workbook;

pub use header::{HeaderMeaning, TableWords};
pub use line::{Line, Lines, SheetStart, list_separator};
pub use number::{WrittenNumber, WrittenUnit, read_number};
pub use row::{NamedColumns, Row};
pub use table::{TableText, WrittenTable};
pub use table_file::TableFile;
pub use text::text_of;
pub use understood::Understood;
pub use workbook::{NamedSheet, Sheet, is_workbook, read_workbook};
