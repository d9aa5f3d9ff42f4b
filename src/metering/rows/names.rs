//! Headers and rows of units repeated among the rows.

use super::RowReader;
use crate::header::dialect::LogCell;

/// Header and units above the rows; they may be repeated among them.
#[derive(Clone, Debug, Default)]
pub(crate) struct Names {
    pub(crate) header: Vec<String>,
    pub(crate) units: Vec<String>,
}

/// What a row without a time is.
pub(super) enum Heads {
    /// The header or the row of units once more.
    Names,
    /// A header that has another name in this cell.
    OtherNames(usize),
    /// Neither.
    Nothing,
}

impl RowReader<'_> {
    /// Does a row without a time repeat the header or the units?
    pub(super) fn heads<'t>(&self, stamp: &[u8], text_of: &dyn Fn(usize) -> &'t [u8]) -> Heads {
        let names = &self.names;
        if names.header.is_empty() {
            return Heads::Nothing;
        }
        let above = |row: &[String]| {
            let mut expected = Vec::new();
            let cell = |cell: usize| row.get(cell).map_or(&[][..], |name| name.as_bytes());
            self.time.stamp(self.dialect.separator, cell, &mut expected);
            self.clock.plain(stamp) == self.clock.plain(&expected)
        };
        let same = |row: &[String], cell: usize| {
            let name = row.get(cell).map_or("", String::as_str);
            text_of(cell).trim_ascii() == name.as_bytes()
        };
        if above(&names.header) {
            let word = |cell: usize| self.read_text(text_of(cell)) == LogCell::Unreadable;
            let mut cells = self.cells.iter();
            let other = cells.find(|&&cell| !same(&names.header, cell) && word(cell));
            return other.map_or(Heads::Names, |&cell| Heads::OtherNames(cell));
        }
        let units = !names.units.is_empty() && above(&names.units);
        if units && self.cells.iter().all(|&cell| same(&names.units, cell)) {
            return Heads::Names;
        }
        Heads::Nothing
    }
}
