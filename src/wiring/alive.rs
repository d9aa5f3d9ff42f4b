//! Does each channel measure at all?

use std::ops::Range;

use super::DeclaredHere;
use super::channels::Channels;
use super::runs::resolution;
use super::series::ChannelSeries;
use super::stuck::{stuck_currents, stuck_voltages};
use metering::{FaultKind, MeterFault, Treatment};

/// A voltage below this share of nominal is that of a lead that is off, or of a phase that is lost.
const NO_VOLTAGE: f64 = 0.1;
/// A phase with so much of the current that it has otherwise is not lost: loads go on. Common practice.
const GOES_ON: f64 = 0.3;
/// Least time of a lost lead: shorter ones are dips. (s)
const LOST_S: i64 = 600;
/// Least time without any current. (s)
const OPEN_S: i64 = 6 * 3600;
/// Rows without current in the rest of the log, at most: a channel that often reads zero may do so for long. (1)
const OPEN_ELSEWHERE: f64 = 0.002;
/// Mean current of a channel whose zero means something. (A)
const OPEN_MEAN_A: f64 = 2.0;

/// Channels that do not measure, and when.
pub(crate) fn faults(channels: &Channels<'_>, ground: &DeclaredHere) -> Vec<MeterFault> {
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
fn lost_leads(channels: &Channels<'_>, ground: &DeclaredHere, phase: usize) -> Vec<MeterFault> {
    let (Some(volts), Some(amps)) = (&channels.phases[phase].volts, &channels.phases[phase].amps)
    else {
        return Vec::new();
    };
    let others = [(phase + 1) % 3, (phase + 2) % 3];
    let share = |volts: f64| volts / ground.nominal_v;
    let power = channels.phases[phase].kw.as_ref();
    let is_lost = |row: usize| {
        // Reading has left such a voltage out where the current was plain, and the power with it.
        let is_gone = match volts.get(row) {
            Some(volts) => share(volts) < NO_VOLTAGE,
            None => amps.get(row).is_some() && power.is_some_and(|power| power.get(row).is_none()),
        };
        is_gone
            && others.iter().all(|&other| {
                let volts = channels.phases[other].volts.as_ref();
                volts
                    .and_then(|volts| volts.get(row))
                    .is_some_and(|volts| (0.8..=1.2).contains(&share(volts)))
            })
    };
    let mut lost = stretches(channels.len(), is_lost);
    lost.retain(|rows| channels.duration_s(rows) >= LOST_S);
    if lost.is_empty() {
        return Vec::new();
    }
    let usual = mean((0..channels.len()).filter(|&row| !is_lost(row)), amps);
    lost.into_iter()
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

/// No current at all for long, in a channel that otherwise always has some.
fn open_currents(channels: &Channels<'_>, phase: usize) -> Vec<MeterFault> {
    let channel = &channels.phases[phase];
    let (Some(amps), Some(volts)) = (&channel.amps, &channel.volts) else {
        return Vec::new();
    };
    let step = resolution(amps.iter()).unwrap_or(0.0);
    let is_open = |row: usize| {
        amps.get(row)
            .is_some_and(|amps| amps.abs() <= 1.01 * step.min(0.1))
            && volts.get(row).is_some_and(|volts| volts > 50.0)
    };
    let rows: Vec<Range<usize>> = stretches(channels.len(), is_open);
    let long = |rows: &Range<usize>| channels.duration_s(rows) >= OPEN_S;
    if !rows.iter().any(long) {
        return Vec::new();
    }
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

fn mean(rows: impl Iterator<Item = usize>, values: &ChannelSeries<'_>) -> Option<f64> {
    let (sum, count) = rows
        .filter_map(|row| values.get(row))
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
