//! The tests that look at tapoff from outside, in one binary.

mod assignment;
mod demo_diagnosis;
mod electrical_properties;
mod european_lv;
mod joint;
mod shared_sites;
mod tolerance;
mod trade_facts;
mod worked_examples;
