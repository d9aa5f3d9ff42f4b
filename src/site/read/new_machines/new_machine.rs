//! A machine that is not connected yet, as its plate and its buyer describe it.

use crate::model::device::ProtectiveDevice;
use crate::model::machine::Machine;
use crate::model::node::Node;

/// How a machine starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// Starting current as a multiple of the rated one.
    pub ratio: f64,
    /// Power factor while starting.
    pub power_factor: f64,
    /// Is the ratio a typical one rather than the manufacturer's?
    pub is_typical: bool,
}

/// The cable from the circuit, or from the board, to the machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OwnCable {
    /// Length, one way. (m)
    pub length_m: f64,
    /// Cross-section; `None`: to be proposed. (mm²)
    pub mm2: Option<f64>,
}

/// A machine that looks for a place.
#[derive(Clone, Debug, PartialEq)]
pub struct NewMachine {
    /// What it is; not connected yet, its connection possibly open.
    pub machine: Machine,
    /// How it starts; `None` where its current does not rise above the rated one.
    pub start: Option<Start>,
    /// Its own cable.
    pub cable: Option<OwnCable>,
    /// Circuits and boards that may feed it; empty: all.
    pub candidates: Vec<Node>,
    /// What its plate leaves out and is taken as typical, one sentence each.
    pub typical: Vec<String>,
}

impl NewMachine {
    /// Its own protective device, where it has one already.
    #[must_use]
    pub fn device(&self) -> Option<ProtectiveDevice> {
        self.machine.protective_device
    }
}
