//! Cumulative registers as one count that never falls: rollover, reset, exchange, readings that
//! dip or jump and come back.

mod unwind;

use unwind::{RegisterReading, Unwinding};

use super::readings::is_multiple;
use crate::table::quality::QualityEntry;

/// What is known of a register besides its readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct RegisterRules {
    /// Factor between the register's own figures and those of the table.
    pub(crate) factor: f64,
    /// Digits before the decimal sign; `None`: learned.
    pub(crate) digits: Option<u32>,
    /// Largest power that the supply's limits allow; the same for reactive power. \[kW, kvar\]
    pub(crate) limit_kw: f64,
}

/// A register's readings corrected.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Unwound {
    /// One count that never falls, beginning with the first reading; `None` where nothing was read
    /// or the reading is left out. \[kWh, kvarh\]
    pub(crate) counts: Vec<Option<f64>>,
    pub(crate) quality: Vec<QualityEntry>,
}

/// Energy between two readings of a register that follow one another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct RegisterStep {
    /// Start of the interval with the earlier reading, Unix seconds.
    pub(crate) from_s: i64,
    /// Start of the interval with the later reading, Unix seconds.
    pub(crate) to_s: i64,
    /// What the register counted in between. \[kWh\]
    pub(crate) energy_kwh: f64,
}

/// The steps of a register that has been corrected.
pub(crate) fn register_steps(
    starts: &[i64],
    counts: impl Iterator<Item = Option<f64>>,
) -> Vec<RegisterStep> {
    let known: Vec<(i64, f64)> = starts
        .iter()
        .zip(counts)
        .filter_map(|(&start, count)| Some((start, count?)))
        .collect();
    known
        .windows(2)
        .map(|pair| RegisterStep {
            from_s: pair[0].0,
            to_s: pair[1].0,
            energy_kwh: pair[1].1 - pair[0].1,
        })
        .collect()
}

/// What a register that has been corrected counted; `None` with fewer than two readings. \[kWh\]
pub fn counted(counts: impl DoubleEndedIterator<Item = Option<f64>>) -> Option<f64> {
    let mut readings = counts.flatten();
    let (first, last) = (readings.next()?, readings.next_back()?);
    Some(last - first)
}

/// The last digit that a register shows: the largest power of ten of which all readings are
/// multiples, in the units of the table; 0 where none is. \[kWh\]
pub(crate) fn last_digit(readings: &[Option<f64>], factor: f64) -> f64 {
    let digits = [100.0, 10.0, 1.0, 0.1, 0.01, 0.001];
    let digit = digits.into_iter().find(|&digit| {
        readings
            .iter()
            .flatten()
            .all(|&reading| is_multiple(reading / factor, digit))
    });
    digit.unwrap_or(0.0) * factor
}

/// Puts the readings of one register right.
pub(crate) fn unwind(starts: &[i64], readings: &[Option<f64>], rules: RegisterRules) -> Unwound {
    let known: Vec<RegisterReading> = starts
        .iter()
        .zip(readings)
        .enumerate()
        .filter_map(|(row, (&start, value))| {
            value.map(|value| RegisterReading { row, start, value })
        })
        .collect();
    let mut walk = Unwinding::new(&known, readings, rules);
    let mut counts = vec![None; readings.len()];
    let mut index = 0;
    while index < known.len() {
        let next = walk.take(index);
        if let Some(count) = walk.count_at(index) {
            counts[known[index].row] = Some(count);
        }
        index = next;
    }
    Unwound {
        counts,
        quality: walk.quality(),
    }
}

#[cfg(test)]
mod tests;
