//! Files of interval data as suppliers, markets and loggers hand them out, recognised without a declaration.
//!
//! In: the text of a file and what is declared of its meter ([`FormatSource`]). Out: what it holds, meter by meter
//! ([`Transcript`]): channels of intervals in UTC with the quality that the source gives them, or the same table once
//! more as a plain log. Each format is one file behind the trait [`LogFormat`]; [`recognised`] asks them in turn, and
//! each says why it takes a file for its own. Files packed or kept in a workbook are opened by [`contents`].

mod cells;
mod channel;
pub mod column_unit;
mod container;
mod dates;
mod day_columns;
mod day_table;
mod day_versions;
mod energy_reading;
mod espi;
mod hand_registers;
mod kinds;
mod known_formats;
mod line_place;
mod local_days;
mod log_format;
mod market_time;
mod moments;
mod nem12;
mod nem12_day;
mod nem13;
mod nem_channels;
mod point_ids;
mod readings_table;
mod several_meters;
mod slots;
mod table_shape;
mod transcript;
mod unread_columns;
mod wide;

pub use cells::{FormEvidence, FoundForm, NumberForm};
pub use channel::{EstimatedRange, IntervalChannel, Stretch};
pub use container::{Content, contents, is_container};
pub use energy_reading::EnergyReading;
pub use known_formats::recognised;
pub use log_format::{FormatSource, LogFormat};
pub use point_ids::{PointChannels, by_point};
pub use transcript::{PlainLog, Transcript};
