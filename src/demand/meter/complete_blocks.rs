//! Which intervals make up complete demand periods.

use std::ops::Range;

use chrono::{TimeZone, Timelike};

use site::Site;

/// Ranges of intervals that make up complete blocks of the site's demand window on its local clock; none
/// where the window is not a multiple of the interval.
#[must_use]
pub fn complete_blocks(site: &Site, starts: &[i64], interval_s: i64) -> Vec<Range<usize>> {
    let window_s = i64::from(site.demand_window_min) * 60;
    if interval_s <= 0 || window_s % interval_s != 0 {
        return Vec::new();
    }
    let count = (window_s / interval_s) as usize;
    let block = |start: i64| {
        let local = site.timezone.timestamp_opt(start, 0).single();
        let into = local.map_or(0, |local| i64::from(local.num_seconds_from_midnight()));
        start - into.rem_euclid(window_s)
    };
    let mut blocks = Vec::new();
    let mut from = 0;
    while from < starts.len() {
        let key = block(starts[from]);
        let to = from
            + starts[from..]
                .iter()
                .take_while(|&&start| block(start) == key)
                .count();
        if to - from == count {
            blocks.push(from..to);
        }
        from = to;
    }
    blocks
}
