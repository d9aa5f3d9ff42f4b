//! Currents of single days, finer than a drawing of the whole time shows them.

use std::collections::BTreeMap;

use chrono::{NaiveDate, Timelike as _};

use super::axis::local;
use super::panel::{Panel, TimeAxis};
use units::format_date;

/// The latest days that are given.
const MOST_DAYS: usize = 62;
/// Parts of a day: quarter-hours.
const PARTS: usize = 96;

/// The maximum of each series in each quarter-hour of the latest days.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DayCurves {
    /// Name, ink and limit of each series. (A)
    pub series: Vec<(String, &'static str, Option<f64>)>,
    /// Each day with its date in words; of each series the maxima of the quarter-hours by the local clock, in tenths of
    /// an ampere. Of an hour that comes twice both count.
    pub days: Vec<(String, Vec<Vec<Option<i64>>>)>,
}

impl DayCurves {
    /// The latest days of the panels of a drawing.
    #[must_use]
    pub fn of(axis: TimeAxis, panels: &[Panel]) -> DayCurves {
        let mut days: BTreeMap<NaiveDate, Vec<Vec<Option<i64>>>> = BTreeMap::new();
        let (_, end) = axis.bounds();
        let earliest = end - (MOST_DAYS as i64 + 1) * 86_400;
        for (row, &start_s) in axis.start_s.iter().enumerate() {
            if start_s < earliest {
                continue;
            }
            let Some(at) = local(axis.zone, start_s) else {
                continue;
            };
            let part = at.num_seconds_from_midnight() as usize / (86_400 / PARTS);
            let day = days
                .entry(at.date_naive())
                .or_insert_with(|| vec![vec![None; PARTS]; panels.len()]);
            for (panel, own) in panels.iter().zip(day.iter_mut()) {
                let value = panel.values.get(row).filter(|amps| amps.is_finite());
                let tenths = value.map(|amps| (10.0 * amps).round() as i64);
                own[part] = own[part].max(tenths);
            }
        }
        while days.len() > MOST_DAYS {
            days.pop_first();
        }
        DayCurves {
            series: panels
                .iter()
                .map(|panel| (panel.name.clone(), panel.ink.name(), panel.limit))
                .collect(),
            days: days
                .into_iter()
                .map(|(date, curves)| (format_date(date), curves))
                .collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use chrono_tz::Tz;

    use super::super::style::Ink;
    use super::*;

    /// Seventy days of 5-minute means in Berlin, from midnight on 1 January 2026: 3.0 A, and 7.5 A once at 00:10 of the
    /// last day.
    #[test]
    fn the_latest_days_with_their_maxima() {
        let rows = 70 * 288;
        let start_s: Vec<i64> = (0..rows as i64)
            .map(|row| 1_767_222_000 + 300 * row)
            .collect();
        let mut values = vec![3.0; rows];
        values[rows - 286] = 7.5;
        values[rows - 1] = f64::NAN;
        let axis = TimeAxis {
            start_s: &start_s,
            interval_s: 300,
            zone: Tz::Europe__Berlin,
        };
        let panel = Panel {
            name: "L1".to_owned(),
            ink: Ink::L1,
            values: &values,
            limit: Some(5.0),
        };
        let curves = DayCurves::of(axis, &[panel]);
        assert_eq!(curves.series, [("L1".to_owned(), "l1", Some(5.0))]);
        assert_eq!(curves.days.len(), MOST_DAYS);
        let (date, last) = curves.days.last().expect("a day");
        assert_eq!(date, "Wed 11 Mar 2026");
        assert_eq!(last[0][0], Some(75));
        assert_eq!(last[0][1], Some(30));
    }
}
