//! Sites whose truth is known: a solved four-wire circuit of source, lines, neutral and loads, and a meter in it with its
//! wiring, ratios, noise and resolution. Faults of circuit and meter begin and end when a test says so.
//!
//! Everything is invented; the circuit is solved exactly, row by row, as a linear network (node voltages).

mod circuit;
mod dice;
mod loads;
mod meter;

pub use circuit::{BackFeed, Circuit, Wires};
pub use dice::Dice;
pub use loads::{Load, Workshop};
pub use meter::{Column, Fault, Meter, log};
