//! Where a new machine can be connected.
//!
//! In: a [`Site`](site::Site), its logs, and a machine that looks for a place. Out: for every circuit
//! and phase the checks with value, limit, unit and source, what the place does to the neutral, and a rank with
//! its reason; for places that fail, the change that would make them fit.
//!
//! What a node carries is taken from its own log where it has one, interval by interval; from the difference of
//! logs around it; from the meters of all its machines; else from the declared ratings with a diversity. Each
//! check says which.

mod carried;
mod check;
mod demand_blocks;
mod effect;
mod load;
mod memo;
mod moves;
mod network;
mod own_checks;
mod path_checks;
mod place;
mod remedy;
mod running_cost;
mod search;
mod supply_effect;
mod together;
mod ways;

pub use carried::CarriedBasis;
pub use check::{Check, CheckName};
pub use network::Diversity;
pub use place::{MoveNeeded, Place, Placement, PlacementError, Remedy, RemedyKind};
pub use running_cost::{BillEffect, LineEffect, RunningCost};
pub use search::{PlacementSettings, place};
pub use supply_effect::{BeforeAfter, SupplyEffect};
pub use together::{OneAfterTheOther, PlacedMachine, Together, place_together};
