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
        }
    }

    pub(crate) fn push(&self, message: Message) {
        self.messages.borrow_mut().push(message);
    }

    pub(crate) fn place(&self, span: &Range<usize>) -> Place {
        Place::in_text(self.file.clone(), self.text, span.clone())
    }

    pub(crate) fn into_messages(self) -> Messages {
        self.messages.into_inner()
    }
}
