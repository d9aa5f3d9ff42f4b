//! Electrical formulas, pure functions of quantities. Knows no other room.

mod phase;

pub use phase::{NotAPhase, Phase, PhasePair};
