//! Which phase each movable load should be tapped off.

mod result;

pub use result::{
    BalanceResult, BalanceTrace, Basis, MachineShare, Move, MovesPoint, NodeFigures, NodeResult,
    Objective, PhasorMoment, Proof,
};
