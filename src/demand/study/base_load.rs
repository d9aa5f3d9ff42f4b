//! Base load at night and out of hours.

use schemars::JsonSchema;
use serde::Serialize;

use super::super::clock;
use super::super::metered::Metered;
use super::week::{WEEKDAYS, is_complete, place};
use crate::meter::quarters::Quarter;
use site::Site;
use statistics::quantile;

/// The base load is the power that is exceeded during all but this share of the quarter-hours: low enough to
/// be what never stops, and not moved by a few readings of zero as the minimum would be. (%)
const STANDING_PCT: f64 = 10.0;

/// The night ends at this hour of the local clock; it begins at midnight.
const NIGHT_ENDS_H: usize = 5;

/// What a meter sees when little runs.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct BaseLoad {
    /// The meter's id.
    pub meter: String,
    /// Percentile of all complete quarter-hours that is taken as the base load (type 7). (%)
    pub percentile: f64,
    /// Base load. (kW)
    pub base_load_kw: f64,
    /// What it makes of the energy, as if it ran all the time that is covered. (%)
    pub base_load_share_pct: Option<f64>,
    /// The night's hours on the local clock.
    pub night: String,
    /// Median of the night's quarter-hours. (kW)
    pub night_kw: Option<f64>,
    /// Each weekday on its own.
    pub by_weekday: Vec<WeekdayBaseLoad>,
    /// Energy outside the working hours; unknown where the site declares none. (kWh)
    pub out_of_hours_kwh: Option<f64>,
    /// The same as a share of the meter's energy. (%)
    pub out_of_hours_pct: Option<f64>,
    /// Mean power outside the working hours. (kW)
    pub out_of_hours_mean_kw: Option<f64>,
    /// Energy on holidays, whatever the hour; unknown where none falls into the readings. (kWh)
    pub holidays_kwh: Option<f64>,
}

/// The base load of a weekday.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct WeekdayBaseLoad {
    /// `Monday` to `Sunday`.
    pub weekday: &'static str,
    /// Base load of that day's quarter-hours. (kW)
    pub base_load_kw: f64,
    /// Median of that day's night. (kW)
    pub night_kw: Option<f64>,
}

/// `None` without a complete quarter-hour.
pub(super) fn of(site: &Site, meter: &Metered) -> Option<BaseLoad> {
    let mut all = Vec::new();
    let mut night = Vec::new();
    let mut by_day: [(Vec<f64>, Vec<f64>); 7] = Default::default();
    for quarter in meter.quarters.iter().filter(is_complete) {
        let kw = quarter.energy_kwh * 4.0;
        let (weekday, hour) = place(site, quarter.start_s);
        all.push(kw);
        by_day[weekday].0.push(kw);
        if hour < NIGHT_ENDS_H {
            night.push(kw);
            by_day[weekday].1.push(kw);
        }
    }
    let standing = |values: &[f64]| quantile(values, STANDING_PCT / 100.0);
    let base_load_kw = standing(&all)?;
    let total = |quarters: &mut dyn Iterator<Item = Quarter>| {
        quarters.fold((0.0, 0.0), |(kwh, hours), quarter| {
            (kwh + quarter.energy_kwh, hours + quarter.covered_s / 3600.0)
        })
    };
    let (kwh, hours) = total(&mut meter.quarters.iter());
    let share = |part: f64| (kwh > 0.0).then(|| 100.0 * part / kwh);
    let outside = has_working_hours(site).then(|| {
        let outside = |quarter: &Quarter| !is_working_hour(site, quarter.start_s);
        total(&mut meter.quarters.iter().filter(outside))
    });
    let on_holidays = |quarter: &Quarter| {
        let day = clock::local(site.timezone, quarter.start_s).day();
        site.holidays.contains(&clock::date_of(day))
    };
    let (holidays_kwh, holiday_hours) = total(&mut meter.quarters.iter().filter(on_holidays));
    Some(BaseLoad {
        meter: site.meters[meter.meter].id.clone(),
        percentile: STANDING_PCT,
        base_load_kw,
        base_load_share_pct: share(base_load_kw * hours),
        night: format!("00:00-{NIGHT_ENDS_H:02}:00"),
        night_kw: quantile(&night, 0.5),
        by_weekday: by_day
            .iter()
            .zip(WEEKDAYS)
            .filter_map(|((day, night), weekday)| {
                Some(WeekdayBaseLoad {
                    weekday,
                    base_load_kw: standing(day)?,
                    night_kw: quantile(night, 0.5),
                })
            })
            .collect(),
        out_of_hours_kwh: outside.map(|(kwh, _)| kwh),
        out_of_hours_pct: outside.and_then(|(kwh, _)| share(kwh)),
        out_of_hours_mean_kw: outside
            .filter(|&(_, hours)| hours > 0.0)
            .map(|(kwh, hours)| kwh / hours),
        holidays_kwh: (holiday_hours > 0.0).then_some(holidays_kwh),
    })
}

