//! The connection points of each new machine.

use crate::load::NewLoad;
use crate::placement_error::PlacementError;
use crate::scene::Scene;
use crate::search::spots;
use site::{Connection, NewMachine, Node};

/// One connection point of one machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Choice {
    pub(super) node: Node,
    pub(super) connection: Connection,
    pub(super) turn: usize,
    /// Length of its path, in whole millimetres, so that sums have one order. (mm)
    pub(super) length_mm: u64,
}

/// The connection points of a machine, in the order of the site file.
pub(super) fn choices(
    scene: &Scene<'_>,
    (machine, load): (usize, &NewLoad),
    new: &NewMachine,
) -> Result<Vec<Choice>, PlacementError> {
    let choice = |(node, connection)| {
        let spot = scene.spot((machine, load), (node, connection), &[]);
        Choice {
            node,
            connection,
            turn: spot.turn(),
            length_mm: (1000.0 * spot.path_m()).round() as u64,
        }
    };
    Ok(spots(scene.site, new)?.into_iter().map(choice).collect())
}
