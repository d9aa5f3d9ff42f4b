//! Does each channel measure at all?

use std::ops::Range;

use super::DeclaredHere;
use super::channels::{ChannelSeries, Channels};
use super::runs::{changes, resolution, runs_of_one_value};
use metering::{FaultKind, MeterFault, Treatment};

/// A voltage below this share of nominal is that of a lead that is off, or of a phase that is lost.
const NO_VOLTAGE: f64 = 0.1;
/// A phase with so much of the current that it has otherwise is not lost: loads go on. Common practice.
const GOES_ON: f64 = 0.3;
/// Least time of a lost lead: shorter ones are dips. (s)
const LOST_S: i64 = 600;
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
/// Least time without any current. (s)
const OPEN_S: i64 = 6 * 3600;
/// Rows without current in the rest of the log, at most: a channel that often reads zero may do so for long. (1)
const OPEN_ELSEWHERE: f64 = 0.002;
/// Mean current of a channel whose zero means something. (A)
const OPEN_MEAN_A: f64 = 2.0;

/// Channels that do not measure, and when.
pub(crate) fn faults(channels: &Channels, ground: &DeclaredHere) -> Vec<MeterFault> {
    let mut found = Vec::new();
    for phase in 0..3 {
        found.extend(lost_leads(channels, ground, phase));
        found.extend(stuck_voltages(channels, phase));
        found.extend(stuck_currents(channels, phase));
        if !ground.is_machine {
            found.extend(open_currents(channels, phase));
        }
    }
    found
}

/// The voltage reads zero, those of the other phases are sound, and the phase's current goes on.
fn lost_leads(channels: &Channels, ground: &DeclaredHere, phase: usize) -> Vec<MeterFault> {
    let (Some(volts), Some(amps)) = (&channels.phases[phase].volts, &channels.phases[phase].amps)
    else {
        return Vec::new();
    };
    let others = [(phase + 1) % 3, (phase + 2) % 3];
    let share = |volts: f64| volts / ground.nominal_v;
    let power = channels.phases[phase].kw.as_ref();
    let is_lost = |row: usize| {
        // Reading has left such a voltage out where the current was plain, and the power with it.
        let is_gone = match volts[row] {
            Some(volts) => share(volts) < NO_VOLTAGE,
            None => amps[row].is_some() && power.is_some_and(|power| power[row].is_none()),
        };
        is_gone
            && others.iter().all(|&other| {
                let volts = channels.phases[other].volts.as_ref();
                volts
                    .and_then(|volts| volts[row])
                    .is_some_and(|volts| (0.8..=1.2).contains(&share(volts)))
            })
    };
    let usual = mean((0..channels.len()).filter(|&row| !is_lost(row)), amps);
    stretches(channels.len(), is_lost)
        .into_iter()
        .filter(|rows| channels.duration_s(rows) >= LOST_S)
        .filter_map(|rows| {
            let now = mean(rows.clone(), amps)?;
            (now >= GOES_ON * usual.unwrap_or(0.0) && now > 0.5).then(|| {
                let evidence = vec![("mean_current_meanwhile_a", now)];
                channels.fault(
                    FaultKind::VoltageLost,
                    Some(phase),
                    rows,
                    Treatment::LeftOut,
                    evidence,
                )
            })
        })
        .collect()
}

