//! Meter logs into clean interval tables.
//!
//! In: the site's meters as declared and their log files. Out: per meter an [`IntervalTable`] of
//! means over base intervals (one minute for faster logs, the log's own step otherwise), the
//! coverage, the register's consumption and a list of problems. A file is read once for all the
//! meters that use it; unknown stays unknown. What is not logged is derived where physics allows,
//! and each column says whether it is measured, derived or estimated ([`Origin`]). Rounds of
//! readings made by hand come out as they are.

mod carbon_factors;
mod clamp;
mod clean;
mod header;
mod intervals;
mod log_alone;
mod log_contents;
mod log_files;
mod logged_column;
mod logs;
mod meter_files;
mod meter_log;
mod point_search;
mod progress;
mod rows;
mod source;
mod table;
mod time;
mod words;

pub use crate::clean::plausible::FREQUENCY_SHARE;
pub use crate::clean::register::counted;
pub use crate::clean::register_check::RegisterCheck;
pub use crate::header::file_form::FileForm;
pub use crate::header::names::Reason;
pub use crate::intervals::aggregation::COMPUTED_NEUTRAL;
pub use crate::source::text_source::Encoding;
pub use crate::table::gaps::Coverage;
pub use crate::table::interval_table::IntervalTable;
pub use crate::table::logged::Logged;
pub use crate::table::meter_fault::{FaultKind, MeterFault, Treatment};
pub use crate::table::origin::Origin;
pub use crate::table::phasors::{AngleBasis, PhasePhasors};
pub use crate::table::quality::{Action, QualityEntry};
pub use carbon_factors::CarbonFactors;
pub use clamp::{ClampReading, Round, SwitchingTest, read_typed_switching, reading_doubts};
pub use log_alone::{LogAlone, open_log};
pub use logged_column::LoggedColumn;
pub use logs::{Logs, Period, read_logs, read_logs_watched};
pub use meter_log::MeterLog;
pub use progress::{Progress, Unwatched};
pub use words::{WordShare, Words, read_words};
