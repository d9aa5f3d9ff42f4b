//! The mean energy of a day, with its range.

use chrono::{Duration, NaiveDate};

use demand::DayEnergy;
use statistics::student_quantile;

/// Mean energy of a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct DayMean {
    /// Over the whole weeks. (kWh)
    pub(crate) kwh: f64,
    /// 95 % range; `None` of a single week. (kWh)
    pub(crate) range_kwh: Option<(f64, f64)>,
}

/// Over runs of seven days without a missing reading, so that each weekday counts alike; `None` without a whole week.
/// The range is Student's t of the scatter of the weeks' means, which are taken as independent.
pub(crate) fn day_mean(days: &[DayEnergy]) -> Option<DayMean> {
    let read = |day: &DayEnergy| Some((day.date.parse::<NaiveDate>().ok()?, day.energy_kwh));
    let whole: Vec<(NaiveDate, f64)> = days
        .iter()
        .filter(|day| day.complete)
        .filter_map(read)
        .collect();
    let mut weeks = Vec::new();
    let mut at = 0;
    while let Some(week) = whole.get(at..at + 7) {
        if week[6].0 - week[0].0 == Duration::days(6) {
            weeks.push(week.iter().map(|(_, kwh)| kwh).sum::<f64>() / 7.0);
            at += 7;
        } else {
            at += 1;
        }
    }
    let count = weeks.len() as f64;
    let kwh = weeks.iter().sum::<f64>() / count.max(1.0);
    let squares: f64 = weeks.iter().map(|week| (week - kwh).powi(2)).sum();
    let range = student_quantile(count - 1.0, 0.975).filter(|_| weeks.len() > 1);
    let range = range.map(|t| t * (squares / (count - 1.0) / count).sqrt());
    (!weeks.is_empty()).then_some(DayMean {
        kwh,
        range_kwh: range.map(|half| ((kwh - half).max(0.0), kwh + half)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn days(kwh: &[f64]) -> Vec<DayEnergy> {
        let first = NaiveDate::from_ymd_opt(2026, 3, 2).expect("a date");
        let dates = first.iter_days().zip(kwh);
        dates
            .map(|(date, &energy_kwh)| DayEnergy {
                date: date.to_string(),
                energy_kwh,
                complete: energy_kwh > 0.0,
            })
            .collect()
    }

    /// Weeks of 10 and 14 kWh a day: mean 12, deviation √8, t(1; 0.975) = 12.706 (table of Student's t, from memory):
    /// 12 ± 12.706 · √(8/2) = 12 ± 25.4, cut at zero.
    #[test]
    fn whole_weeks_give_the_mean_and_their_scatter_its_range() {
        let two = [[10.0; 7], [14.0; 7]].concat();
        let mean = day_mean(&days(&two)).expect("two weeks");
        assert!((mean.kwh - 12.0).abs() < 1e-12);
        let (low, high) = mean.range_kwh.expect("a range");
        assert!(low.abs() < 1e-12 && (high - 37.412).abs() < 0.01, "{high}");
    }

    #[test]
    fn a_missing_day_begins_the_week_anew() {
        let broken = [&[10.0; 3][..], &[0.0], &[14.0; 7], &[9.0; 2]].concat();
        let mean = day_mean(&days(&broken)).expect("one week");
        assert_eq!((mean.kwh, mean.range_kwh), (14.0, None));
        assert_eq!(day_mean(&days(&[10.0; 6])), None);
    }
}
