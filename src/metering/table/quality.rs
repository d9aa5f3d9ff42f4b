//! Problems found in a log: count, dates, place, and what was done about them.

use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::Serialize;

/// What was done about a problem.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// The readings are kept out of the figures.
    LeftOut,
    /// Repeated readings count once.
    CountedOnce,
    /// Of contradicting readings the first counts.
    FirstKept,
    /// Of several, the last stays.
    LastKept,
    /// The readings are read in the only way that makes sense of them, and the note says which.
    Corrected,
    /// Nothing: they may be right, or nothing is known that would put them right.
    Kept,
}

impl Action {
    /// Name in results.
    pub const fn name(self) -> &'static str {
        match self {
            Action::LeftOut => "left-out",
            Action::CountedOnce => "counted-once",
            Action::FirstKept => "first-kept",
            Action::LastKept => "last-kept",
            Action::Corrected => "corrected",
            Action::Kept => "kept",
        }
    }
}

/// One kind of problem found in a log.
#[derive(Clone, Debug, Default, PartialEq, JsonSchema, Serialize)]
pub struct QualityEntry {
    /// Kebab-case name: `gap`, `duplicate`, `unreadable-cell`, …
    pub kind: String,
    /// How often.
    pub count: u64,
    /// First time it was seen.
    #[serde(serialize_with = "units::serial::utc_option")]
    pub first: Option<DateTime<Utc>>,
    /// Last time it was seen.
    #[serde(serialize_with = "units::serial::utc_option")]
    pub last: Option<DateTime<Utc>>,
    /// File of the first line where it was seen, where it is a problem of lines.
    pub first_file: Option<String>,
    /// That line, from 1.
    pub first_line: Option<u64>,
    /// File of the last line where it was seen.
    pub last_file: Option<String>,
    /// That line, from 1.
    pub last_line: Option<u64>,
    /// What was seen and what was done with it, in one sentence.
    pub note: String,
    /// What was done.
    pub action: Option<Action>,
    /// How much more (or less) energy the meter's figure shows than if the log had been taken as it
    /// stands; `None` where that cannot be known. \[kWh\]
    pub effect_kwh: Option<f64>,
}

impl QualityEntry {
    /// A problem seen in the intervals that begin at these times (Unix seconds, ascending).
    pub fn at_times(kind: &str, times: &[i64], note: String) -> QualityEntry {
        let time = |at: Option<&i64>| at.and_then(|&at| DateTime::from_timestamp(at, 0));
        QualityEntry {
            kind: kind.to_owned(),
            count: times.len() as u64,
            first: time(times.first()),
            last: time(times.last()),
            note,
            ..QualityEntry::default()
        }
    }

    /// With what was done.
    #[must_use]
    pub fn with(self, action: Action) -> QualityEntry {
        QualityEntry {
            action: Some(action),
            ..self
        }
    }

    /// With what that did to the meter's energy. \[kWh\]
    #[must_use]
    pub(crate) fn changing(self, effect_kwh: Option<f64>) -> QualityEntry {
        QualityEntry { effect_kwh, ..self }
    }

    /// Where the lines are: `meters/main.csv, lines 12–40`; empty where it is not one of lines.
    pub fn lines(&self) -> String {
        let (Some(first_file), Some(first)) = (&self.first_file, self.first_line) else {
            return String::new();
        };
        match (&self.last_file, self.last_line) {
            (Some(last_file), Some(last)) if last_file != first_file => {
                format!("{first_file}, row {first} … {last_file}, row {last}")
            }
            (_, Some(last)) if last != first => format!("{first_file}, rows {first}–{last}"),
            _ => format!("{first_file}, row {first}"),
        }
    }
}

/// A line of a log: which of the meter's files, and the line from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct ReadingLine {
    file: usize,
    line: usize,
}

impl ReadingLine {
    /// A line of the chunk or file that is being read.
    pub(crate) const fn line(line: usize) -> ReadingLine {
        ReadingLine { file: 0, line }
    }

    /// The same line counted from so many lines earlier.
    pub(crate) const fn moved(self, lines: usize) -> ReadingLine {
        ReadingLine {
            line: self.line + lines,
            ..self
        }
    }

    /// The same line in one of several files.
    pub(crate) const fn in_file(self, file: usize) -> ReadingLine {
        ReadingLine { file, ..self }
    }
}

