//! All checks from outside the crate, in one binary.

mod assignment;
mod electrical_properties;
mod european_lv;
mod shared_sites;
mod tolerance;
mod trade_facts;
mod worked_examples;
