//! What a file of a known format holds.

use super::channel::IntervalChannel;
use site::Stamp;

/// One meter's rows of a table, written once more as a plain log.
#[derive(Clone, Debug, PartialEq)]
pub struct PlainLog {
    /// The meter's identifier in the file; `None`: the file names none.
    pub point: Option<String>,
    /// The log: a header and rows with the separator of the file.
    pub text: Vec<u8>,
    /// Which end of the interval its times mark, where the format says so.
    pub stamp: Option<Stamp>,
}

/// What a file of a known format holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Transcript {
    /// Channels of intervals.
    Channels(Vec<IntervalChannel>),
    /// Tables that are read as plain logs.
    Logs(Vec<PlainLog>),
}
