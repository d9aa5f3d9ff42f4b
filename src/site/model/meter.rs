//! Meters as declared: what they measure, where their logs lie, how to read them.

use super::node::Measured;
use super::quantity::Quantity;
use message::Place;

/// What a reading stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadingKind {
    /// The mean over the interval.
    Average,
    /// The value at the moment of the time stamp.
    Instant,
}

/// Which end of the interval the time stamp marks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stamp {
    /// The start.
    Start,
    /// The end.
    End,
}

/// Which value counts where the log has two for one interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Corrections {
    /// Not declared: the first counts, and both totals are shown.
    #[default]
    Ask,
    /// The first, in the order of the files and their rows.
    First,
    /// The last: later files correct earlier ones.
    Last,
}

/// How time stamps are written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TimeFormat {
    /// Not declared: recognised by the first stamps.
    Recognised,
    /// ISO 8601, with or without offset.
    Iso,
    /// Seconds since 1970-01-01 UTC.
    UnixSeconds,
    /// Milliseconds since 1970-01-01 UTC.
    UnixMillis,
    /// A strftime pattern.
    Pattern(String),
}

/// Which clock the time stamps follow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zone {
    /// The site's local time.
    Local,
    /// A fixed offset from UTC, seconds east.
    Offset(i32),
}

/// What to do with the hour that autumn repeats.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RepeatedHour {
    /// Distinguished by the order of the rows.
    ByOrder,
    /// Refused.
    Error,
}

/// What to do with readings that cannot be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Plausibility {
    /// They are kept out of the figures that they would spoil, counted and shown.
    #[default]
    Drop,
    /// They are counted and shown, and kept.
    Keep,
}

/// The time column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TimeColumn {
    /// Its name, or those of the columns of date and time of day; empty: recognised.
    pub columns: Vec<String>,
    /// How times are written.
    pub format: TimeFormat,
    /// Which clock they follow.
    pub zone: Zone,
    /// `00:00` closes the day that the label names.
    pub midnight_closes_day: bool,
    /// What to do with the repeated hour.
    pub repeated_hour: RepeatedHour,
}

/// Which column of the log holds a quantity, or a part of it: several columns of one quantity, such
/// as the registers of two tariffs, add up.
#[derive(Clone, Debug, PartialEq)]
pub struct ColumnUse {
    /// The quantity.
    pub quantity: Quantity,
    /// The column's name in the log.
    pub column: String,
    /// Factor to the quantity's unit; `None`: by the unit that the log names, else 1.
    pub scale: Option<f64>,
}

impl Meter {
    /// A meter of the supply of which nothing is declared but its file, and which of the meters in it it is.
    #[must_use]
    pub fn of_file(id: &str, files: String, point: Option<String>) -> Meter {
        Meter {
            id: id.to_owned(),
            measures: Measured::SUPPLY,
            files_at: Place::file(&files),
            files,
            point,
            unit: None,
            readings: ReadingKind::Average,
            stamp: None,
            corrections: Corrections::Ask,
            time: TimeColumn {
                columns: Vec::new(),
                format: TimeFormat::Recognised,
                zone: Zone::Local,
                midnight_closes_day: false,
                repeated_hour: RepeatedHour::ByOrder,
            },
            thousands: None,
            separator: None,
            decimal: None,
            missing: Vec::new(),
            header: true,
            ratio: 1.0,
            class_pct: None,
            register_digits: None,
            plausibility: Plausibility::default(),
            columns: Vec::new(),
        }
    }
}

/// A meter as declared.
#[derive(Clone, Debug, PartialEq)]
pub struct Meter {
    /// Unique name.
    pub id: String,
    /// What it measures.
    pub measures: Measured,
    /// Path or glob of its logs, inside the site folder.
    pub files: String,
    /// Where that is declared, for messages.
    pub files_at: Place,
    /// Which of the meters in its files; `None`: they hold one.
    pub point: Option<String>,
    /// Unit of its values, where the log names none.
    pub unit: Option<String>,
    /// What a reading stands for.
    pub readings: ReadingKind,
    /// Which end of the interval the stamp marks; `None`: as the log's header says, else its end.
    pub stamp: Option<Stamp>,
    /// Which of two values of one interval counts.
    pub corrections: Corrections,
    /// The time column.
    pub time: TimeColumn,
    /// Sign between groups of three digits; `None`: there is none.
    pub thousands: Option<u8>,
    /// Cell separator; `None`: detected.
    pub separator: Option<u8>,
    /// Decimal sign; `None`: detected.
    pub decimal: Option<u8>,
    /// Texts that stand for no reading, besides the usual ones.
    pub missing: Vec<String>,
    /// Does the log begin with a header?
    pub header: bool,
    /// Current-transformer correction.
    pub ratio: f64,
    /// Accuracy class (IEC 62053). (%)
    pub class_pct: Option<f64>,
    /// Digits that the registers show before the decimal sign; `None`: learned from the readings.
    pub register_digits: Option<u32>,
    /// What to do with readings that cannot be.
    pub plausibility: Plausibility,
    /// Declared columns; empty: recognised.
    pub columns: Vec<ColumnUse>,
}