/// One value for long, while the channel otherwise changes often and the other phases go on to.
fn stuck_voltages(channels: &Channels, phase: usize) -> Vec<MeterFault> {
    let Some(volts) = &channels.phases[phase].volts else {
        return Vec::new();
    };
    let others = [(phase + 1) % 3, (phase + 2) % 3];
    stuck(channels, volts)
        .filter(|(rows, value)| {
            let move_on = others.iter().all(|&other| {
                channels.phases[other]
                    .volts
                    .as_ref()
                    .is_some_and(|other| goes_on(channels, other, rows))
            });
            *value > 1.0 && move_on
        })
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
fn stuck_currents(channels: &Channels, phase: usize) -> Vec<MeterFault> {
    let channel = &channels.phases[phase];
    let (Some(amps), Some(volts)) = (&channel.amps, &channel.volts) else {
        return Vec::new();
    };
    let would_move = |series: &ChannelSeries, rows: &Range<usize>| {
        let step = resolution(series);
        let value = series[rows.start].map(f64::abs);
        step.zip(value).is_some_and(|(step, value)| {
            value * movement(volts, rows) >= STEPS_OF_A_LIVE_LOAD * step
        })
    };
    stuck(channels, amps)
        .filter(|(rows, _)| {
            let power = channel.kw.as_ref();
            let power_stands = power.is_none_or(|kw| changes(kw, rows.clone()) == 0);
            let live = would_move(amps, rows) && power.is_none_or(|kw| would_move(kw, rows));
            power_stands && live && changes(volts, rows.clone()) as f64 >= EXPECTED_CHANGES
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
fn movement(volts: &ChannelSeries, rows: &Range<usize>) -> f64 {
    let known = || volts[rows.clone()].iter().flatten().copied();
    let (low, high) = (known().reduce(f64::min), known().reduce(f64::max));
    match (low, high) {
        (Some(low), Some(high)) if low > 0.0 => (high - low) / (0.5 * (high + low)),
        _ => 0.0,
    }
}

/// No current at all for long, in a channel that otherwise always has some.
fn open_currents(channels: &Channels, phase: usize) -> Vec<MeterFault> {
    let channel = &channels.phases[phase];
    let (Some(amps), Some(volts)) = (&channel.amps, &channel.volts) else {
        return Vec::new();
    };
    let step = resolution(amps).unwrap_or(0.0);
    let is_open = |row: usize| {
        amps[row].is_some_and(|amps| amps.abs() <= 1.01 * step.min(0.1))
            && volts[row].is_some_and(|volts| volts > 50.0)
    };
    let rows: Vec<Range<usize>> = stretches(channels.len(), is_open);
    let long = |rows: &Range<usize>| channels.duration_s(rows) >= OPEN_S;
    let within: usize = rows.iter().filter(|rows| long(rows)).map(Range::len).sum();
    let known = amps.iter().flatten().count();
    let zeros: usize = rows.iter().map(Range::len).sum();
    let elsewhere = (zeros - within) as f64 / (known - within).max(1) as f64;
    let usual = mean((0..channels.len()).filter(|&row| !is_open(row)), amps).unwrap_or(0.0);
    let days_elsewhere = (known - within) as f64 * channels.interval_s as f64 / 86_400.0;
    if elsewhere > OPEN_ELSEWHERE || usual < OPEN_MEAN_A || days_elsewhere < 1.0 {
        return Vec::new();
    }
    let open: Vec<Range<usize>> = rows.into_iter().filter(long).collect();
    // What happens again and again is a habit of the load.
    if open.len() > 2 {
        return Vec::new();
    }
    open.into_iter()
        .map(|rows| {
            let evidence = vec![("usual_current_a", usual)];
            channels.fault(
                FaultKind::CurrentOpen,
                Some(phase),
                rows,
                Treatment::LeftOut,
                evidence,
            )
        })
        .collect()
}

/// Runs of one value that are too long for the channel's habit at those hours of the day.
fn stuck<'c>(
    channels: &'c Channels,
    values: &'c ChannelSeries,
) -> impl Iterator<Item = (Range<usize>, f64)> + 'c {
    let fewest = (STUCK_S / channels.interval_s).max(6) as usize;
    let runs = runs_of_one_value(values, fewest, |row| channels.follows(row));
    runs.into_iter().filter(|(rows, _)| {
        let habit = Habit::outside(channels, values, rows);
        habit.expected(channels, rows) >= EXPECTED_CHANGES
    })
}

/// Do the changes of another phase go on as usual within these rows?
fn goes_on(channels: &Channels, values: &ChannelSeries, rows: &Range<usize>) -> bool {
    let habit = Habit::outside(channels, values, rows);
    let expected = habit.expected(channels, rows).min(rows.len() as f64);
    changes(values, rows.clone()) as f64 >= OTHERS_MOVE * expected.max(10.0)
}

/// How often a channel changes at each hour of the day (UTC).
struct Habit([(f64, f64); 24]);

impl Habit {
    fn outside(channels: &Channels, values: &ChannelSeries, rows: &Range<usize>) -> Habit {
        let mut hours = [(0.0, 0.0); 24];
        for row in 1..channels.len() {
            if rows.contains(&row) || !channels.follows(row) {
                continue;
            }
            if let (Some(before), Some(value)) = (values[row - 1], values[row]) {
                let (changed, all) = &mut hours[hour(channels.starts[row])];
                *all += 1.0;
                *changed += f64::from(u8::from(before.to_bits() != value.to_bits()));
            }
        }
        Habit(hours)
    }

    /// Changes to be expected in these rows; hours that are seen nowhere else say nothing.
    fn expected(&self, channels: &Channels, rows: &Range<usize>) -> f64 {
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

fn mean(rows: impl Iterator<Item = usize>, values: &ChannelSeries) -> Option<f64> {
    let (sum, count) = rows
        .filter_map(|row| values[row])
        .fold((0.0, 0.0), |(sum, count), value| {
            (sum + value.abs(), count + 1.0)
        });
    (count > 0.0).then(|| sum / count)
}

/// Stretches of rows, one after the other, for which something holds.
fn stretches(rows: usize, holds: impl Fn(usize) -> bool) -> Vec<Range<usize>> {
    let mut found: Vec<Range<usize>> = Vec::new();
    for row in 0..rows {
        if !holds(row) {
            continue;
        }
        match found.last_mut() {
            Some(last) if last.end == row => last.end = row + 1,
            _ => found.push(row..row + 1),
        }
    }
    found
}
