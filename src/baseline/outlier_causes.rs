//! What was different on a day: hours, meter, phase.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::days::{Calendar, DayShape};
use super::result::{HoursDiffer, PartDiffers};
use statistics::median;

/// What no meter below sees.
const BEYOND: &str = "unmetered";

/// The meter's days and those of the meters below it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shapes<'a> {
    pub(super) calendar: Calendar<'a>,
    /// Complete days of the meter.
    pub(super) own: &'a [DayShape],
    /// Energy of the complete days of the meters below, by name.
    pub(super) below: &'a [(String, BTreeMap<NaiveDate, f64>)],
}

impl Shapes<'_> {
    fn day(&self, date: NaiveDate) -> Option<&DayShape> {
        self.own.iter().find(|shape| shape.date == date)
    }

    /// The other days of the same kind.
    fn others(&self, date: NaiveDate) -> impl Iterator<Item = &DayShape> {
        let kind = self.calendar.day_type(date);
        self.own
            .iter()
            .filter(move |shape| shape.date != date && self.calendar.day_type(shape.date) == kind)
    }

    /// The stretch of hours that differed most in the direction of the day.
    pub(super) fn hours(&self, date: NaiveDate, more: bool) -> Option<HoursDiffer> {
        let day = self.day(date)?;
        let sign = if more { 1.0 } else { -1.0 };
        let mut beyond = [0.0; 24];
        for (hour, beyond) in beyond.iter_mut().enumerate() {
            let usual: Vec<f64> = self.others(date).map(|one| one.hour_kwh[hour]).collect();
            *beyond = sign * (day.hour_kwh[hour] - median(&usual)?);
        }
        let (from_hour, to_hour) = largest_stretch(&beyond)?;
        let sum: f64 = beyond[from_hour..to_hour].iter().sum();
        Some(HoursDiffer {
            from_hour,
            to_hour,
            difference_kwh: sign * sum,
        })
    }

    /// The meter below, or what none of them sees, that differed most in the direction of the day.
    pub(super) fn part(&self, date: NaiveDate, more: bool) -> Option<PartDiffers> {
        let total = |day: &DayShape| -> f64 { day.hour_kwh.iter().sum() };
        let seen = |date: NaiveDate| -> Option<f64> {
            self.below.iter().map(|(_, days)| days.get(&date)).sum()
        };
        let mut parts: Vec<PartDiffers> = self
            .below
            .iter()
            .filter_map(|(name, days)| {
                let usual: Vec<f64> = self
                    .others(date)
                    .filter_map(|one| days.get(&one.date).copied())
                    .collect();
                Some(PartDiffers {
                    name: name.clone(),
                    difference_kwh: days.get(&date)? - median(&usual)?,
                })
            })
            .collect();
        let rest = || -> Option<PartDiffers> {
            let usual: Vec<f64> = self
                .others(date)
                .filter_map(|one| Some(total(one) - seen(one.date)?))
                .collect();
            let own = total(self.day(date)?) - seen(date)?;
            Some(PartDiffers {
                name: BEYOND.to_owned(),
                difference_kwh: own - median(&usual)?,
            })
        };
        if !self.below.is_empty() {
            parts.extend(rest());
        }
        largest(parts, more)
    }

    /// The phase that differed most in the direction of the day.
    pub(super) fn phase(&self, date: NaiveDate, more: bool) -> Option<PartDiffers> {
        let own = self.day(date)?.phase_kwh?;
        let parts = (0..3).filter_map(|phase| {
            let usual: Vec<f64> = self
                .others(date)
                .filter_map(|one| Some(one.phase_kwh?[phase]))
                .collect();
            Some(PartDiffers {
                name: format!("L{}", phase + 1),
                difference_kwh: own[phase] - median(&usual)?,
            })
        });
        largest(parts.collect(), more)
    }
}

fn largest(parts: Vec<PartDiffers>, more: bool) -> Option<PartDiffers> {
    let sign = if more { 1.0 } else { -1.0 };
    let mut best: Option<PartDiffers> = None;
    for part in parts {
        let size = sign * part.difference_kwh;
        let leads = best
            .as_ref()
            .is_none_or(|best| size > sign * best.difference_kwh);
        if size > 0.0 && leads {
            best = Some(part);
        }
    }
    best
}

/// The stretch with the largest sum: its first hour and the one after its last.
///
/// The sum of a stretch only grows while what came before adds to it (J. Bentley, "Programming pearls:
/// algorithm design techniques", Communications of the ACM, vol. 27, 1984).
fn largest_stretch(values: &[f64; 24]) -> Option<(usize, usize)> {
    let (mut sum, mut start) = (0.0, 0);
    let mut best: Option<(f64, usize, usize)> = None;
    for (hour, value) in values.iter().enumerate() {
        if sum <= 0.0 {
            (sum, start) = (0.0, hour);
        }
        sum += value;
        if sum > 0.0 && best.is_none_or(|(most, ..)| sum > most) {
            best = Some((sum, start, hour + 1));
        }
    }
    best.map(|(_, from, to)| (from, to))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stretch_with_the_largest_sum_is_found() {
        let mut hours = [-1.0; 24];
        assert_eq!(largest_stretch(&hours), None);
        // 3 + 2 − 1 + 4 is more than 3 + 2 or 4 alone; −1 and 0.5 behind would only lessen it.
        (hours[7], hours[8], hours[10], hours[12]) = (3.0, 2.0, 4.0, 0.5);
        assert_eq!(largest_stretch(&hours), Some((7, 11)));
    }
}
