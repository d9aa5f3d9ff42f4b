//! Where a new machine can be connected.
//!
//! In: a [`Site`](site::Site), its logs, and a new machine. Out: for every connection point (circuit or board, and
//! phase) the checks with value, limit, unit and source, the effect on the neutral, and a rank with its reason; for
//! those that fail, a change after which they pass.
//!
//! The currents of a node come from its own log where it has one, interval by interval; from the difference of
//! other logs; from the meters of all its machines; else from ratings with a diversity factor. Each check states
//! its basis.

mod carried;
mod check;
mod chosen_intervals;
mod connection_point;
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
mod placement_error;
mod ranked_point;
mod remedy;
mod running_cost;
mod scene;
mod search;
mod settings;
mod supply_effect;
mod supply_figures;
mod together;
mod ways;

pub use carried::CarriedBasis;
pub use check::{Check, CheckName};
pub use network::DiversityRule;
pub use placement_error::PlacementError;
pub use ranked_point::{MoveNeeded, Placement, RankedPoint, Remedy, RemedyKind};
pub use running_cost::{BillEffect, LineEffect, RunningCost};
pub use search::place;
pub use settings::PlacementSettings;
pub use supply_effect::{BeforeAfter, SupplyEffect};
pub use together::{OneAfterTheOther, PlacedMachine, Together, place_together};
