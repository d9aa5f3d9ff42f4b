//! The file that tables are read from.

use std::cell::RefCell;
use std::ops::Range;

use crate::message::{Message, Messages, Place};

/// The file being read and the messages about it.
#[derive(Debug)]
pub(in crate::site) struct Source<'t> {
    pub(in crate::site) file: String,
    pub(in crate::site) text: &'t str,
    messages: RefCell<Messages>,
}

/// A value together with its place.
#[derive(Clone, Debug)]
pub(in crate::site) struct Located<T> {
    pub(in crate::site) value: T,
    pub(in crate::site) span: Range<usize>,
}

impl<'t> Source<'t> {
    pub(in crate::site) fn new(file: &str, text: &'t str) -> Self {
        Source {
            file: file.to_owned(),
            text,
            messages: RefCell::default(),
        }
    }

    pub(in crate::site) fn push(&self, message: Message) {
        self.messages.borrow_mut().push(message);
    }

    pub(in crate::site) fn place(&self, span: &Range<usize>) -> Place {
        Place::in_text(self.file.clone(), self.text, span.clone())
    }

    pub(in crate::site) fn into_messages(self) -> Messages {
        self.messages.into_inner()
    }
}
