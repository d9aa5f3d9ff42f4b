//! How much of the time has readings, and where they are missing.

use chrono::DateTime;

use super::quality::QualityEntry;

/// How much of the time has readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Coverage {
    /// Intervals with readings.
    pub present: usize,
    /// Intervals from the first to the last reading.
    pub expected: usize,
    /// Stretches without readings: start (Unix seconds) and length in intervals.
    pub gaps: Vec<(i64, i64)>,
    /// Length of an interval. (s)
    interval_s: i64,
}

impl Coverage {
    /// Share of the time that has readings. (%)
    pub fn percent(&self) -> f64 {
        if self.expected == 0 {
            0.0
        } else {
            100.0 * self.present as f64 / self.expected as f64
        }
    }

    /// Stretches with readings, start and end in Unix seconds; `first` and `last` are the starts of
    /// the first and last interval.
    pub fn stretches(&self, first: i64, last: i64) -> Vec<(i64, i64)> {
        let mut stretches = Vec::with_capacity(self.gaps.len() + 1);
        let mut from = first;
        for &(start, length) in &self.gaps {
            stretches.push((from, start));
            from = start + length * self.interval_s;
        }
        stretches.push((from, last + self.interval_s));
        stretches
    }

    pub(crate) fn entries(&self) -> Vec<QualityEntry> {
        let (Some(first), Some(last)) = (self.gaps.first(), self.gaps.last()) else {
            return Vec::new();
        };
        let missing: i64 = self.gaps.iter().map(|(_, length)| length).sum();
        let longest = self
            .gaps
            .iter()
            .map(|(_, length)| *length)
            .max()
            .unwrap_or(0);
        let time = |at: i64| DateTime::from_timestamp(at, 0);
        vec![QualityEntry {
            kind: "gap".to_owned(),
            count: self.gaps.len() as u64,
            first: time(first.0),
            last: time(last.0 + last.1 * self.interval_s),
            note: format!(
                "{missing} intervals without readings, the longest gap {}; not filled",
                duration(longest * self.interval_s)
            ),
            ..QualityEntry::default()
        }]
    }
}

/// `4 d 30 min`, `3 h`, `15 min`.
fn duration(seconds: i64) -> String {
    let (days, hours, minutes) = (seconds / 86_400, seconds / 3600 % 24, seconds / 60 % 60);
    let parts = [(days, "d"), (hours, "h"), (minutes, "min")];
    let parts = parts.iter().filter(|(count, _)| *count > 0);
    let parts: Vec<String> = parts
        .map(|(count, unit)| format!("{count}\u{a0}{unit}"))
        .collect();
    parts.join(" ")
}

/// Coverage of ascending interval starts.
pub(crate) fn coverage(starts: &[i64], interval_s: i64) -> Coverage {
    let gaps: Vec<(i64, i64)> = starts
        .windows(2)
        .filter(|pair| pair[1] - pair[0] > interval_s)
        .map(|pair| (pair[0] + interval_s, (pair[1] - pair[0]) / interval_s - 1))
        .collect();
    let expected = match (starts.first(), starts.last()) {
        (Some(first), Some(last)) => ((last - first) / interval_s + 1) as usize,
        _ => 0,
    };
    Coverage {
        present: starts.len(),
        expected,
        gaps,
        interval_s,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gaps_are_counted_and_measured() {
        let coverage = coverage(&[0, 900, 3600, 4500], 900);
        assert_eq!((coverage.present, coverage.expected), (4, 6));
        assert_eq!(coverage.gaps, [(1800, 2)]);
        assert!((coverage.percent() - 66.667).abs() < 0.001);
        assert!(coverage.entries()[0].note.contains("30\u{a0}min"));
    }

    #[test]
    fn durations_read_well() {
        assert_eq!(duration(4 * 86_400 + 1800), "4\u{a0}d 30\u{a0}min");
        assert_eq!(duration(3 * 3600), "3\u{a0}h");
        assert_eq!(duration(900), "15\u{a0}min");
    }
}
