//! Another logger from some row on, and two loggers in one file.

use std::ops::Range;

use super::channels::Channels;
use super::runs::{boundary, changes, resolution};
use super::series::ChannelSeries;
use metering::{FaultKind, MeterFault, Treatment};

/// Windows in which a channel's smallest step is found. (s)
const WINDOW_S: i64 = 6 * 3600;
/// Changes within a window from which its smallest step is the channel's resolution.
const FEWEST_CHANGES: usize = 100;
/// Two resolutions are one where they are this close.
const ALIKE: f64 = 0.01;
/// Another resolution is a step of decimal places or of bits.
const COARSER: f64 = 1.9;
/// Windows on each side, at least.
const FEWEST_WINDOWS: usize = 2;
/// A value is one of a coarser step where it is this close to a multiple of it, in steps.
const MULTIPLE: f64 = 0.02;
/// Channels that must change together.
const FEWEST_CHANNELS: usize = 2;
/// Standard errors by which odd rows differ from their neighbours: chance below 1 in 10¹⁴ in any channel.
const ERRORS: f64 = 8.0;
/// … and how much of what a row differs from its neighbours by that explains.
const EXPLAINS: f64 = 0.5;
/// Rows that are enough to say so.
const FEWEST_ROWS: usize = 200;

/// Loggers that change or alternate.
pub(crate) fn faults(channels: &Channels<'_>) -> Vec<MeterFault> {
    let measured: Vec<&ChannelSeries<'_>> = channels
        .phases
        .iter()
        .flat_map(|own| [&own.volts, &own.amps, &own.kw, &own.kvar])
        .flatten()
        .collect();
    if let Some(fault) = alternating(channels, &measured) {
        return vec![fault];
    }
    changed(channels, &measured).into_iter().collect()
}

/// Rows of two sources in turn: each differs from the mean of its neighbours by the same, with a sign that alternates.
fn alternating(channels: &Channels<'_>, measured: &[&ChannelSeries<'_>]) -> Option<MeterFault> {
    let mut strongest: Option<(f64, f64)> = None;
    let mut count = 0;
    for series in measured {
        let (mut sum, mut squares, mut rows) = (0.0, 0.0, 0.0);
        let mut last = [None; 2];
        for row in 0..channels.len() {
            let now = series.get(row);
            if let ([Some(first), Some(middle)], Some(now)) = (last, now) {
                let sign = if row % 2 == 0 { 1.0 } else { -1.0 };
                // A load that switches is no difference between sources.
                let apart: f64 = sign * (middle - 0.5 * (first + now));
                sum += apart;
                squares += apart * apart;
                rows += 1.0;
            }
            last = [last[1], now];
        }
        if rows < FEWEST_ROWS as f64 || squares <= 0.0 {
            continue;
        }
        let mean = sum / rows;
        let explained = mean * mean * rows / squares;
        let errors = mean.abs() / (squares / rows / rows).sqrt();
        if errors >= ERRORS && explained >= EXPLAINS {
            count += 1;
            if strongest.is_none_or(|best| errors > best.0) {
                strongest = Some((errors, explained));
            }
        }
    }
    let (errors, explained) = strongest.filter(|_| count >= FEWEST_CHANNELS)?;
    let evidence = vec![
        ("channels_that_alternate", count as f64),
        ("standard_errors", errors),
        ("share_explained_pct", 100.0 * explained),
    ];
    Some(channels.fault(
        FaultKind::TwoLoggers,
        None,
        0..channels.len(),
        Treatment::Reported,
        evidence,
    ))
}

/// The resolution of several channels changes for good in one window.
fn changed(channels: &Channels<'_>, measured: &[&ChannelSeries<'_>]) -> Option<MeterFault> {
    let windows = windows(channels);
    let mut changes: Vec<(usize, f64, f64, &ChannelSeries<'_>)> = Vec::new();
    for series in measured {
        if let Some((at, before, after)) = step_of_resolution(series, &windows) {
            changes.push((at, before, after, series));
        }
    }
    let &(first, ..) = changes.first()?;
    changes.retain(|(at, ..)| at.abs_diff(first) <= 1);
    if changes.len() < FEWEST_CHANNELS {
        return None;
    }
    // The end of the coarser part: values that are no multiples of the coarser step are of the finer one.
    let rows = windows[first - 1].start..windows[(first + 1).min(windows.len() - 1)].end;
    let is_finer = |row: usize| {
        let of = changes.iter().filter(|(_, before, after, series)| {
            let step = before.max(*after);
            series.get(row).is_some_and(|value| {
                let steps = value / step;
                (steps - steps.round()).abs() > MULTIPLE
            })
        });
        of.count() as f64
    };
    let finer_after = changes[0].1 > changes[0].2;
    // A row whose values happen to be round is of either.
    let cost = |row: usize, finer: bool| if finer { 0.5 } else { is_finer(row) };
    let at = boundary(
        rows,
        |row| cost(row, !finer_after),
        |row| cost(row, finer_after),
    );
    let evidence = vec![
        ("channels_that_change", changes.len() as f64),
        ("smallest_step_before", changes[0].1),
        ("smallest_step_after", changes[0].2),
    ];
    Some(channels.fault(
        FaultKind::LoggerChanged,
        None,
        at..channels.len(),
        Treatment::Reported,
        evidence,
    ))
}

/// The window from which a channel's smallest step is another, with both steps; `None` where it is one, or wanders.
fn step_of_resolution(
    series: &ChannelSeries<'_>,
    windows: &[Range<usize>],
) -> Option<(usize, f64, f64)> {
    let steps: Vec<Option<f64>> = windows
        .iter()
        .map(|rows| {
            let enough = changes(series.within(rows.clone())) >= FEWEST_CHANGES;
            enough
                .then(|| resolution(series.within(rows.clone())))
                .flatten()
        })
        .collect();
    let known: Vec<(usize, f64)> = steps
        .iter()
        .enumerate()
        .filter_map(|(window, step)| Some((window, (*step)?)))
        .collect();
    let (_, before) = *known.first()?;
    let (_, after) = *known.last()?;
    let alike = |a: f64, b: f64| (a / b - 1.0).abs() <= ALIKE;
    let at = known.iter().position(|(_, step)| !alike(*step, before))?;
    let stays = known[at..].iter().all(|(_, step)| alike(*step, after));
    // The window of the change has values of both: the finer step is its smallest.
    let ratio = (after / before).max(before / after);
    let enough = at >= FEWEST_WINDOWS && known.len() - at >= FEWEST_WINDOWS;
    (stays && enough && ratio >= COARSER).then(|| (known[at].0, before, after))
}

fn windows(channels: &Channels<'_>) -> Vec<Range<usize>> {
    let mut windows: Vec<Range<usize>> = Vec::new();
    let mut last = None;
    for (row, start) in channels.starts.iter().enumerate() {
        let window = start.div_euclid(WINDOW_S);
        match windows.last_mut() {
            Some(rows) if last == Some(window) => rows.end = row + 1,
            _ => windows.push(row..row + 1),
        }
        last = Some(window);
    }
    windows
}
