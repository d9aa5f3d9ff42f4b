//! How the power runs through the day, and the energy of each day.

use chrono::{Datelike, NaiveDate, Weekday};
use chrono_tz::Tz;

use std::sync::Arc;

use super::blocks::Block;
use super::demand_trace::{DayEnergy, DemandTrace};
use super::quarter_hours::QuarterHours;
use super::quarters::{QUARTER_S, Quarter};
use crate::clock;

/// Quarter-hours on the face of a day's clock.
const SLOTS: usize = 96;

/// The series of a meter, for charts.
pub(crate) fn trace(
    zone: Tz,
    holidays: &[NaiveDate],
    quarters: &Arc<QuarterHours>,
    blocks: &Arc<[Block]>,
) -> DemandTrace {
    let mut trace = DemandTrace {
        quarters: Arc::clone(quarters),
        blocks: Arc::clone(blocks),
        ..DemandTrace::default()
    };
    if quarters.is_empty() {
        return trace;
    }
    let mut working = Face::default();
    let mut other = Face::default();
    let day_of = |quarter: &Quarter| clock::local(zone, quarter.start_s).day();
    quarters.each_run(day_of, |day, quarters| {
        let date = clock::date_of(day);
        let face = if is_working_day(date, holidays) {
            &mut working
        } else {
            &mut other
        };
        for quarter in quarters {
            face.add(clock::local(zone, quarter.start_s).quarter(), quarter);
        }
        trace.days.push(day_energy(zone, date, quarters));
    });
    trace.weekday_profile_kw = working.means();
    trace.weekend_profile_kw = other.means();
    trace.highest_profile_kw = (0..SLOTS)
        .map(|slot| {
            [working.highest[slot], other.highest[slot]]
                .into_iter()
                .flatten()
                .reduce(f64::max)
        })
        .collect();
    trace
}

fn is_working_day(date: NaiveDate, holidays: &[NaiveDate]) -> bool {
    !matches!(date.weekday(), Weekday::Sat | Weekday::Sun) && !holidays.contains(&date)
}

fn day_energy(zone: Tz, date: NaiveDate, quarters: &[Quarter]) -> DayEnergy {
    let covered: f64 = quarters.iter().map(|quarter| quarter.covered_s).sum();
    DayEnergy {
        date: date.to_string(),
        energy_kwh: quarters.iter().map(|quarter| quarter.energy_kwh).sum(),
        complete: (covered - clock::length_of_day_s(zone, date) as f64).abs() < 0.5,
    }
}

/// Powers by quarter-hour of the day. Only complete quarter-hours count.
#[derive(Debug)]
struct Face {
    sum_kw: [f64; SLOTS],
    count: [u32; SLOTS],
    highest: [Option<f64>; SLOTS],
}

impl Default for Face {
    fn default() -> Face {
        Face {
            sum_kw: [0.0; SLOTS],
            count: [0; SLOTS],
            highest: [None; SLOTS],
        }
    }
}

impl Face {
    fn add(&mut self, slot: usize, quarter: &Quarter) {
        if (quarter.covered_s - QUARTER_S as f64).abs() > 0.5 {
            return;
        }
        let kw = quarter.energy_kwh * 4.0;
        self.sum_kw[slot] += kw;
        self.count[slot] += 1;
        self.highest[slot] = Some(self.highest[slot].map_or(kw, |highest| highest.max(kw)));
    }

    fn means(&self) -> Vec<Option<f64>> {
        self.sum_kw
            .iter()
            .zip(self.count)
            .map(|(sum, count)| (count > 0).then(|| sum / f64::from(count)))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::meter::quarters::quarters;
    use crate::samples::{at, draw_of, power_table};

    fn trace_of(from: &str, values: &[Option<f64>], holidays: &[NaiveDate]) -> DemandTrace {
        let table = power_table(at(from), 900, values);
        let quarters = quarters(&table, draw_of(&table)).into();
        trace(Tz::Europe__Rome, holidays, &quarters, &Vec::new().into())
    }

    /// A steady 4 kW makes 92, 96 and 100 kWh on the days around Rome's clock changes of 2017
    /// (26 March and 29 October).
    #[test]
    fn days_have_92_96_or_100_quarter_hours() {
        for (from, count, energy) in [
            ("2017-03-26T00:00:00+01:00", 92, 92.0),
            ("2017-03-27T00:00:00+02:00", 96, 96.0),
            ("2017-10-29T00:00:00+02:00", 100, 100.0),
        ] {
            let trace = trace_of(from, &vec![Some(4.0); count], &[]);
            assert_eq!(trace.days.len(), 1, "{from}");
            assert_eq!(trace.days[0].date, from[..10]);
            assert!((trace.days[0].energy_kwh - energy).abs() < 1e-9);
            assert!(trace.days[0].complete, "{from}");
            let short = trace_of(from, &vec![Some(4.0); count - 1], &[]);
            assert!(!short.days[0].complete, "{from}");
        }
    }

    #[test]
    fn profiles_tell_working_days_from_weekends_and_holidays() {
        // Friday 5 May to Tuesday 9 May 2017, at 1 to 5 kW; the Monday is a holiday.
        let values: Vec<Option<f64>> = (0..5 * 96).map(|n| Some(f64::from(n / 96 + 1))).collect();
        let holiday = NaiveDate::from_ymd_opt(2017, 5, 8).expect("test date");
        let trace = trace_of("2017-05-05T00:00:00+02:00", &values, &[holiday]);
        assert_eq!(trace.weekday_profile_kw, vec![Some(3.0); 96]);
        assert_eq!(trace.weekend_profile_kw, vec![Some(3.0); 96]);
        assert_eq!(trace.highest_profile_kw, vec![Some(5.0); 96]);
        let trace = trace_of("2017-05-05T00:00:00+02:00", &values[..96], &[holiday]);
        assert_eq!(trace.weekday_profile_kw, vec![Some(1.0); 96]);
        assert_eq!(trace.weekend_profile_kw, vec![None; 96]);
    }

    #[test]
    fn the_hour_that_is_skipped_has_no_power() {
        let trace = trace_of("2017-03-26T00:00:00+01:00", &[Some(4.0); 92], &[]);
        let unknown: Vec<usize> = (0..96)
            .filter(|&slot| trace.weekend_profile_kw[slot].is_none())
            .collect();
        assert_eq!(unknown, [8, 9, 10, 11]);
    }
}
