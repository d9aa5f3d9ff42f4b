//! What a search comes back with.

use crate::search::incumbent::Record;

/// The best allocation found and the work it took.
#[derive(Debug)]
pub(crate) struct Found {
    pub(crate) best: Record,
    pub(crate) work: u64,
}
