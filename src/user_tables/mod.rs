//! Small tables that a user writes: a header, then rows of names, dates and numbers; each fault is reported at its cell.
//!
//! In: the bytes of a file, which [`text_of`] makes a text or a message, or the text of a workbook's sheet with its
//! place there. Out: lines with located cells ([`Lines`]), or rows by the names of their columns ([`NamedColumns`],
//! [`Row`]). Cells are separated by commas, numbers then having decimal points, or by semicolons with decimal commas or
//! points. Logs have a reader of their own.

mod line;
mod row;
mod text;

pub use line::{Line, Lines, SheetStart, list_separator};
pub use row::{NamedColumns, Row};
pub use text::text_of;
