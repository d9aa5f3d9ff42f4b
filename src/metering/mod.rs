//! Meter logs into clean interval tables.
//!
//! In: the site's meters as declared and their log files. Out: per meter an [`IntervalTable`] of
//! means over base intervals (one minute for faster logs, the log's own step otherwise), the
//! coverage, the register's consumption and a list of oddities. A file is read once for all the
//! meters that use it; unknown stays unknown.

mod accumulate;
mod clock;
mod derive;
mod dialect;
mod gaps;
mod interval_table;
mod layout;
mod logs;
mod phasors;
mod quality;
mod register;
mod rows;
mod text_log;

pub use gaps::Coverage;
pub use interval_table::IntervalTable;
pub use logs::{LoggedColumn, Logs, MeterLog, Period, read_logs};
pub use phasors::{AngleBasis, PhasePhasors, phase_phasors};
pub use quality::QualityEntry;
pub(crate) use register::{RegisterStep, register_steps};
