//! What is left of a main meter, over the hours of the week, and when most of it is.

use chrono::{Datelike, Timelike};

use super::view::{Series, View, at};

const DAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
/// Hours that carry at least this share of the largest hour's difference belong to its time. (1)
const SHARE_OF_LARGEST: f64 = 0.5;

/// What is left of the main meter, over the hours of the week.
pub(super) struct HoursOfWeek {
    /// Mean of what is left in each hour of the week, from Monday 00:00. (kW)
    pub(super) mean_kw: [Option<f64>; 168],
    /// Energy of each hour of the week over the whole log. (kWh)
    energy_kwh: [f64; 168],
}

impl HoursOfWeek {
    pub(super) fn of(view: &View<'_>, left: &Series) -> HoursOfWeek {
        let hours = view.interval_s() as f64 / 3600.0;
        let mut sums = [(0.0, 0.0); 168];
        for (&start, kw) in view.table().starts().iter().zip(left) {
            let Some(kw) = kw else { continue };
            let local = at(start).with_timezone(&view.site.timezone);
            let hour = 24 * local.weekday().num_days_from_monday() + local.hour();
            let sum = &mut sums[hour as usize];
            *sum = (sum.0 + kw * hours, sum.1 + hours);
        }
        HoursOfWeek {
            mean_kw: sums.map(|(energy, hours)| (hours > 0.0).then(|| energy / hours)),
            energy_kwh: sums.map(|(energy, _)| energy),
        }
    }

    /// Energy of the hours that have this sign. (kWh, positive)
    pub(super) fn energy(&self, sign: f64) -> f64 {
        self.energy_kwh
            .iter()
            .map(|kwh| (sign * kwh).max(0.0))
            .sum()
    }

    /// Energy of the hours that have this sign, as far as it is more than a share of another energy. (kWh, positive)
    pub(super) fn energy_beyond(&self, sign: f64, share: f64, of: &HoursOfWeek) -> f64 {
        let hours = self.energy_kwh.iter().zip(&of.energy_kwh);
        hours
            .map(|(kwh, other)| (sign * kwh - share * other).max(0.0))
            .sum()
    }

    /// Days, hours and mean power of the time that has most of this sign: `Mon–Fri 07:00–16:00`.
    pub(super) fn most(&self, sign: f64) -> Option<(String, f64)> {
        let of = |hour: usize| self.mean_kw[hour].map_or(0.0, |kw| sign * kw);
        let largest = (0..168).max_by(|&a, &b| of(a).total_cmp(&of(b)))?;
        let enough = |hour: usize| of(hour) >= SHARE_OF_LARGEST * of(largest);
        let (day, hour) = (largest / 24, largest % 24);
        let first = (0..=hour)
            .rev()
            .take_while(|&hour| enough(24 * day + hour))
            .last()?;
        let last = (hour..24)
            .take_while(|&hour| enough(24 * day + hour))
            .last()?;
        let hours = first..=last;
        // Other days belong to it that have most of the same hours.
        let same: Vec<usize> = (0..7)
            .filter(|day| {
                let count = hours.clone().filter(|hour| enough(24 * day + hour)).count();
                2 * count > hours.clone().count()
            })
            .collect();
        let within: Vec<f64> = same
            .iter()
            .flat_map(|day| hours.clone().map(move |hour| 24 * day + hour))
            .filter_map(|hour| self.mean_kw[hour])
            .collect();
        let mean = within.iter().sum::<f64>() / within.len().max(1) as f64;
        let words = format!("{} {first:02}:00–{:02}:00", days_in_words(&same), last + 1);
        Some((words, sign * mean))
    }
}

/// `Mon–Fri`, `every day`, `Tue, Thu`.
fn days_in_words(days: &[usize]) -> String {
    if days.len() == 7 {
        return "every day".to_owned();
    }
    let runs = days.chunk_by(|a, b| b - a == 1).map(|run| match run {
        [first, .., last] if last - first > 1 => format!("{}–{}", DAYS[*first], DAYS[*last]),
        run => run
            .iter()
            .map(|&day| DAYS[day])
            .collect::<Vec<_>>()
            .join(", "),
    });
    runs.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_read_as_people_say_them() {
        assert_eq!(days_in_words(&[0, 1, 2, 3, 4]), "Mon–Fri");
        assert_eq!(days_in_words(&[1, 3]), "Tue, Thu");
        assert_eq!(days_in_words(&[5, 6]), "Sat, Sun");
        assert_eq!(days_in_words(&[0, 1, 2, 3, 4, 5, 6]), "every day");
    }
}