/// Counts one kind of problem while a log is read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Tally {
    pub(crate) count: u64,
    times: Option<(i64, i64)>,
    spots: Option<(ReadingLine, ReadingLine)>,
}

impl Tally {
    /// The same without the lines.
    #[cfg(test)]
    pub(crate) fn without_lines(self) -> Tally {
        Tally {
            spots: None,
            ..self
        }
    }

    /// One more, at this time (Unix seconds) if it is known.
    pub(crate) fn add(&mut self, at: Option<i64>) {
        self.count += 1;
        self.times = joined(self.times, at.map(|at| (at, at)));
    }

    /// One more, on this line.
    pub(crate) fn add_at(&mut self, at: Option<i64>, spot: ReadingLine) {
        self.add(at);
        self.spots = joined(self.spots, Some((spot, spot)));
    }

    /// The same counts with other lines.
    pub(crate) fn placed(self, place: impl Fn(ReadingLine) -> ReadingLine) -> Tally {
        Tally {
            spots: self.spots.map(|(first, last)| (place(first), place(last))),
            ..self
        }
    }

    pub(crate) fn merge(&mut self, other: Tally) {
        self.count += other.count;
        self.times = joined(self.times, other.times);
        self.spots = joined(self.spots, other.spots);
    }

    /// The entry for the result, if there was anything. `files` are the names behind the numbers.
    pub(crate) fn entry_in(
        self,
        files: &[String],
        kind: &str,
        note: impl Into<String>,
    ) -> Option<QualityEntry> {
        let time = |at: i64| DateTime::from_timestamp(at, 0);
        let file = |spot: ReadingLine| files.get(spot.file).cloned();
        let line = |spot: ReadingLine| spot.line as u64 + 1;
        (self.count > 0).then(|| QualityEntry {
            kind: kind.to_owned(),
            count: self.count,
            first: self.times.and_then(|(first, _)| time(first)),
            last: self.times.and_then(|(_, last)| time(last)),
            first_file: self.spots.and_then(|(first, _)| file(first)),
            first_line: self.spots.map(|(first, _)| line(first)),
            last_file: self.spots.and_then(|(_, last)| file(last)),
            last_line: self.spots.map(|(_, last)| line(last)),
            note: note.into(),
            ..QualityEntry::default()
        })
    }

    /// As [`Tally::entry_in`], where lines are not known.
    pub(crate) fn entry(self, kind: &str, note: impl Into<String>) -> Option<QualityEntry> {
        self.entry_in(&[], kind, note)
    }
}

/// The smallest stretch that holds both.
fn joined<T: Copy + Ord>(one: Option<(T, T)>, other: Option<(T, T)>) -> Option<(T, T)> {
    match (one, other) {
        (Some(one), Some(other)) => Some((one.0.min(other.0), one.1.max(other.1))),
        (one, other) => one.or(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_of_chunks_and_files_keep_first_and_last_line() {
        let mut file = Tally::default();
        file.add_at(Some(50), ReadingLine::line(3));
        let mut chunk = Tally::default();
        chunk.add_at(Some(20), ReadingLine::line(1));
        chunk.add_at(None, ReadingLine::line(4));
        file.merge(chunk.placed(|spot| spot.moved(100)));
        let mut meter = file.placed(|spot| spot.in_file(0));
        let mut second = Tally::default();
        second.add_at(Some(90), ReadingLine::line(0));
        meter.merge(second.placed(|spot| spot.in_file(1)));
        let files = ["a.csv".to_owned(), "b.csv".to_owned()];
        let entry = meter.entry_in(&files, "kind", "note").expect("counted");
        assert_eq!(entry.count, 4);
        assert_eq!(entry.first.map(|at| at.timestamp()), Some(20));
        assert_eq!(entry.last.map(|at| at.timestamp()), Some(90));
        assert_eq!(entry.lines(), "a.csv, row 4 … b.csv, row 1");
        assert_eq!(entry.first_line, Some(4));
    }

    #[test]
    fn lines_read_well() {
        let mut tally = Tally::default();
        tally.add_at(None, ReadingLine::line(6));
        let files = ["a.csv".to_owned()];
        let entry = |tally: Tally| tally.entry_in(&files, "kind", "").expect("counted");
        assert_eq!(entry(tally).lines(), "a.csv, row 7");
        tally.add_at(None, ReadingLine::line(8));
        assert_eq!(entry(tally).lines(), "a.csv, rows 7–9");
        assert_eq!(Tally::default().entry("kind", ""), None);
    }
}
