//! Which band holds when: every quarter-hour of every day type in every month, once.

use chrono::{Datelike, NaiveDate, NaiveDateTime, Timelike, Weekday};

use super::band::{Band, BandDays};

/// Monday to Sunday, a holiday, and a critical day.
const DAYS: usize = 9;
const HOLIDAY: usize = 7;
const CRITICAL: usize = 8;
const MONTHS: usize = 12;
const QUARTERS: usize = 96;

const DAY_NAMES: [&str; DAYS] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
    "a holiday",
    "a critical day",
];
const MONTH_NAMES: [&str; MONTHS] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// The bands of a tariff, with the one that holds in each quarter-hour of the week and month.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BandTable {
    bands: Vec<Band>,
    /// Holidays are priced apart: some band names them.
    holidays_apart: bool,
    /// So are critical days.
    critical_apart: bool,
    /// Holidays of its own, instead of those of the site.
    holidays: Option<Vec<NaiveDate>>,
    /// Critical days, ascending.
    critical: Vec<NaiveDate>,
    /// Index of the band by day type, month and quarter-hour.
    at: Vec<u8>,
}

/// A time with no band, or with two.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hole {
    /// The bands that hold at once; empty where none does.
    pub bands: Vec<usize>,
    /// When, in words: `on Monday from 17:00 to 19:00 in November`.
    pub when: String,
}

impl BandTable {
    /// The bands, if they cover every quarter-hour exactly once; else the first hole of each kind.
    ///
    /// # Errors
    ///
    /// The times that no band covers, and those that two cover, one entry for each pair of bands.
    pub fn new(bands: Vec<Band>) -> Result<BandTable, Vec<Hole>> {
        let names = |own: fn(BandDays) -> bool| {
            let mut named = bands.iter().filter(|band| !band.otherwise);
            named.any(|band| own(band.days) && !band.days.is_daily())
        };
        let holidays_apart = names(|days| days.holidays);
        let critical_apart = names(|days| days.critical);
        let otherwise = bands.iter().position(|band| band.otherwise);
        let mut at = Vec::with_capacity(DAYS * MONTHS * QUARTERS);
        let mut holes: Vec<Hole> = Vec::new();
        for day in 0..DAYS {
            let is_priced = match day {
                HOLIDAY => holidays_apart,
                CRITICAL => critical_apart,
                _ => true,
            };
            for month in 0..MONTHS {
                for quarter in 0..QUARTERS {
                    let holding = holding(&bands, day, month, quarter);
                    match (holding.as_slice(), otherwise) {
                        (&[one], _) => at.push(one as u8),
                        (&[], Some(otherwise)) => at.push(otherwise as u8),
                        (found, _) => {
                            at.push(0);
                            if is_priced && !holes.iter().any(|hole| hole.bands == found) {
                                let when = when(&bands, found, day, month, quarter);
                                holes.push(Hole {
                                    bands: found.to_vec(),
                                    when,
                                });
                            }
                        }
                    }
                }
            }
        }
        if holes.is_empty() {
            return Ok(BandTable {
                bands,
                holidays_apart,
                critical_apart,
                holidays: None,
                critical: Vec::new(),
                at,
            });
        }
        Err(holes)
    }

    /// The same with holidays of its own and with critical days.
    #[must_use]
    pub fn with_days(
        self,
        holidays: Option<Vec<NaiveDate>>,
        mut critical: Vec<NaiveDate>,
    ) -> BandTable {
        critical.sort_unstable();
        BandTable {
            holidays,
            critical,
            ..self
        }
    }

    /// Does a band hold on critical days alone?
    #[must_use]
    pub fn names_critical_days(&self) -> bool {
        self.critical_apart
    }

    /// The bands, in the order of the file.
    #[must_use]
    pub fn bands(&self) -> &[Band] {
        &self.bands
    }

    /// Index of the band that holds at a local time.
    #[must_use]
    pub fn at(&self, local: NaiveDateTime, holidays: &[NaiveDate]) -> usize {
        let date = local.date();
        let holidays = self.holidays.as_deref().unwrap_or(holidays);
        let day = if self.critical_apart && self.critical.binary_search(&date).is_ok() {
            CRITICAL
        } else if self.holidays_apart && holidays.contains(&date) {
            HOLIDAY
        } else {
            local.weekday().num_days_from_monday() as usize
        };
        let quarter = (local.hour() * 4 + local.minute() / 15) as usize;
        let month = local.month0() as usize;
        usize::from(self.at[(day * MONTHS + month) * QUARTERS + quarter])
    }
}

