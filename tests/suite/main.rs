//! The tests that look at tapoff from outside, in one binary.

mod assignment;
mod electrical_properties;
mod european_lv;
mod infeasible;
mod readings;
mod shared_sites;
mod tiny_site;
mod tolerance;
mod trade_facts;
mod work_order;
mod worked_examples;
