//! The columns of a meter corrected: registers, resets of the clock, readings that cannot be, parts added up.

pub(crate) mod clock_resets;
pub(crate) mod derive;
pub(crate) mod plausible;
pub(crate) mod put_right;
pub(crate) mod readings;
pub(crate) mod register;
pub(crate) mod register_check;
pub(crate) mod spread;
