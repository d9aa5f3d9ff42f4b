//! A table with the file and sheet that it is from.

use super::{SheetStart, TableText};

/// A table of a site as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableFile {
    /// Name of the file.
    pub name: String,
    /// Its text, or that of its sheet.
    pub text: String,
    /// Where the sheet begins.
    pub begins: Option<SheetStart>,
}

impl TableFile {
    /// For the readers of tables.
    #[must_use]
    pub fn source(&self) -> TableText<'_> {
        TableText {
            file: &self.name,
            text: &self.text,
            sheet: self.begins.as_ref(),
        }
    }
}
