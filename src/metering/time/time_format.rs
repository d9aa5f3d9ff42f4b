//! How the times of a log are written, where that is not declared.

use chrono_tz::Tz;

use super::clock::{Clock, Reading};
use site::{RepeatedHour, TimeColumn, TimeFormat, Zone};

/// Number of stamps by which formats that cannot be read are excluded.
const FIRST: usize = 20;

/// Date formats whose parts cannot be confused.
const CLEAR: [&str; 8] = [
    "%Y/%m/%d",
    "%Y.%m.%d",
    "%Y%m%d",
    "%d-%b-%Y",
    "%d %b %Y",
    "%d-%b-%y",
    "%d %b %y",
    "%b %d, %Y",
];
/// Dates with the day first and with the month first, and how the year is written.
const SIGNS: [char; 3] = ['.', '/', '-'];
const YEARS: [&str; 2] = ["%Y", "%y"];
const TIMES: [&str; 9] = [
    " %H:%M:%S",
    " %H:%M",
    " %H:%M:%S%.f",
    " %I:%M:%S %p",
    " %I:%M %p",
    "T%H:%M:%S",
    "%H%M%S",
    "%H%M",
    "",
];

/// Two possible formats of a date that cannot be distinguished.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Ambiguous {
    pub(crate) stamp: String,
    pub(crate) day_first: String,
    pub(crate) month_first: String,
}

/// The format in which most of the stamps can be read; ISO 8601 where none can.
///
/// # Errors
///
/// Day and month may be interchanged, and neither the numbers nor their order show which is which.
pub(crate) fn recognise(stamps: &[Vec<u8>]) -> Result<TimeFormat, Ambiguous> {
    let stamps: Vec<&[u8]> = stamps
        .iter()
        .map(|stamp| stamp.trim_ascii())
        .filter(|stamp| !stamp.is_empty())
        .collect();
    if 2 * read(&stamps, &TimeFormat::Iso).flatten_count() > stamps.len() {
        return Ok(TimeFormat::Iso);
    }
    if let Some(format) = unix(&stamps) {
        return Ok(format);
    }
    let first = &stamps[..stamps.len().min(FIRST)];
    let reads = |format: &TimeFormat, stamps: &[&[u8]]| read(stamps, format).flatten_count();
    let mut best: Option<(usize, TimeFormat, Option<TimeFormat>)> = None;
    for (format, twin) in candidates() {
        let twin_reads = |stamps: &[&[u8]]| twin.as_ref().map_or(0, |twin| reads(twin, stamps));
        if reads(&format, first).max(twin_reads(first)) == 0 {
            continue;
        }
        let (own, other) = (reads(&format, &stamps), twin_reads(&stamps));
        if best
            .as_ref()
            .is_none_or(|(most, ..)| own.max(other) > *most)
        {
            best = Some(match (own.cmp(&other), twin) {
                (std::cmp::Ordering::Less, Some(twin)) => (other, twin, None),
                (std::cmp::Ordering::Equal, twin) => (own, format, twin),
                (_, _) => (own, format, None),
            });
        }
    }
    match best {
        Some((count, format, None)) if 2 * count > stamps.len() => Ok(format),
        Some((count, day, Some(month))) if 2 * count > stamps.len() => {
            by_order(&stamps, day, month)
        }
        _ => Ok(TimeFormat::Iso),
    }
}

/// Formats, and with those with the day first the same with the month first. With points the day
/// comes first throughout (common practice), so that nothing is to be distinguished.
fn candidates() -> Vec<(TimeFormat, Option<TimeFormat>)> {
    let mut all = Vec::new();
    for time in TIMES {
        let pattern = |date: &str| TimeFormat::Pattern(format!("{date}{time}"));
        if !time.starts_with('%') {
            for sign in SIGNS {
                for year in YEARS {
                    let day = pattern(&format!("%d{sign}%m{sign}{year}"));
                    let month = pattern(&format!("%m{sign}%d{sign}{year}"));
                    all.push((day, (sign != '.').then_some(month)));
                }
            }
        }
        for date in CLEAR {
            if !time.starts_with('%') || date == "%Y%m%d" {
                all.push((pattern(date), None));
            }
        }
    }
    all
}

/// Whole numbers of ten or of thirteen digits.
fn unix(stamps: &[&[u8]]) -> Option<TimeFormat> {
    let within = |from: f64, to: f64| {
        let fit = stamps.iter().filter(|stamp| {
            let plain = stamp
                .iter()
                .all(|byte| byte.is_ascii_digit() || *byte == b'.');
            let number = fast_float2::parse::<f64, _>(stamp).ok();
            plain && number.is_some_and(|number| (from..to).contains(&number))
        });
        2 * fit.count() > stamps.len()
    };
    // From 2001 to 2096.
    if within(1e9, 4e9) {
        Some(TimeFormat::UnixSeconds)
    } else if within(1e12, 4e12) {
        Some(TimeFormat::UnixMillis)
    } else {
        None
    }
}

