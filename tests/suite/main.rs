//! All checks from outside the crate, in one binary.

mod electrical_properties;
mod tolerance;
mod trade_facts;
mod worked_examples;
