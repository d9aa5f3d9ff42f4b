//! A new machine that has a place already, while others look for theirs.

use super::load::Load;
use balance::turn;
use site::{Connection, Node};

/// Another new machine that has a place already.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guest<'p> {
    /// Its number in the list of new machines.
    pub(super) machine: usize,
    pub(super) load: &'p Load,
    pub(super) node: Node,
    pub(super) connection: Connection,
}

impl Guest<'_> {
    pub(super) fn turn(&self) -> usize {
        turn(self.connection).unwrap_or(0)
    }
}
