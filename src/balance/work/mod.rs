//! The moves as work: the effect of each, and an order in which no step overloads a conductor.

pub(crate) mod effect;
pub(crate) mod order_rules;
pub(crate) mod order_search;
pub(crate) mod work_order;
