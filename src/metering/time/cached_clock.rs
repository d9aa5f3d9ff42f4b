//! Stamps that differ from the one before only in two digits need no second look at the calendar.

use super::clock::{Clock, Reading};

/// A clock that remembers what the last stamps looked like.
#[derive(Clone, Debug)]
pub(crate) struct CachedStamps {
    clock: Clock,
    last: Vec<u8>,
    steady: Option<Steady>,
}

/// Two digits of the last stamp of which the time is a linear function, all else being equal.
#[derive(Clone, Copy, Debug)]
struct Steady {
    digits: usize,
    /// Time with both digits 0. (Unix s)
    zero: i64,
    /// Time that one more represents. (s)
    unit: i64,
}

/// Highest value of seconds and minutes; other parts of a stamp have lower ones.
const LARGEST: i64 = 59;

impl CachedStamps {
    pub(crate) fn new(clock: Clock) -> CachedStamps {
        CachedStamps {
            clock,
            last: Vec::new(),
            steady: None,
        }
    }

    /// Reads a stamp, as the clock would.
    #[inline]
    pub(crate) fn read(&mut self, stamp: &[u8]) -> Reading {
        if let Some(steady) = self.steady
            && let Some(number) = self.number_at(steady.digits, stamp)
        {
            return Reading::At(steady.zero + steady.unit * number);
        }
        let reading = self.clock.read(stamp);
        self.steady = self.learn(stamp, reading);
        self.last.clear();
        self.last.extend_from_slice(stamp);
        reading
    }

    /// The number in two digits of a stamp that is otherwise the same as the last.
    #[inline]
    fn number_at(&self, digits: usize, stamp: &[u8]) -> Option<i64> {
        let (before, rest) = stamp.split_at_checked(digits)?;
        let (pair, after) = rest.split_at_checked(2)?;
        let same = stamp.len() == self.last.len()
            && before == &self.last[..digits]
            && after == &self.last[digits + 2..];
        if !same || !pair.iter().all(u8::is_ascii_digit) {
            return None;
        }
        let number = i64::from(pair[0] - b'0') * 10 + i64::from(pair[1] - b'0');
        (number <= LARGEST).then_some(number)
    }

    fn learn(&mut self, stamp: &[u8], reading: Reading) -> Option<Steady> {
        let Reading::At(at) = reading else {
            return None;
        };
        if stamp.len() != self.last.len() {
            return None;
        }
        let changed = stamp.iter().zip(&self.last).rposition(|(a, b)| a != b)?;
        // The change is in the last digit of the pair, or in the first.
        let pairs = [changed.checked_sub(1), Some(changed)];
        pairs
            .into_iter()
            .flatten()
            .find_map(|digits| self.try_pair(digits, stamp, at))
    }

    /// Is the time a linear function of these two digits?
    fn try_pair(&mut self, digits: usize, stamp: &[u8], at: i64) -> Option<Steady> {
        let number = self.number_at(digits, stamp)?;
        let mut with = |pair: &[u8; 2]| {
            let mut changed = stamp.to_vec();
            changed[digits..digits + 2].copy_from_slice(pair);
            match self.clock.read(&changed) {
                Reading::At(at) => Some(at),
                _ => None,
            }
        };
        let (zero, last) = (with(b"00")?, with(b"59")?);
        let unit = (last - zero) / LARGEST;
        let even = zero + unit * LARGEST == last && zero + unit * number == at;
        even.then_some(Steady { digits, zero, unit })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::{DateTime, TimeDelta};
    use chrono_tz::Tz;
    use proptest::prelude::*;
    use site::{RepeatedHour, TimeColumn, TimeFormat, Zone};

    fn clock(format: TimeFormat, midnight_closes_day: bool) -> Clock {
        let column = TimeColumn {
            columns: Vec::new(),
            format,
            zone: Zone::Local,
            midnight_closes_day,
            repeated_hour: RepeatedHour::ByOrder,
        };
        Clock::new(&column, Tz::Europe__Berlin)
    }

    fn agree(format: TimeFormat, closes: bool, stamps: &[String]) {
        let mut plain = clock(format.clone(), closes);
        let mut stamped = CachedStamps::new(clock(format, closes));
        for stamp in stamps {
            assert_eq!(
                stamped.read(stamp.as_bytes()),
                plain.read(stamp.as_bytes()),
                "{stamp}"
            );
        }
    }

    #[test]
    fn the_second_stamp_of_a_minute_is_the_last_that_is_looked_up() {
        let mut stamps = CachedStamps::new(clock(TimeFormat::Iso, false));
        stamps.read(b"2026-03-09T09:30:00");
        assert!(stamps.steady.is_none());
        stamps.read(b"2026-03-09T09:30:01");
        let steady = stamps.steady.expect("seconds go evenly");
        assert_eq!((steady.digits, steady.unit), (17, 1));
        let mut minutes = CachedStamps::new(clock(TimeFormat::Iso, false));
        minutes.read(b"2026-03-09T09:15:00");
        minutes.read(b"2026-03-09T09:30:00");
        let steady = minutes.steady.expect("minutes go evenly");
        assert_eq!((steady.digits, steady.unit), (14, 60));
    }

    proptest! {
        #[test]
        fn stamps_are_read_as_the_clock_reads_them(
            start in 1_700_000_000_i64..1_800_000_000,
            near in prop::sample::select(vec![None, Some(1_774_746_000), Some(1_792_890_000)]),
            step in prop::sample::select(vec![1_i64, 5, 10, 60, 900, 3600, 86_400]),
            back in prop::collection::vec(0_i64..4, 100),
            pattern in 0_usize..6,
            closes: bool,
        ) {
            let patterns = [
                ("%Y-%m-%dT%H:%M:%S", TimeFormat::Iso),
                ("%Y-%m-%dT%H:%M:%S.%3fZ", TimeFormat::Iso),
                ("%d.%m.%Y %H:%M", TimeFormat::Pattern("%d.%m.%Y %H:%M".into())),
                ("%y%m%d %H%M%S", TimeFormat::Pattern("%y%m%d %H%M%S".into())),
                ("%s", TimeFormat::UnixSeconds),
                ("%s%3f", TimeFormat::UnixMillis),
            ];
            let (written, format) = patterns[pattern].clone();
            let mut time = DateTime::from_timestamp(near.unwrap_or(start), 0).expect("in range");
            let stamps: Vec<String> = back
                .iter()
                .map(|&back| {
                    time += TimeDelta::milliseconds(step * 1000 * (2 - back.min(3)) + 37 * back);
                    time.naive_utc().and_utc().format(written).to_string()
                })
                .collect();
            agree(format, closes, &stamps);
        }
    }
}
