//! All checks from outside the crate, in one binary.

mod assignment;
mod electrical_properties;
mod european_lv;
mod tolerance;
mod trade_facts;
mod worked_examples;
