//! Mean power by weekday and hour of the local clock.

use chrono::Datelike;

use super::super::clock;
use super::super::metered::Metered;
use crate::meter::quarter_hours::QuarterHours;
use crate::meter::quarters::{QUARTER_S, Quarter};
use site::Site;

/// Weekdays in the order of a [`WeekOfHours`].
pub const WEEKDAYS: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];

/// A meter's mean power over the hours of the week.
#[derive(Clone, Debug, PartialEq)]
pub struct WeekOfHours {
    /// The meter's id.
    pub meter: String,
    /// By weekday from Monday, then by hour of the local clock; unknown without a complete quarter-hour. (kW)
    pub mean_kw: [[Option<f64>; 24]; 7],
}

pub(super) fn of(site: &Site, meter: &Metered) -> Option<WeekOfHours> {
    let id = site.meters[meter.meter].id.clone();
    week_of(site, id, &meter.quarters)
}

/// The week of these quarter-hours.
pub(crate) fn week_of(site: &Site, meter: String, quarters: &QuarterHours) -> Option<WeekOfHours> {
    let mut sums = [[(0.0, 0_u32); 24]; 7];
    for quarter in quarters.iter().filter(is_complete) {
        let (weekday, hour) = place(site, quarter.start_s);
        sums[weekday][hour].0 += quarter.energy_kwh * 4.0;
        sums[weekday][hour].1 += 1;
    }
    let known = sums.iter().flatten().any(|&(_, count)| count > 0);
    known.then(|| WeekOfHours {
        meter,
        mean_kw: sums.map(|day| day.map(|(kw, count)| (count > 0).then(|| kw / f64::from(count)))),
    })
}

/// Has the quarter-hour all its readings?
pub(super) fn is_complete(quarter: &Quarter) -> bool {
    (quarter.covered_s - QUARTER_S as f64).abs() < 0.5
}

/// Weekday from Monday, and hour of the local clock.
pub(super) fn place(site: &Site, at_s: i64) -> (usize, usize) {
    let local = clock::local(site.timezone, at_s);
    let weekday = clock::date_of(local.day()).weekday();
    (weekday.num_days_from_monday() as usize, local.quarter() / 4)
}

#[cfg(test)]
mod tests {
    use crate::analyse::analyse;
    use crate::samples::{at, logs_of, power_table, site};

    /// Monday 9 March 2026 at 2 kW, a week later at 4 kW; the last quarter-hour of the first hour is missing.
    #[test]
    fn hours_of_several_weeks_are_averaged_over_what_was_read() {
        let mut values = vec![Some(2.0); 96];
        values[3] = None;
        values.extend(vec![None; 6 * 96]);
        values.extend(vec![Some(4.0); 4]);
        let logs = logs_of([power_table(at("2026-03-09T00:00:00Z"), 900, &values)]);
        let week = &analyse(&site(&[]), &logs, None).study.week[0];
        // (3 · 2 + 4 · 4) / 7
        assert_eq!(week.mean_kw[0][0], Some(22.0 / 7.0));
        assert_eq!(week.mean_kw[0][23], Some(2.0));
        assert_eq!(week.mean_kw[1][0], None);
    }
}
