//! The tests that look at tapoff from outside, in one binary.

mod assignment;
mod bad_inputs;
mod electrical_properties;
mod european_lv;
mod program;
mod shared_sites;
mod tolerance;
mod trade_facts;
mod worked_examples;
