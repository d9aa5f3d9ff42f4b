//! The market's standard time: ten hours east of UTC, without summer time (Meter Data File Format Specification NEM12 & NEM13).

use chrono::{NaiveDate, NaiveDateTime};

/// East of UTC. (s)
const EAST_S: i64 = 36_000;

/// Start of a day written `YYYYMMDD`, Unix seconds.
pub(crate) fn day(text: &str) -> Option<i64> {
    let date = (text.len() == 8)
        .then(|| NaiveDate::parse_from_str(text, "%Y%m%d").ok())
        .flatten()?;
    Some(date.and_hms_opt(0, 0, 0)?.and_utc().timestamp() - EAST_S)
}

/// A moment written `YYYYMMDDhhmmss`, Unix seconds.
pub(crate) fn moment(text: &str) -> Option<i64> {
    let time = (text.len() == 14)
        .then(|| NaiveDateTime::parse_from_str(text, "%Y%m%d%H%M%S").ok())
        .flatten()?;
    Some(time.and_utc().timestamp() - EAST_S)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 10:00 of the market's time is midnight in Greenwich.
    #[test]
    fn days_and_moments() {
        assert_eq!(day("19700101"), Some(-36_000));
        assert_eq!(moment("19700101100000"), Some(0));
        for wrong in ["1970010", "197001011", "19701301", "", "2004-02-01"] {
            assert_eq!(day(wrong), None, "{wrong}");
        }
    }
}
