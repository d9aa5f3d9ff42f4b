//! Unusual days, by a score that they do not widen themselves.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::day_type::DayType;
use super::days::{Calendar, DayShape, DayTotal};
use super::outlier_causes::Shapes;
use super::result::{Baseline, StandingOut};
use site::Every;
use statistics::{RobustScale, median};

/// A day whose score is further from zero is unusual (B. Iglewicz, D. C. Hoaglin, 1993, as in
/// [`statistics::robust_score`]).
pub const POSSIBLE_OUTLIER: f64 = 3.5;
/// So many whole days of a kind are needed to say what is usual (common practice).
pub const FEWEST_DAYS: usize = 5;

/// The whole days of a meter that are unusual for their day type, the furthest first, each with what was
/// different: of what a baseline by the day expects the differences are compared, else the energy itself.
///
/// `below` is the energy of the whole days of the meters below it.
pub fn unusual_days(
    meter: &str,
    days: &[DayTotal],
    shapes: &[DayShape],
    below: &[(String, BTreeMap<NaiveDate, f64>)],
    calendar: Calendar<'_>,
    baseline: Option<&Baseline>,
) -> Vec<StandingOut> {
    let by_day = baseline.filter(|baseline| baseline.by == Every::Day);
    let expected: BTreeMap<NaiveDate, f64> = by_day
        .into_iter()
        .flat_map(|baseline| &baseline.periods)
        .filter_map(|period| Some((period.from, period.expected_kwh?)))
        .collect();
    let shapes = Shapes {
        calendar,
        own: shapes,
        below,
    };
    let mut found = Vec::new();
    for kind in DayType::ALL {
        let own: Vec<&DayTotal> = days
            .iter()
            .filter(|day| day.complete && calendar.day_type(day.date) == kind)
            .filter(|day| by_day.is_none() || expected.contains_key(&day.date))
            .collect();
        if own.len() < FEWEST_DAYS {
            continue;
        }
        let usual = median(&own.iter().map(|day| day.kwh).collect::<Vec<f64>>());
        let of = |day: &DayTotal| expected.get(&day.date).copied().or(usual);
        let differences: Vec<f64> = own
            .iter()
            .filter_map(|day| Some(day.kwh - of(day)?))
            .collect();
        let Some(scale) = RobustScale::of(&differences) else {
            continue;
        };
        for (day, &difference) in own.iter().zip(&differences) {
            let score = scale.score(difference);
            if score.abs() <= POSSIBLE_OUTLIER {
                continue;
            }
            let more = score > 0.0;
            found.push(StandingOut {
                meter: meter.to_owned(),
                date: day.date,
                day_type: kind,
                energy_kwh: day.kwh,
                expected_kwh: day.kwh - difference,
                difference_kwh: difference,
                score,
                hours: shapes.hours(day.date, more),
                part: shapes.part(day.date, more),
                phase: shapes.phase(day.date, more),
            });
        }
    }
    found.sort_by(|a, b| {
        b.score
            .abs()
            .total_cmp(&a.score.abs())
            .then(a.date.cmp(&b.date))
    });
    found
}
