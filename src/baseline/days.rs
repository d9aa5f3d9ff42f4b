//! A meter's energy by local day, as this room wants it.

use chrono::NaiveDate;
use chrono_tz::Tz;

use super::day_type::DayType;

/// The days of a site.
#[derive(Clone, Copy, Debug)]
pub struct Calendar<'a> {
    /// Its zone.
    pub zone: Tz,
    /// Its holidays.
    pub holidays: &'a [NaiveDate],
}

impl Calendar<'_> {
    pub(super) fn day_type(&self, date: NaiveDate) -> DayType {
        DayType::of(date, self.holidays)
    }
}

/// Energy of a local day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayTotal {
    /// The date.
    pub date: NaiveDate,
    /// Net energy. (kWh)
    pub kwh: f64,
    /// False where part of the day has no readings.
    pub complete: bool,
}

/// A day hour by hour and phase by phase.
#[derive(Clone, Debug, PartialEq)]
pub struct DayShape {
    /// The date.
    pub date: NaiveDate,
    /// Net energy of each hour of the local clock; the hour that the clock repeats has both. (kWh)
    pub hour_kwh: [f64; 24],
    /// Net energy of each phase, where that is known. (kWh)
    pub phase_kwh: Option<[f64; 3]>,
}