/// Bands that hold by name of day, month and time.
fn holding(bands: &[Band], day: usize, month: usize, quarter: usize) -> Vec<usize> {
    let of_day = |band: &Band| match Weekday::try_from(day as u8) {
        Ok(weekday) => band.days.contains(weekday),
        Err(_) if day == HOLIDAY => band.days.holidays,
        Err(_) => band.days.critical,
    };
    (0..bands.len())
        .filter(|&index| {
            let band = &bands[index];
            !band.otherwise
                && of_day(band)
                && band.months.contains(month as u32 + 1)
                && band.holds_in(quarter)
        })
        .collect()
}

/// The part of the day from a quarter-hour on in which just these bands hold.
fn when(bands: &[Band], found: &[usize], day: usize, month: usize, quarter: usize) -> String {
    let end = (quarter..QUARTERS)
        .find(|&at| holding(bands, day, month, at) != found)
        .unwrap_or(QUARTERS);
    format!(
        "on {} from {} to {} in {}",
        DAY_NAMES[day],
        clock(quarter),
        clock(end),
        MONTH_NAMES[month]
    )
}

/// `07:15`, up to `24:00`.
fn clock(quarter: usize) -> String {
    format!("{:02}:{:02}", quarter / 4, quarter % 4 * 15)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Months;
    use rust_decimal::Decimal;

    fn band(name: &str, days: &str, from: usize, to: usize) -> Band {
        Band {
            name: name.to_owned(),
            days: BandDays::parse(days).expect("days"),
            months: Months::ALL,
            from_quarter: from,
            to_quarter: to,
            otherwise: false,
            rate_per_kwh: Decimal::ONE,
            blocks: Vec::new(),
        }
    }

    fn otherwise() -> Band {
        Band {
            otherwise: true,
            ..band("other", "daily", 0, 96)
        }
    }

    fn at(text: &str) -> NaiveDateTime {
        NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").expect("test time")
    }

    #[test]
    fn bands_are_half_open_and_holidays_apart_only_where_named() {
        let table =
            BandTable::new(vec![band("day", "Mon-Fri", 28, 76), otherwise()]).expect("whole");
        // 2026-04-03 is a Friday.
        let friday = NaiveDate::from_ymd_opt(2026, 4, 3).expect("date");
        assert_eq!(table.at(at("2026-04-03 07:00"), &[friday]), 0);
        assert_eq!(table.at(at("2026-04-03 06:59"), &[]), 1);
        assert_eq!(table.at(at("2026-04-03 19:00"), &[]), 1);
        let apart = BandTable::new(vec![
            band("day", "Mon-Fri", 0, 96),
            band("rest", "Sat,Sun,holidays", 0, 96),
        ])
        .expect("whole");
        assert_eq!(apart.at(at("2026-04-03 12:00"), &[friday]), 1);
        assert_eq!(apart.at(at("2026-04-03 12:00"), &[]), 0);
    }

    #[test]
    fn a_band_over_midnight_holds_at_both_ends_of_the_day() {
        let night = band("night", "daily", 88, 24);
        assert!(
            night.holds_in(0) && night.holds_in(95) && !night.holds_in(24) && !night.holds_in(87)
        );
        assert!(BandTable::new(vec![night, band("day", "daily", 24, 88)]).is_ok());
    }

    #[test]
    fn holes_are_named_once_for_each_set_of_bands() {
        let holes = BandTable::new(vec![
            band("day", "Mon-Fri", 28, 76),
            band("peak", "Mon-Fri", 68, 80),
            band("week end", "Sat,Sun", 0, 96),
        ])
        .expect_err("gaps and an overlap");
        let found: Vec<(&[usize], &str)> = holes
            .iter()
            .map(|hole| (hole.bands.as_slice(), hole.when.as_str()))
            .collect();
        assert_eq!(
            found,
            [
                (&[][..], "on Monday from 00:00 to 07:00 in January"),
                (&[0, 1][..], "on Monday from 17:00 to 19:00 in January"),
            ]
        );
    }
}
