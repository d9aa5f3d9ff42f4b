//! What has changed since the last report.

use export::{since_mark, since_title};
use since::Since;

/// The list.
#[derive(Debug)]
pub(super) struct SinceView {
    pub(super) title: String,
    pub(super) changes: Vec<ChangeView>,
    pub(super) notes: Vec<String>,
}

/// One change: a sign and a sentence.
#[derive(Debug)]
pub(super) struct ChangeView {
    pub(super) mark: &'static str,
    pub(super) text: String,
}

impl SinceView {
    pub(super) fn new(since: &Since) -> SinceView {
        let changes = since.changes.iter().map(|change| ChangeView {
            mark: since_mark(change.change),
            text: change.text.clone(),
        });
        SinceView {
            title: since_title(since),
            changes: changes.collect(),
            notes: since.notes.clone(),
        }
    }
}
