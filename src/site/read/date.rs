//! Reads a date of site.toml.

use chrono::NaiveDate;

use super::table::{Located, Source};
use message::Message;

pub(crate) fn read_date(source: &Source<'_>, date: &Located<String>) -> Option<NaiveDate> {
    if let Ok(date) = NaiveDate::parse_from_str(&date.value, "%Y-%m-%d") {
        return Some(date);
    }
    source.push(
        Message::error("date", format!("`{}` is not a date", date.value)).at(
            source.place(&date.span),
            "expected a date such as `2026-12-25`",
        ),
    );
    None
}
