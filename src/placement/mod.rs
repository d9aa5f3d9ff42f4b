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
mod chosen_intervals;
mod demand_blocks;
mod effect;
mod guest;
mod load;
mod memo;
mod moves;
mod network;
mod own_checks;
mod path;
mod path_checks;
mod place;
mod placement_error;
mod remedy;
mod running_cost;
mod scene;
mod search;
mod settings;
mod spot;
mod supply_effect;
mod supply_figures;
mod together;
mod ways;

pub use carried::CarriedBasis;
pub use check::{Check, CheckName};
pub use network::Diversity;
pub use place::{MoveNeeded, Place, Placement, Remedy, RemedyKind};
pub use placement_error::PlacementError;
pub use running_cost::{BillEffect, LineEffect, RunningCost};
pub use search::place;
pub use settings::PlacementSettings;
pub use supply_effect::{BeforeAfter, SupplyEffect};
pub use together::{OneAfterTheOther, PlacedMachine, Together, place_together};
