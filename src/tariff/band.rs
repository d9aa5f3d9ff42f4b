//! A band of the tariff: the times at which one price of energy holds.

use chrono::Weekday;
use rust_decimal::Decimal;

use super::energy_block::EnergyBlock;
use calendar::Days;

/// Days on which a band holds: days of the week, and holidays and critical days where the tariff prices them apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BandDays {
    /// Days of the week.
    pub week: Option<Days>,
    /// Holidays, whatever day of the week they fall on.
    pub holidays: bool,
    /// Days that the supplier calls critical, whatever else they are.
    pub critical: bool,
}

/// Not a list of days.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected days such as `Mon-Fri`, `Sat,Sun,holidays`, `critical` or `daily`")]
pub struct NotBandDays;

impl BandDays {
    /// Every day.
    #[must_use]
    pub fn daily() -> BandDays {
        BandDays {
            week: Days::parse("daily"),
            holidays: true,
            critical: true,
        }
    }

    /// Reads `Mon-Fri`, `Sat,Sun,holidays`, `holidays`, `critical`, `daily`; the last one means all of them.
    ///
    /// # Errors
    ///
    /// [`NotBandDays`] for any other word.
    ///
    /// ```
    /// use tariff::BandDays;
    ///
    /// assert!(BandDays::parse("Sat,Sun,holidays").is_ok_and(|days| days.holidays));
    /// assert!(BandDays::parse("Mon-Fri").is_ok_and(|days| !days.holidays));
    /// assert!(BandDays::parse("workdays").is_err());
    /// ```
    pub fn parse(text: &str) -> Result<BandDays, NotBandDays> {
        if text.trim().eq_ignore_ascii_case("daily") {
            return Ok(BandDays::daily());
        }
        let is = |word: &str| {
            text.split(',')
                .any(|part| part.trim().eq_ignore_ascii_case(word))
        };
        let week: Vec<&str> = text
            .split(',')
            .map(str::trim)
            .filter(|part| {
                !["holidays", "critical"]
                    .iter()
                    .any(|word| part.eq_ignore_ascii_case(word))
            })
            .collect();
        let days = Days::parse(&week.join(","));
        if !week.is_empty() && days.is_none() {
            return Err(NotBandDays);
        }
        Ok(BandDays {
            week: days.filter(|_| !week.is_empty()),
            holidays: is("holidays"),
            critical: is("critical"),
        })
    }

    /// Does the band hold on this day of the week, where it is no holiday priced apart?
    #[must_use]
    pub fn contains(self, day: Weekday) -> bool {
        self.week.is_some_and(|days| days.contains(day))
    }

    /// Every day of the week and holidays?
    #[must_use]
    pub fn is_daily(self) -> bool {
        self == BandDays::daily()
    }
}

/// Months of the year as a set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Months(u16);

impl Months {
    /// All twelve.
    pub const ALL: Months = Months(0x0fff);

    /// Reads `1-12`, `11-3` (over the turn of the year), `1,2,12`.
    ///
    /// ```
    /// use tariff::Months;
    ///
    /// let winter = Months::parse("11-3").expect("months");
    /// assert!(winter.contains(1) && winter.contains(11) && !winter.contains(4));
    /// assert_eq!(Months::parse("0-3"), None);
    /// ```
    #[must_use]
    pub fn parse(text: &str) -> Option<Months> {
        let month = |word: &str| {
            let number: u32 = word.trim().parse().ok()?;
            (1..=12).contains(&number).then(|| number - 1)
        };
        let mut set = 0u16;
        for part in text.split(',') {
            let (first, last) = match part.split_once('-') {
                Some((first, last)) => (month(first)?, month(last)?),
                None => (month(part)?, month(part)?),
            };
            for step in 0..=(last + 12 - first) % 12 {
                set |= 1 << ((first + step) % 12);
            }
        }
        Some(Months(set))
    }

    /// Is the month, 1 to 12, in the set?
    #[must_use]
    pub fn contains(self, month: u32) -> bool {
        (1..=12).contains(&month) && self.0 & (1 << (month - 1)) != 0
    }
}

/// Times at which one price holds; several bands may have one name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Band {
    /// Its name.
    pub name: String,
    /// Days on which it holds.
    pub days: BandDays,
    /// Months in which it holds.
    pub months: Months,
    /// First quarter-hour of the local day, 0 to 95.
    pub from_quarter: usize,
    /// First quarter-hour no longer in the band, 1 to 96; not after `from_quarter`: it holds until midnight
    /// and from midnight on.
    pub to_quarter: usize,
    /// Holds at all times that no other band names.
    pub otherwise: bool,
    /// Price. (currency/kWh)
    pub rate_per_kwh: Decimal,
    /// Prices by amount within the band, instead of the one above; empty: it has one price.
    pub blocks: Vec<EnergyBlock>,
}

impl Band {
    /// Does it hold in this quarter-hour of the day?
    #[must_use]
    pub fn holds_in(&self, quarter: usize) -> bool {
        if self.from_quarter < self.to_quarter {
            (self.from_quarter..self.to_quarter).contains(&quarter)
        } else {
            quarter >= self.from_quarter || quarter < self.to_quarter
        }
    }
}
