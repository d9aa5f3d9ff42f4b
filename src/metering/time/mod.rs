//! The times of a log: their form, the clock behind them, how often it was read, the interval they fall into.

pub(crate) mod cached_clock;
pub(crate) mod cadence;
pub(crate) mod clock;
pub(crate) mod first_times;
pub(crate) mod grid;
pub(crate) mod known;
pub(crate) mod repeated_hour;
pub(crate) mod time_format;
