//! What energy is broken down by.

use serde::{Serialize, Serializer};

/// Before the name of a column.
const COLUMN: &str = "column:";

/// What the energy is broken down by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BreakdownBy {
    /// Local day.
    Day,
    /// ISO week, Monday to Sunday.
    Week,
    /// Local month.
    Month,
    /// Day of the week.
    Weekday,
    /// Hour of the local day.
    Hour,
    /// The schedules that run at once.
    Schedule,
    /// Board, each without the boards that it feeds.
    Board,
    /// Machine: measured where it has a meter of its own, else its declared share.
    Machine,
    /// Meter.
    Meter,
    /// Phase.
    Phase,
    /// A column of words in the logs, by its name.
    Column(String),
}

/// All but columns, in the order of the help.
const WORDS: [(&str, BreakdownBy); 10] = [
    ("day", BreakdownBy::Day),
    ("week", BreakdownBy::Week),
    ("month", BreakdownBy::Month),
    ("weekday", BreakdownBy::Weekday),
    ("hour", BreakdownBy::Hour),
    ("schedule", BreakdownBy::Schedule),
    ("board", BreakdownBy::Board),
    ("machine", BreakdownBy::Machine),
    ("meter", BreakdownBy::Meter),
    ("phase", BreakdownBy::Phase),
];

impl BreakdownBy {
    /// The words that [`BreakdownBy::parse`] reads.
    pub fn words() -> impl Iterator<Item = &'static str> {
        WORDS.iter().map(|(word, _)| *word)
    }

    /// Reads `day`, `machine`, `column:Shift`.
    ///
    /// ```
    /// use demand::BreakdownBy;
    ///
    /// assert_eq!(BreakdownBy::parse("machine"), Some(BreakdownBy::Machine));
    /// let shift = BreakdownBy::parse("column:Shift");
    /// assert_eq!(shift.map(|by| by.to_string()).as_deref(), Some("column:Shift"));
    /// assert_eq!(BreakdownBy::parse("column:"), None);
    /// ```
    #[must_use]
    pub fn parse(text: &str) -> Option<BreakdownBy> {
        if let Some(name) = text.strip_prefix(COLUMN) {
            return (!name.is_empty()).then(|| BreakdownBy::Column(name.to_owned()));
        }
        let known = WORDS.iter().find(|(word, _)| *word == text);
        known.map(|(_, by)| by.clone())
    }

    /// The parts are periods of the calendar, which another period has in the same order.
    #[must_use]
    pub fn is_calendar(&self) -> bool {
        matches!(
            self,
            BreakdownBy::Day | BreakdownBy::Week | BreakdownBy::Month
        )
    }
}

impl std::fmt::Display for BreakdownBy {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if let BreakdownBy::Column(name) = self {
            return write!(f, "{COLUMN}{name}");
        }
        let word = WORDS.iter().find(|(_, by)| by == self);
        f.write_str(word.map_or("", |(word, _)| word))
    }
}

impl Serialize for BreakdownBy {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
