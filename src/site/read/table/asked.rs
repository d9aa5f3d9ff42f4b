//! Which declared keys the reader asks for, noted while tests read sites.

use std::cell::RefCell;
use std::collections::BTreeSet;

use declaration::Declared;

thread_local! {
    static NEVER: RefCell<BTreeSet<String>> = RefCell::default();
    static FINISHED: RefCell<BTreeSet<String>> = RefCell::default();
}

/// Notes a table that is read to its end, and the declared keys that its reader left alone.
pub(crate) fn note(title: &str, declared: &Declared, asked: &[&str]) {
    FINISHED.with_borrow_mut(|finished| finished.insert(title.to_owned()));
    for name in declared.names().filter(|name| !asked.contains(name)) {
        NEVER.with_borrow_mut(|never| never.insert(format!("{name} in {title}")));
    }
}

/// Titles of the tables read so far on this thread, and the keys that no reader asked for.
pub(crate) fn noted() -> (BTreeSet<String>, BTreeSet<String>) {
    (FINISHED.take(), NEVER.take())
}
