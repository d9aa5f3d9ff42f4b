//! The value of a cell of a table.

use chrono::{DateTime, FixedOffset, NaiveDate, Offset, TimeZone, Utc};
use rust_decimal::Decimal;

/// A typed value, which each output writes in its own way.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Words; may be empty.
    Text(String),
    /// A number, shown as its column says.
    Number(f64),
    /// A number with its own number of decimals, where a column mixes quantities.
    Rounded(f64, usize),
    /// An amount or a price, shown with the digits that it has.
    Decimal(Decimal),
    /// The value now, where it is known, and after the moves.
    Change(Option<f64>, f64),
    /// A local time.
    Local(DateTime<FixedOffset>),
    /// A moment that people read in local time and programs in UTC.
    Instant(DateTime<FixedOffset>),
    /// A local date.
    Date(NaiveDate),
    /// Yes or no.
    YesNo(bool),
    /// Not known, which is different from zero.
    Unknown,
}

impl Cell {
    /// A moment, shown in a zone.
    pub fn instant<Z: TimeZone>(at: DateTime<Utc>, zone: &Z) -> Cell {
        let local = at.with_timezone(zone);
        let offset = local.offset().fix();
        Cell::Instant(local.with_timezone(&offset))
    }

    /// True where it is neither empty nor unknown.
    #[must_use]
    pub fn is_known(&self) -> bool {
        match self {
            Cell::Text(words) => !words.is_empty(),
            Cell::Unknown => false,
            _ => true,
        }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        Cell::Text(text.to_owned())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Cell {
        Cell::Text(text)
    }
}

impl From<&String> for Cell {
    fn from(text: &String) -> Cell {
        Cell::Text(text.clone())
    }
}

impl From<f64> for Cell {
    /// A value that is not finite is unknown.
    fn from(value: f64) -> Cell {
        if value.is_finite() {
            Cell::Number(value)
        } else {
            Cell::Unknown
        }
    }
}

impl From<usize> for Cell {
    fn from(count: usize) -> Cell {
        Cell::Number(count as f64)
    }
}

impl From<u64> for Cell {
    fn from(count: u64) -> Cell {
        Cell::Number(count as f64)
    }
}

impl From<u32> for Cell {
    fn from(count: u32) -> Cell {
        Cell::Number(f64::from(count))
    }
}

impl From<bool> for Cell {
    fn from(flag: bool) -> Cell {
        Cell::YesNo(flag)
    }
}

impl From<Decimal> for Cell {
    fn from(value: Decimal) -> Cell {
        Cell::Decimal(value)
    }
}

impl From<NaiveDate> for Cell {
    fn from(date: NaiveDate) -> Cell {
        Cell::Date(date)
    }
}

impl From<DateTime<FixedOffset>> for Cell {
    fn from(at: DateTime<FixedOffset>) -> Cell {
        Cell::Local(at)
    }
}

impl<V: Into<Cell>> From<Option<V>> for Cell {
    fn from(value: Option<V>) -> Cell {
        value.map_or(Cell::Unknown, Into::into)
    }
}