fn has_working_hours(site: &Site) -> bool {
    site.schedules.iter().any(|schedule| schedule.working_hours)
}

/// Does a schedule run in which people work?
fn is_working_hour(site: &Site, at_s: i64) -> bool {
    clock::stamp(site.timezone, at_s).is_some_and(|at| {
        let mut working = site
            .schedules
            .iter()
            .filter(|schedule| schedule.working_hours);
        working.any(|schedule| schedule.runs_at(at.naive_local(), &site.holidays))
    })
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;
    use crate::analyse::analyse;
    use crate::samples::{at, logs_of, power_table, site};
    use calendar::Days;
    use site::{Schedule, Shift};

    fn schedule(name: &str, hours: (u32, u32), working_hours: bool) -> Schedule {
        Schedule {
            name: name.to_owned(),
            working_hours,
            shifts: vec![Shift {
                days: Days::parse("Mon-Fri").expect("days"),
                from_min: hours.0 * 60,
                to_min: hours.1 * 60,
            }],
        }
    }

    /// Monday 9 and Tuesday 10 March 2026, hour by hour: 1 kW, 5 kW from 08:00 to 16:00; the Tuesday is a
    /// holiday. Each day makes 16 + 40 kWh.
    fn study(schedules: Vec<Schedule>) -> BaseLoad {
        let values: Vec<Option<f64>> = (0..48)
            .map(|hour| {
                Some(if (8..16).contains(&(hour % 24)) {
                    5.0
                } else {
                    1.0
                })
            })
            .collect();
        let logs = logs_of([power_table(at("2026-03-09T00:00:00Z"), 3600, &values)]);
        let mut site = site(&[]);
        site.holidays = NaiveDate::from_ymd_opt(2026, 3, 10).into_iter().collect();
        site.schedules = schedules;
        let study = analyse(&site, &logs, None).study;
        study.base_load.into_iter().next().expect("one meter")
    }

    #[test]
    fn outside_the_working_hours_counts_holidays_and_not_the_lights() {
        let standing = study(vec![
            schedule("day", (8, 16), true),
            schedule("lights", (0, 24), false),
        ]);
        assert_eq!(standing.out_of_hours_kwh, Some(16.0 + 56.0));
        assert_eq!(standing.holidays_kwh, Some(56.0));
        let share = standing.out_of_hours_pct.expect("energy was used");
        assert!((share - 100.0 * 72.0 / 112.0).abs() < 1e-9);
        assert_eq!(standing.out_of_hours_mean_kw, Some(72.0 / 40.0));
    }

    #[test]
    fn the_base_load_is_a_low_quantile_of_the_quarter_hours() {
        let standing = study(Vec::new());
        assert_eq!((standing.base_load_kw, standing.night_kw), (1.0, Some(1.0)));
        let share = standing.base_load_share_pct.expect("energy was used");
        assert!((share - 100.0 * 48.0 / 112.0).abs() < 1e-9);
        let days: Vec<&str> = standing.by_weekday.iter().map(|day| day.weekday).collect();
        assert_eq!(days, ["Monday", "Tuesday"]);
        assert_eq!(standing.out_of_hours_kwh, None);
    }
}
