//! What a search comes back with.

use crate::search::incumbent::Incumbent;

/// The best allocation found and the work it took.
#[derive(Debug)]
pub(crate) struct BestFound {
    pub(crate) best: Incumbent,
    pub(crate) work: u64,
}
