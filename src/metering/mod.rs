//! Meter logs into clean interval tables.
//!
//! In: the site's meters as declared and their log files. Out: per meter an [`IntervalTable`] of
//! means over base intervals (one minute for faster logs, the log's own step otherwise), the
//! coverage, the register's consumption and a list of oddities. A file is read once for all the
//! meters that use it; unknown stays unknown. What is not logged is derived where physics allows,
//! and each column says whether it is measured, derived or estimated ([`Origin`]). Rounds of
//! readings made by hand come out as they are.

mod bins;
mod carbon_factors;
mod chunks;
mod clamp;
mod clean;
mod clock;
mod clock_resets;
mod derive;
mod dialect;
#[cfg(test)]
mod fast_and_careful;
mod fast_line;
mod file_faults;
mod file_form;
mod file_reading;
mod first_times;
mod gaps;
mod gathered;
mod gathering;
mod grid;
mod headers;
mod interval_table;
mod intervals;
mod kept;
mod layout;
mod line_oddities;
mod log_files;
mod logs;
mod merger;
mod met;
mod meter_part;
mod origin;
mod parquet_column;
mod parquet_delta;
mod parquet_file;
mod parquet_header;
mod parquet_log;
mod parquet_pages;
#[cfg(test)]
mod parquet_tests;
mod phasors;
mod plausible;
mod progress;
mod quality;
mod readings;
mod records;
mod register;
mod register_check;
mod rows;
mod sample_neutral;
mod shape;
mod stamps;
mod steps;
mod text_log;
mod text_source;
mod time_format;
mod words;

pub use carbon_factors::CarbonFactors;
pub use clamp::{ClampReading, Round};
pub use file_form::FileForm;
pub use gaps::Coverage;
pub use headers::Reason;
pub use interval_table::IntervalTable;
pub use logs::{LoggedColumn, Logs, MeterLog, Period, read_logs, read_logs_watched};
pub use origin::Origin;
pub use phasors::{AngleBasis, PhasePhasors};
pub use plausible::FREQUENCY_SHARE;
pub use progress::{Progress, Unwatched};
pub use quality::{Action, QualityEntry};
pub use register::counted;
pub use register_check::RegisterCheck;
pub use shape::COMPUTED_NEUTRAL;
pub use text_source::Encoding;
pub use words::{WordShare, Words, read_words};
