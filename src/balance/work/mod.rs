//! The moves as work: what each brings, and an order in which no step overloads anything.

pub(crate) mod effect;
pub(crate) mod order_rules;
pub(crate) mod order_search;
pub(crate) mod work_order;
