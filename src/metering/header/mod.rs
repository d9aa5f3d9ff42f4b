//! How a log is written and what its columns are: from its first lines and what the site declares.

pub(crate) mod dialect;
pub(crate) mod file_form;
pub(crate) mod layout;
pub(crate) mod names;
pub(crate) mod stamp_of;
