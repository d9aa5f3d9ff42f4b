//! The tests that look at tapoff from outside, in one binary.

mod assignment;
mod bad_inputs;
mod bill;
mod breakdown;
mod clock_changes;
mod commands;
mod committed_report;
mod demo;
mod demo_diagnosis;
mod determinism;
mod electrical_properties;
mod european_lv;
mod faults;
mod first_run;
mod infeasible;
mod invoice;
mod joint;
mod known_answers;
mod log_shapes;
mod log_values;
mod metamorphic;
mod overwrite;
mod parts;
mod placement;
mod program;
mod readings;
mod readme;
mod register_finding;
mod schema;
mod shared_sites;
mod spreadsheet;
mod tariff_examples;
mod tiny_site;
mod tolerance;
mod too_large;
mod trade_facts;
mod trial_board;
mod words;
mod work_order;
mod workbook;
mod worked_examples;

#[path = "../../sample-data/generate/ferry_lane/mod.rs"]
mod ferry_lane;
