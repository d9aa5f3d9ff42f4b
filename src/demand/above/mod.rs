//! A meter against those below it: what they lack, and whether their clocks agree.

pub(crate) mod all_loads;
pub(crate) mod clock_offset;
pub(crate) mod fine;
pub(crate) mod reconcile;
pub(crate) mod reconciliation;
