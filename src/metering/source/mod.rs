//! The bytes of a log: unpacked, decoded, cut into chunks at line ends, taken apart into records.

pub(crate) mod chunks;
pub(crate) mod records;
pub(crate) mod text_source;
