//! Logs kept as Parquet, row group by row group, with every size looked at before room is made for it.

pub(crate) mod column;
pub(crate) mod delta;
pub(crate) mod file;
pub(crate) mod header;
pub(crate) mod log;
pub(crate) mod pages;
#[cfg(test)]
pub(crate) mod tests;
