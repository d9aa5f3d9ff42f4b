//! What has changed since the last report, in a short list.
//!
//! In: the last report's JSON ([`read_snapshot`]) and the present results in the same shape ([`report_value`]). Out:
//! a [`Since`]. Energies of periods of different lengths are compared per day of readings; what the
//! last report does not give is not compared, with a note.

mod compare;
mod entry;
mod findings;
mod percent;
mod read;
mod snapshot;

pub use compare::compare;
pub use entry::{Direction, Since, SinceEntry, Subject};
pub use read::{read_snapshot, snapshot_of};
pub use snapshot::{FindingThen, MachineThen, MeterThen, Snapshot, report_value};
