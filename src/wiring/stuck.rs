//! Channels that repeat one value.

use std::ops::Range;

use super::channels::Channels;
use super::runs::{changes, resolution, runs_of_one_value};
use super::series::ChannelSeries;
use metering::{FaultKind, MeterFault, Treatment};

/// Least time of one and the same value. (s)
const STUCK_S: i64 = 3600;
/// Changes that would have been expected within a run of one value: so many make chance e^−30.
const EXPECTED_CHANGES: f64 = 30.0;
/// The share of their usual changes that the other phases go on to make.
const OTHERS_MOVE: f64 = 0.3;
/// By so many of the meter's steps a live load would have moved with the voltage. A load of constant power changes its
/// current with the voltage, one of constant current its power, a resistive one both: only where each would have shown
/// is a channel without movement one that repeats.
const STEPS_OF_A_LIVE_LOAD: f64 = 3.0;
/// One value for long, while the channel otherwise changes often and the other phases go on to.
pub(crate) fn stuck_voltages(channels: &Channels<'_>, phase: usize) -> Vec<MeterFault> {
    let [Some(volts), Some(second), Some(third)] = [phase, (phase + 1) % 3, (phase + 2) % 3]
        .map(|phase| channels.phases[phase].volts.as_ref())
    else {
        return Vec::new();
    };
    let mut found = stuck(channels, volts);
    found.retain(|(_, value)| *value > 1.0);
    for other in [second, third] {
        if !found.is_empty() {
            let habit = Habit::of(channels, other);
            found.retain(|(rows, _)| goes_on(&habit, channels, other, rows));
        }
    }
    found
        .into_iter()
        .map(|(rows, value)| {
            let evidence = vec![("repeated_value_v", value)];
            channels.fault(
                FaultKind::VoltageStuck,
                Some(phase),
                rows,
                Treatment::LeftOut,
                evidence,
            )
        })
        .collect()
}

/// One current and one power for long, of a load whose power would follow the voltage.
pub(crate) fn stuck_currents(channels: &Channels<'_>, phase: usize) -> Vec<MeterFault> {
    let channel = &channels.phases[phase];
    let (Some(amps), Some(volts)) = (&channel.amps, &channel.volts) else {
        return Vec::new();
    };
    let would_move = |series: &ChannelSeries<'_>, rows: &Range<usize>| {
        let step = resolution(series.iter());
        let value = series.get(rows.start).map(f64::abs);
        step.zip(value).is_some_and(|(step, value)| {
            value * movement(volts, rows) >= STEPS_OF_A_LIVE_LOAD * step
        })
    };
    stuck(channels, amps)
        .into_iter()
        .filter(|(rows, _)| {
            let power = channel.kw.as_ref();
            let power_stands = power.is_none_or(|kw| changes(kw.within(rows.clone())) == 0);
            let live = would_move(amps, rows) && power.is_none_or(|kw| would_move(kw, rows));
            power_stands && live && changes(volts.within(rows.clone())) as f64 >= EXPECTED_CHANGES
        })
        .map(|(rows, value)| {
            let evidence = vec![("repeated_value_a", value)];
            channels.fault(
                FaultKind::CurrentStuck,
                Some(phase),
                rows,
                Treatment::LeftOut,
                evidence,
            )
        })
        .collect()
}

/// Range of a voltage within these rows over its mean.
fn movement(volts: &ChannelSeries<'_>, rows: &Range<usize>) -> f64 {
    let known = || volts.within(rows.clone()).flatten();
    let (low, high) = (known().reduce(f64::min), known().reduce(f64::max));
    match (low, high) {
        (Some(low), Some(high)) if low > 0.0 => (high - low) / (0.5 * (high + low)),
        _ => 0.0,
    }
}

/// Runs of one value that are too long for the channel's habit at those hours of the day.
fn stuck(channels: &Channels<'_>, values: &ChannelSeries<'_>) -> Vec<(Range<usize>, f64)> {
    let fewest = (STUCK_S / channels.interval_s).max(6) as usize;
    let mut runs = runs_of_one_value(values.iter(), fewest, |row| channels.follows(row));
    if !runs.is_empty() {
        let habit = Habit::of(channels, values);
        runs.retain(|(rows, _)| {
            let elsewhere = habit.outside(channels, values, rows);
            elsewhere.expected(channels, rows) >= EXPECTED_CHANGES
        });
    }
    runs
}

/// Do the changes of another phase go on as usual within these rows?
fn goes_on(
    habit: &Habit,
    channels: &Channels<'_>,
    values: &ChannelSeries<'_>,
    rows: &Range<usize>,
) -> bool {
    let elsewhere = habit.outside(channels, values, rows);
    let expected = elsewhere.expected(channels, rows).min(rows.len() as f64);
    changes(values.within(rows.clone())) as f64 >= OTHERS_MOVE * expected.max(10.0)
}

/// How often a channel changes at each hour of the day (UTC): changes, and rows that follow another.
#[derive(Clone)]
struct Habit([(f64, f64); 24]);

impl Habit {
    fn of(channels: &Channels<'_>, values: &ChannelSeries<'_>) -> Habit {
        let mut habit = Habit([(0.0, 0.0); 24]);
        habit.count(channels, values, &(1..channels.len()), 1.0);
        habit
    }

    /// The same without some rows.
    fn outside(
        &self,
        channels: &Channels<'_>,
        values: &ChannelSeries<'_>,
        rows: &Range<usize>,
    ) -> Habit {
        let mut habit = self.clone();
        habit.count(channels, values, &(rows.start.max(1)..rows.end), -1.0);
        habit
    }

    fn count(
        &mut self,
        channels: &Channels<'_>,
        values: &ChannelSeries<'_>,
        rows: &Range<usize>,
        weight: f64,
    ) {
        let mut before = rows.start.checked_sub(1).and_then(|row| values.get(row));
        for row in rows.clone() {
            let value = values.get(row);
            if let (Some(before), Some(value)) = (before, value)
                && channels.follows(row)
            {
                let (changed, all) = &mut self.0[hour(channels.starts[row])];
                *all += weight;
                *changed += weight * f64::from(u8::from(before.to_bits() != value.to_bits()));
            }
            before = value;
        }
    }

    /// Changes to be expected in these rows; hours that are seen nowhere else say nothing.
    fn expected(&self, channels: &Channels<'_>, rows: &Range<usize>) -> f64 {
        rows.clone()
            .map(|row| {
                let (changed, all) = self.0[hour(channels.starts[row])];
                if all > 0.0 { changed / all } else { 0.0 }
            })
            .sum()
    }
}

fn hour(start_s: i64) -> usize {
    (start_s.rem_euclid(86_400) / 3600) as usize
}
