//! A new machine that is already placed, while another is being placed.

use super::load::NewLoad;
use balance::turn;
use site::{Connection, Node};

/// Another new machine, already placed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guest<'p> {
    /// Its number in the list of new machines.
    pub(super) machine: usize,
    pub(super) load: &'p NewLoad,
    pub(super) node: Node,
    pub(super) connection: Connection,
}

impl Guest<'_> {
    pub(super) fn turn(&self) -> usize {
        turn(self.connection).unwrap_or(0)
    }
}
