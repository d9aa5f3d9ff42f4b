//! Series over a common time axis, as drawings and day curves are given them.

use chrono_tz::Tz;

use super::style::Ink;

/// The time axis of the panels.
#[derive(Clone, Copy, Debug)]
pub struct TimeAxis<'a> {
    /// Starts of the intervals, Unix seconds, ascending.
    pub start_s: &'a [i64],
    /// Length of an interval. (s)
    pub interval_s: u32,
    /// The site's time zone, for the dates on the axis.
    pub zone: Tz,
}

impl TimeAxis<'_> {
    /// First start and last end, Unix seconds.
    #[must_use]
    pub fn bounds(&self) -> (i64, i64) {
        let first = self.start_s.first().copied().unwrap_or(0);
        let last = self.start_s.last().copied().unwrap_or(0);
        (first, last + i64::from(self.interval_s.max(1)))
    }
}

/// One series with its limit.
#[derive(Clone, Debug)]
pub struct Panel<'a> {
    /// Name at the top of the panel.
    pub name: String,
    /// Its ink.
    pub ink: Ink,
    /// One value for each interval. (A)
    pub values: &'a [f64],
    /// The limit, drawn and labelled. (A)
    pub limit: Option<f64>,
}
