//! How a file of a log is written.

use crate::source::text_source::Encoding;

/// How a file is written, as far as that could be determined.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileForm {
    /// Its name inside the site folder.
    pub name: String,
    /// How its characters are written; `None` for a file that is not text.
    pub encoding: Option<Encoding>,
    /// Packed with gzip?
    pub packed: bool,
    /// What separates its cells.
    pub separator: Option<char>,
    /// Its decimal sign.
    pub decimal: Option<char>,
    /// Line of its header, from 1.
    pub header_line: Option<usize>,
    /// Line of its row of units, from 1.
    pub units_line: Option<usize>,
    /// How its times are written.
    pub time_format: Option<String>,
    /// The format that it was recognised as, and why; `None` of a plain table.
    pub format: Option<String>,
    /// Which end of an interval its times mark, and why.
    pub stamp: String,
}
