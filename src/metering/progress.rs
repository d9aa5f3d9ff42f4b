//! Progress of reading the logs, for display.

/// Receives the progress of reading the logs. Calls may come from any thread.
pub trait Progress: Sync {
    /// So many bytes are to be read in all, as far as is known before.
    fn expect(&self, bytes: u64);

    /// So many more bytes have been read.
    fn advance(&self, bytes: u64);
}

/// Tells nobody.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unwatched;

impl Progress for Unwatched {
    fn expect(&self, _: u64) {}

    fn advance(&self, _: u64) {}
}