/// Does the next day follow a day, or the next month?
fn by_order(stamps: &[&[u8]], day: TimeFormat, month: TimeFormat) -> Result<TimeFormat, Ambiguous> {
    let (by_day, by_month) = (read(stamps, &day).0, read(stamps, &month).0);
    let near = |times: &[Option<i64>]| match times {
        [Some(a), Some(b)] => Some((b - a).abs() <= 86_400),
        _ => None,
    };
    let several_a_day = by_day.windows(2).any(|pair| match pair {
        [Some(a), Some(b)] => a.div_euclid(86_400) == b.div_euclid(86_400),
        _ => false,
    });
    let (mut for_day, mut for_month) = (0, 0);
    for (by_day, by_month) in by_day.windows(2).zip(by_month.windows(2)) {
        match (near(by_day), near(by_month)) {
            (Some(true), Some(false)) => for_day += 1,
            (Some(false), Some(true)) => for_month += 1,
            _ => {}
        }
    }
    match (several_a_day, for_day, for_month) {
        (true, 1.., 0) => Ok(day),
        (true, 0, 1..) => Ok(month),
        _ => Err(Ambiguous {
            stamp: String::from_utf8_lossy(stamps.first().unwrap_or(&&[][..])).into_owned(),
            day_first: pattern_of(&day),
            month_first: pattern_of(&month),
        }),
    }
}

/// As it is written in a site file.
pub(crate) fn pattern_of(format: &TimeFormat) -> String {
    match format {
        TimeFormat::Recognised | TimeFormat::Iso => "ISO 8601".to_owned(),
        TimeFormat::UnixSeconds => "unix-s".to_owned(),
        TimeFormat::UnixMillis => "unix-ms".to_owned(),
        TimeFormat::Pattern(pattern) => pattern.clone(),
    }
}

/// Times of some stamps, in their own clock.
struct Times(Vec<Option<i64>>);

impl Times {
    fn flatten_count(&self) -> usize {
        self.0.iter().flatten().count()
    }
}

fn read(stamps: &[&[u8]], format: &TimeFormat) -> Times {
    let column = TimeColumn {
        columns: Vec::new(),
        format: format.clone(),
        zone: Zone::Offset(0),
        midnight_closes_day: false,
        repeated_hour: RepeatedHour::ByOrder,
    };
    let mut clock = Clock::new(&column, Tz::UTC);
    let times = stamps.iter().map(|stamp| match clock.read(stamp) {
        Reading::At(at) => Some(at),
        _ => None,
    });
    Times(times.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(stamps: &[&str]) -> Result<String, (String, String)> {
        let stamps: Vec<Vec<u8>> = stamps
            .iter()
            .map(|stamp| stamp.as_bytes().to_vec())
            .collect();
        recognise(&stamps)
            .map(|format| pattern_of(&format))
            .map_err(|open| (open.day_first, open.month_first))
    }

    #[test]
    fn usual_forms() {
        for (stamp, pattern) in [
            ("2026-03-09T10:00:00+01:00", "ISO 8601"),
            ("2026-03-09 10:00", "ISO 8601"),
            ("1773048600", "unix-s"),
            ("1773048600000", "unix-ms"),
            ("09.03.2026 10:00", "%d.%m.%Y %H:%M"),
            ("9.3.2026 10:00:30", "%d.%m.%Y %H:%M:%S"),
            ("09.03.26 10:00", "%d.%m.%y %H:%M"),
            ("29/03/2026 10:00", "%d/%m/%Y %H:%M"),
            ("03/29/2026 10:00", "%m/%d/%Y %H:%M"),
            ("03/29/2026 10:00 PM", "%m/%d/%Y %I:%M %p"),
            ("29-03-2026 10:00", "%d-%m-%Y %H:%M"),
            ("2026/03/09 10:00:00", "%Y/%m/%d %H:%M:%S"),
            ("20260309 10:00", "%Y%m%d %H:%M"),
            ("20260309100000", "%Y%m%d%H%M%S"),
            ("202603091000", "%Y%m%d%H%M"),
            ("09-Mar-2026 10:00", "%d-%b-%Y %H:%M"),
            ("nonsense", "ISO 8601"),
        ] {
            assert_eq!(found(&[stamp, stamp]), Ok(pattern.to_owned()), "{stamp}");
        }
        assert_eq!(found(&[]), Ok("ISO 8601".to_owned()));
    }

    /// 03/04 is followed by 04/04 where the day comes first, by 03/05 where the month does.
    #[test]
    fn day_or_month_first_is_decided_by_evidence_or_not_at_all() {
        let patterns = ("%d/%m/%Y %H:%M".to_owned(), "%m/%d/%Y %H:%M".to_owned());
        let one_day = ["03/04/2026 10:00", "03/04/2026 10:15"];
        assert_eq!(found(&one_day), Err(patterns.clone()));
        let next = |stamp| found(&["03/04/2026 23:30", "03/04/2026 23:45", stamp]);
        assert_eq!(next("04/04/2026 00:00"), Ok(patterns.0.clone()));
        assert_eq!(next("03/05/2026 00:00"), Ok(patterns.1.clone()));
        assert_eq!(next("13/04/2026 00:00"), Ok(patterns.0.clone()));
        assert_eq!(next("03/13/2026 00:00"), Ok(patterns.1.clone()));
        // One reading on the first of each month, or on the first days of January?
        let monthly = ["01/01/2026 00:00", "02/01/2026 00:00", "03/01/2026 00:00"];
        assert_eq!(found(&monthly), Err(patterns));
    }
}
