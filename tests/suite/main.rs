//! The tests that look at tapoff from outside.

mod assignment;
mod european_lv;
