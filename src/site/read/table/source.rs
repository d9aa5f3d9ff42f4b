//! The file that tables are read from.

use std::cell::RefCell;
use std::ops::Range;

use message::{Message, Messages, Place};

/// The file being read and the messages about it.
#[derive(Debug)]
pub(crate) struct Source<'t> {
    pub(crate) file: String,
    pub(crate) text: &'t str,
    messages: RefCell<Messages>,
    /// The cells of a workbook that the first lines were made from.
    cells: &'t [Place],
    /// Bytes of those lines.
    of_cells: usize,
}

/// A value together with its place.
#[derive(Clone, Debug)]
pub(crate) struct Located<T> {
    pub(crate) value: T,
    pub(crate) span: Range<usize>,
}

impl<'t> Source<'t> {
    pub(crate) fn new(file: &str, text: &'t str) -> Self {
        Source {
            file: file.to_owned(),
            text,
            messages: RefCell::default(),
            cells: &[],
            of_cells: 0,
        }
    }

    /// Of a text whose first lines were made from the cells of a workbook; the rest is a file of its own.
    pub(crate) fn of_cells(file: &str, text: &'t str, cells: &'t [Place]) -> Self {
        let lines = text.split_inclusive('\n').take(cells.len());
        Source {
            cells,
            of_cells: lines.map(str::len).sum(),
            ..Source::new(file, text)
        }
    }

    pub(crate) fn push(&self, message: Message) {
        self.messages.borrow_mut().push(message);
    }

    pub(crate) fn place(&self, span: &Range<usize>) -> Place {
        let line = self.text[..span.start].matches('\n').count();
        if let Some(cell) = self.cells.get(line) {
            return cell.clone();
        }
        let own = span.start.saturating_sub(self.of_cells)..span.end.saturating_sub(self.of_cells);
        Place::in_text(self.file.clone(), &self.text[self.of_cells..], own)
    }

    pub(crate) fn into_messages(self) -> Messages {
        self.messages.into_inner()
    }
}
