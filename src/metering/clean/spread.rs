//! Readings hours, days or months apart: each counts for the time between two stamps, which a change of the clock or the
//! calendar makes longer or shorter, and is spread evenly over it.
//!
//! A register counts from reading to reading, however far they are apart. An amount or a mean belongs to the time up to
//! its stamp (or from it), but to no more than the usual distance: what is beyond is a gap.

use chrono::{DateTime, Months, NaiveDateTime, TimeDelta, TimeZone};
use chrono_tz::Tz;

use super::readings::{Readings, is_register};
use crate::intervals::closed_columns::GatheredColumn;
use crate::time::grid::SPREAD_S;
use site::{Quantity, QuantityKind, Stamp};

const DAY_S: i64 = 86_400;
/// Distances that differ by so much are equal: a change of the clock. (s)
const SLACK_S: i64 = 2 * 3600;

/// Spreads the readings over quarter-hours within a window.
pub(crate) fn spread(
    readings: &mut Readings,
    stamp: Stamp,
    every_s: i64,
    zone: Tz,
    window: (i64, i64),
) {
    let stamps = std::mem::take(&mut readings.starts);
    let usual = Usual::of(&stamps, every_s, zone);
    let pieces = SpreadPieces::of(&stamps, stamp, usual, zone);
    let columns = std::mem::take(&mut readings.columns);
    let registers = columns.iter().any(|column| is_register(&column.name));
    let (Some(&first), Some(&last)) = (stamps.first(), stamps.last()) else {
        return;
    };
    let from = pieces.all.first().map_or(first, |piece| piece.0);
    let from = if registers {
        from.min(first) - SPREAD_S
    } else {
        from
    };
    let to = pieces.all.last().map_or(last, |piece| piece.1).max(last);
    let from = from.max(window.0.saturating_sub(SPREAD_S));
    let to = to.min(window.1);
    let starts: Vec<i64> = (from.div_euclid(SPREAD_S)..to.div_euclid(SPREAD_S))
        .map(|row| row * SPREAD_S)
        .collect();
    let spread: Vec<GatheredColumn> = columns
        .into_iter()
        .map(|column| {
            let values = if is_register(&column.name) {
                counts(&stamps, &column.values, &starts)
            } else {
                pieces.values(&column, &starts)
            };
            GatheredColumn::new(column.name, values)
        })
        .collect();
    // Rows without anything are gaps.
    let kept: Vec<usize> = (0..starts.len())
        .filter(|&row| spread.iter().any(|column| column.values[row].is_some()))
        .filter(|&row| starts[row] >= window.0 || registers)
        .collect();
    readings.starts = kept.iter().map(|&row| starts[row]).collect();
    readings.columns = spread
        .into_iter()
        .map(|column| {
            let values = kept.iter().map(|&row| column.values[row]).collect();
            GatheredColumn::new(column.name, values)
        })
        .collect();
    readings.interval_s = SPREAD_S;
}

/// The count of a register at the end of each row, on a straight line from reading to reading.
fn counts(stamps: &[i64], values: &[Option<f64>], starts: &[i64]) -> Vec<Option<f64>> {
    let known: Vec<(i64, f64)> = stamps
        .iter()
        .zip(values)
        .filter_map(|(&at, value)| Some((at, (*value)?)))
        .collect();
    let mut next = 0;
    starts
        .iter()
        .map(|start| {
            let at = start + SPREAD_S;
            while next < known.len() && known[next].0 < at {
                next += 1;
            }
            let (later_s, later) = *known.get(next)?;
            if later_s == at {
                return Some(later);
            }
            let (earlier_s, earlier) = *known.get(next.checked_sub(1)?)?;
            let share = (at - earlier_s) as f64 / (later_s - earlier_s) as f64;
            Some(earlier + (later - earlier) * share)
        })
        .collect()
}

/// The usual distance of readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Usual {
    /// Days of the local calendar.
    Days(i64),
    /// Months of the local calendar.
    Months(u32),
    Seconds(i64),
}

impl Usual {
    fn of(stamps: &[i64], every_s: i64, zone: Tz) -> Usual {
        let at_midnight = stamps.iter().filter(|&&at| {
            local(at, zone).is_some_and(|time| time.and_utc().timestamp().rem_euclid(DAY_S) == 0)
        });
        if 10 * at_midnight.count() < 9 * stamps.len() {
            return Usual::Seconds(every_s);
        }
        let days = (every_s + DAY_S / 2) / DAY_S;
        match days {
            28..=31 => Usual::Months(1),
            89..=92 => Usual::Months(3),
            365 | 366 => Usual::Months(12),
            1.. => Usual::Days(days),
            _ => Usual::Seconds(every_s),
        }
    }

    /// The moment so much before or after another.
    fn from(self, at: i64, back: bool, zone: Tz) -> i64 {
        let moved = |time: NaiveDateTime| match (self, back) {
            (Usual::Days(days), true) => time.checked_sub_signed(TimeDelta::days(days)),
            (Usual::Days(days), false) => time.checked_add_signed(TimeDelta::days(days)),
            (Usual::Months(months), true) => time.checked_sub_months(Months::new(months)),
            (Usual::Months(months), false) => time.checked_add_months(Months::new(months)),
            (Usual::Seconds(_), _) => None,
        };
        let by_calendar = local(at, zone).and_then(moved).and_then(|time| {
            let moment = zone.from_local_datetime(&time).earliest();
            let moment = moment.or_else(|| {
                zone.from_local_datetime(&(time + TimeDelta::hours(1)))
                    .earliest()
            });
            Some(moment?.timestamp())
        });
        by_calendar.unwrap_or(match (self, back) {
            (Usual::Seconds(step), true) => at - step,
            (Usual::Seconds(step), false) => at + step,
            (_, true) => at - DAY_S,
            (_, false) => at + DAY_S,
        })
    }
}

