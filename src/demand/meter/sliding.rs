//! The largest demand over a window that begins with any interval, not only on the clock.

use chrono_tz::Tz;

use crate::clock;
use analysis::NetPower;
use metering::IntervalTable;

/// Largest mean over a sliding window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SlidingMaximum {
    /// Mean power. (kW)
    pub(crate) kw: f64,
    /// Start of the window, local time.
    pub(crate) at: Option<chrono::DateTime<chrono::FixedOffset>>,
}

/// The largest mean power over `window_min` minutes of consecutive intervals with readings; the
/// earliest on a tie. `None` where intervals do not fill the window, or nothing but energy given is seen.
pub(crate) fn sliding_maximum(
    zone: Tz,
    table: &IntervalTable,
    draw: NetPower<'_>,
    window_min: u32,
) -> Option<SlidingMaximum> {
    let interval_s = i64::from(table.interval_s());
    let window_s = i64::from(window_min) * 60;
    if interval_s > window_s || window_s % interval_s != 0 {
        return None;
    }
    let count = (window_s / interval_s) as usize;
    let power = draw.power_kw?;
    let starts = table.starts();
    let mut best: Option<(i64, f64)> = None;
    // Summed anew for each unbroken stretch, so that errors of rounding do not pile up.
    let mut first = 0;
    let mut sum = 0.0;
    for row in 0..power.len() {
        let follows = row > first && starts[row] - starts[row - 1] == interval_s;
        let Some(kw) = power.get(row) else {
            first = row + 1;
            sum = 0.0;
            continue;
        };
        if !follows {
            first = row;
            sum = 0.0;
        }
        sum += kw;
        if row + 1 - first > count {
            sum -= power.get(first).unwrap_or(0.0);
            first += 1;
        }
        if row + 1 - first == count && best.is_none_or(|(_, largest)| sum > largest + 1e-9) {
            best = Some((starts[first], sum));
        }
    }
    let (at_s, _) = best?;
    let row = starts.binary_search(&at_s).ok()?;
    let sum: f64 = (row..row + count).filter_map(|row| power.get(row)).sum();
    let kw = sum / count as f64;
    (kw >= 0.0).then(|| SlidingMaximum {
        kw,
        at: clock::stamp(zone, at_s),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{draw_of, power_table};

    fn maximum(values: &[Option<f64>], window_min: u32) -> Option<(String, f64)> {
        let table = power_table(0, 300, values);
        let found = sliding_maximum(Tz::UTC, &table, draw_of(&table), window_min)?;
        Some((found.at?.format("%H:%M").to_string(), found.kw))
    }

    /// A quarter-hour at 9 kW from five past: aligned blocks see two thirds of it.
    #[test]
    fn a_peak_across_the_border_of_blocks_is_seen_whole() {
        let values = [3.0, 9.0, 9.0, 9.0, 3.0, 3.0].map(Some);
        assert_eq!(maximum(&values, 15), Some(("00:05".to_owned(), 9.0)));
    }

    #[test]
    fn no_window_reaches_over_a_gap() {
        let values = [Some(1.0), Some(8.0), None, Some(8.0), Some(2.0), Some(2.0)];
        assert_eq!(maximum(&values, 15), Some(("00:15".to_owned(), 4.0)));
        assert_eq!(maximum(&values[..3], 15), None);
        assert_eq!(maximum(&[Some(-4.0); 3], 15), None);
    }
}
