//! The problem made ready: time folded into quadratic forms, limits screened, an allocation under change.

pub(crate) mod flow;
pub(crate) mod limits;
pub(crate) mod loss;
pub(crate) mod model;
pub(crate) mod near_flow;
pub(crate) mod peak;
pub(crate) mod quadratic;
pub(crate) mod screen;
pub(crate) mod state;