fn local(at: i64, zone: Tz) -> Option<NaiveDateTime> {
    Some(
        DateTime::from_timestamp(at, 0)?
            .with_timezone(&zone)
            .naive_local(),
    )
}

/// The time that each reading counts for, ascending and without overlap.
struct SpreadPieces {
    all: Vec<(i64, i64)>,
}

impl SpreadPieces {
    fn of(stamps: &[i64], stamp: Stamp, usual: Usual, zone: Tz) -> SpreadPieces {
        let piece = |index: usize| {
            let at = stamps[index];
            match stamp {
                Stamp::End => {
                    let whole = usual.from(at, true, zone);
                    let before = index.checked_sub(1).map(|before| stamps[before]);
                    (
                        before
                            .filter(|&before| before >= whole - SLACK_S)
                            .unwrap_or(whole),
                        at,
                    )
                }
                Stamp::Start => {
                    let whole = usual.from(at, false, zone);
                    let after = stamps.get(index + 1).copied();
                    (
                        at,
                        after
                            .filter(|&after| after <= whole + SLACK_S)
                            .unwrap_or(whole),
                    )
                }
            }
        };
        SpreadPieces {
            all: (0..stamps.len()).map(piece).collect(),
        }
    }

    /// Each row's part of the reading that it lies in.
    fn values(&self, column: &GatheredColumn, starts: &[i64]) -> Vec<Option<f64>> {
        let amount = Quantity::from_name(&column.name)
            .is_some_and(|quantity| quantity.kind() == QuantityKind::Amount);
        let mut index = 0;
        starts
            .iter()
            .map(|&start| {
                while index < self.all.len() && self.all[index].1 <= start {
                    index += 1;
                }
                let &(from, to) = self.all.get(index)?;
                let value = column.values[index]?;
                (from <= start).then(|| {
                    if amount {
                        value * SPREAD_S as f64 / (to - from) as f64
                    } else {
                        value
                    }
                })
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> i64 {
        DateTime::parse_from_rfc3339(text)
            .expect("a time")
            .timestamp()
    }

    fn spread_of(
        quantity: Quantity,
        stamp: Stamp,
        every_days: i64,
        days: &[(&str, f64)],
    ) -> Readings {
        let mut readings = Readings {
            starts: days.iter().map(|(day, _)| at(day)).collect(),
            interval_s: SPREAD_S,
            columns: vec![GatheredColumn::new(
                quantity.name(),
                days.iter().map(|(_, value)| Some(*value)).collect(),
            )],
        };
        spread(
            &mut readings,
            stamp,
            every_days * DAY_S,
            Tz::Europe__London,
            (i64::MIN, i64::MAX),
        );
        readings
    }

    /// Clocks went forward on 29 March 2026: that day has 23 h, 92 quarter-hours.
    #[test]
    fn a_day_is_as_long_as_the_local_calendar_says() {
        let days = [
            ("2026-03-28T00:00:00Z", 96.0),
            ("2026-03-29T00:00:00Z", 92.0),
            ("2026-03-29T23:00:00Z", 96.0),
        ];
        let readings = spread_of(Quantity::EnergyInterval, Stamp::Start, 1, &days);
        assert_eq!(readings.starts.len(), 96 + 92 + 96);
        let values = readings.columns[0].values.iter();
        assert!(values.flatten().all(|value| (value - 1.0).abs() < 1e-12));
    }

    /// A month without a reading is a gap; the first reading of an End-stamped log is the month before it.
    #[test]
    fn months_and_gaps() {
        let months = [
            ("2026-01-01T00:00:00Z", 31.0),
            ("2026-02-01T00:00:00Z", 31.0),
            ("2026-04-30T23:00:00Z", 30.0),
        ];
        let readings = spread_of(Quantity::EnergyInterval, Stamp::End, 31, &months);
        assert_eq!(readings.starts[0], at("2025-12-01T00:00:00Z"));
        // December, January and April; April begins at 23:00 UTC of 31 March.
        assert_eq!(readings.starts.len(), 96 * (31 + 31 + 30));
        let sum: f64 = readings.columns[0].values.iter().flatten().sum();
        assert!((sum - 92.0).abs() < 1e-9);
    }

    #[test]
    fn a_register_counts_between_its_readings() {
        let reads = [
            ("2026-01-01T00:00:00Z", 0.0),
            ("2026-02-01T00:00:00Z", 3100.0),
        ];
        let readings = spread_of(Quantity::EnergyImport(None), Stamp::End, 31, &reads);
        assert_eq!(readings.starts.len(), 31 * 96 + 1);
        let counts = &readings.columns[0].values;
        assert_eq!((counts[0], counts[31 * 96]), (Some(0.0), Some(3100.0)));
    }
}
