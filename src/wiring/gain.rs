//! Do the currents of the phases add up to that of the neutral?
//!
//! Where the neutral is logged, gains g_k of the three channels follow from
//!
//! ```text
//! n ≈ |Σ g_k · I_k · u_k|
//! ```
//!
//! by repeated linear least squares (Gauss and Newton). Sound wiring gives three gains of one; a ratio that is not as
//! declared stands out as its own factor, and a change of it as a step from one window to the next.

use std::ops::Range;

use num_complex::Complex64;

use super::channels::Channels;
use super::runs;
use electrical::Phase;
use metering::{FaultKind, MeterFault, Treatment};
use statistics::{LeastSquares, median};

/// Windows in which the gains are found. (s)
const WINDOW_S: i64 = 86_400;
/// Rows of a window with all readings, at least.
const FEWEST_ROWS: usize = 40;
/// Rows that a window's fit uses at most, evenly picked.
const MOST_ROWS: usize = 400;
const ROUNDS: usize = 12;
/// Readings on which each likely wrong ratio is tried first.
const FEW_READINGS: usize = 100;
/// A gain this close to one is sound: twice the 2 % of two transformers of class 1 with their meter. Common practice.
const SOUND: f64 = 0.04;
/// A gain that differs from its own mean by so many standard errors has changed.
const ERRORS: f64 = 6.0;
/// Least error of a mean of windows that is believed.
const LEAST_ERROR: f64 = 0.004;
/// A gain with a larger standard error says nothing.
const MOST_ERROR: f64 = 0.02;
/// Current that a meter resolves. Common practice. (A)
const RESOLUTION_A: f64 = 0.02;
/// A neutral that the phases do not explain to this share has harmonics, or loads that switch within the interval.
const EXPLAINED: f64 = 0.1;
/// A ratio that is no whole step off is believed only where hardly anything is left unexplained: third harmonics add up in
/// the neutral and pass for a gain.
const EXACT: f64 = 0.02;
/// … or, for a whole step, where the gain is further off than what is left unexplained can make it. Common practice.
const FAR: f64 = 1.4;
/// Ratios of transformers are wrong by whole steps: a factor this close to one of them is that step.
pub(crate) const STEP: f64 = 0.02;
/// Current ratios between neighbouring sizes of transformers (IEC 61869-2, 5.201: 10, 12.5, 15, 20, 25, 30, 40, 50, 60, 75
/// and their multiples), and primary turns.
pub(crate) const STEPS: [f64; 15] = [
    0.2, 0.25, 0.333_333, 0.4, 0.5, 0.6, 0.666_667, 0.75, 0.8, 1.25, 1.333_333, 1.5, 2.0, 2.5, 3.0,
];

/// Channels whose ratio is not as declared.
pub(crate) fn faults(channels: &Channels<'_>) -> Vec<MeterFault> {
    let windows = windows(channels);
    if windows.is_empty() {
        return Vec::new();
    }
    let mut found = Vec::new();
    for phase in 0..3 {
        let gains: Vec<f64> = windows.iter().map(|window| window.gains[phase]).collect();
        let at = split(&gains).unwrap_or(0);
        for part in [0..at, at..gains.len()]
            .iter()
            .filter(|part| !part.is_empty())
        {
            let Some(gain) = median(&gains[part.clone()]) else {
                continue;
            };
            // The neutral's own transformer may be the wrong one: then all three say so.
            let others = [(phase + 1) % 3, (phase + 2) % 3].map(|other| {
                let gains: Vec<f64> = windows[part.clone()]
                    .iter()
                    .map(|window| window.gains[other])
                    .collect();
                median(&gains).unwrap_or(f64::NAN)
            });
            let others_sound = others.iter().all(|gain| (gain - 1.0).abs() <= SOUND);
            if (gain - 1.0).abs() <= SOUND || !others_sound || gain <= 0.0 {
                continue;
            }
            let rows = rows_of(channels, &windows, part, phase, gain);
            let step = STEPS
                .into_iter()
                .find(|step| (gain / step - 1.0).abs() <= STEP);
            let evidence = vec![("true_over_read", gain), ("windows", part.len() as f64)];
            let exact = median(
                &windows[part.clone()]
                    .iter()
                    .map(|window| window.misfit)
                    .collect::<Vec<_>>(),
            );
            let is_exact = exact.is_some_and(|misfit| misfit <= EXACT);
            let is_far = !(1.0 / FAR..=FAR).contains(&gain);
            let (factor, remedy) = match step {
                Some(step) if is_exact || is_far => (step, Treatment::Corrected),
                None if is_exact => (gain, Treatment::Reported),
                _ => continue,
            };
            let kind = FaultKind::Ratio { factor };
            found.push(channels.fault(kind, Some(phase), rows, remedy, evidence));
        }
    }
    found
}

struct GainWindow {
    rows: Range<usize>,
    gains: [f64; 3],
    /// What the phases do not explain of the neutral's current, as a share of it.
    misfit: f64,
}

fn windows(channels: &Channels<'_>) -> Vec<GainWindow> {
    let mut windows = Vec::new();
    let mut first = 0;
    while first < channels.len() {
        let window = channels.starts[first].div_euclid(WINDOW_S);
        let mut end = first;
        while end < channels.len() && channels.starts[end].div_euclid(WINDOW_S) == window {
            end += 1;
        }
        if let Some((gains, misfit)) = gains(channels, first..end) {
            windows.push(GainWindow {
                rows: first..end,
                gains,
                misfit,
            });
        }
        first = end;
    }
    windows
}

/// Currents of the phases in the common frame, and the neutral's. (A)
fn reading(channels: &Channels<'_>, row: usize) -> Option<([Complex64; 3], f64)> {
    let neutral = channels.neutral.as_ref()?.get(row)?;
    let mut currents = [Complex64::ZERO; 3];
    for (k, current) in currents.iter_mut().enumerate() {
        *current = channels.current(k, row)? * Phase::ALL[k].direction();
    }
    Some((currents, neutral))
}

/// The gains of a window; `None` where its readings do not determine them, or where something else than the fundamental
/// of the loads makes the neutral's current.
fn gains(channels: &Channels<'_>, rows: Range<usize>) -> Option<([f64; 3], f64)> {
    let step = rows.len().div_ceil(MOST_ROWS).max(1);
    let readings: Vec<([Complex64; 3], f64)> = rows
        .step_by(step)
        .filter_map(|row| reading(channels, row))
        .filter(|(currents, _)| currents.iter().any(|current| current.norm() > 1.0))
        .collect();
    if readings.len() < FEWEST_ROWS {
        return None;
    }
    let mean: f64 = readings.iter().map(|(_, n)| n * n).sum::<f64>() / readings.len() as f64;
    let share = |misfit: f64| (misfit / mean).sqrt();
    let sound = descend(&readings, [1.0; 3]);
    if let Some((misfit, gains)) = sound
        && share(misfit) <= EXACT
        && gains.iter().all(|gain| (gain - 1.0).abs() <= SOUND)
    {
        return Some((gains, share(misfit)));
    }
    // From every other likely start: the sum of squares has a valley for each wrong ratio.
    let starts = [
        [2.0, 1.0, 1.0],
        [1.0, 2.0, 1.0],
        [1.0, 1.0, 2.0],
        [0.5, 1.0, 1.0],
        [1.0, 0.5, 1.0],
        [1.0, 1.0, 0.5],
    ];
    // Which valley is the deepest is seen on some of the readings; only that one is measured with all.
    let step = readings.len().div_ceil(FEW_READINGS);
    let few: Vec<_> = readings.iter().step_by(step).copied().collect();
    let mut deepest: Option<(f64, [f64; 3])> = descend(&few, [1.0; 3]);
    let mut other = None;
    for start in starts {
        if let Some((misfit, gains)) = descend(&few, start)
            && deepest.is_none_or(|deepest| misfit < 0.999 * deepest.0)
        {
            deepest = Some((misfit, gains));
            other = Some(gains);
        }
    }
    let other = other.and_then(|gains| descend(&readings, gains));
    let best = match (sound, other) {
        (Some(sound), Some(other)) if other.0 >= 0.999 * sound.0 => Some(sound),
        (sound, other) => other.or(sound),
    };
    let (misfit, gains) = best?;
    (share(misfit) <= EXPLAINED).then_some((gains, share(misfit)))
}

fn descend(readings: &[([Complex64; 3], f64)], start: [f64; 3]) -> Option<(f64, [f64; 3])> {
    let mut gains = start;
    let misfit = |gains: &[f64; 3]| -> f64 {
        let squares = readings.iter().map(|(currents, neutral)| {
            let sum: Complex64 = (0..3).map(|k| currents[k] * gains[k]).sum();
            (sum.norm() - neutral).powi(2)
        });
        squares.sum::<f64>() / readings.len() as f64
    };
    let mut last = misfit(&gains);
    let mut leverages = [f64::INFINITY; 3];
    for _ in 0..ROUNDS {
        let mut columns = vec![Vec::new(); 3];
        let mut left = Vec::with_capacity(readings.len());
        for (currents, neutral) in readings {
            let sum: Complex64 = (0..3).map(|k| currents[k] * gains[k]).sum();
            let size = sum.norm().max(1e-9);
            for k in 0..3 {
                columns[k].push((sum.conj() * currents[k]).re / size);
            }
            left.push(neutral - size);
        }
        let fit = LeastSquares::fit(&columns, &left)?;
        let change: Vec<f64> = fit.coefficients().iter().copied().collect::<Option<_>>()?;
        for (k, leverage) in leverages.iter_mut().enumerate() {
            let mut own = [0.0; 3];
            own[k] = 1.0;
            *leverage = fit.leverage(&own)?;
        }
        let mut share = 1.0;
        let next = loop {
            let tried = [0, 1, 2].map(|k| gains[k] + share * change[k]);
            let now = misfit(&tried);
            if now <= last || share < 0.05 {
                break (now, tried);
            }
            share *= 0.5;
        };
        let settled = last - next.0 <= 1e-9 * last;
        if next.0 <= last {
            (last, gains) = next;
        }
        if settled {
            break;
        }
    }
    // A meter shows no less than its last digit.
    let noise = last.max(RESOLUTION_A * RESOLUTION_A);
    let is_determined = leverages
        .iter()
        .all(|leverage| (noise * leverage).sqrt() <= MOST_ERROR);
    is_determined.then_some((last, gains))
}

/// The window from which a gain is another: the split that the scatter within both parts is smallest for, if their means
/// differ by far more than that scatter allows.
fn split(gains: &[f64]) -> Option<usize> {
    let mut best: Option<(f64, usize)> = None;
    for at in 1..gains.len() {
        let (before, after) = gains.split_at(at);
        let (a, b) = (median(before)?, median(after)?);
        let spread = |part: &[f64], middle: f64| -> f64 {
            part.iter().map(|gain| (gain - middle).abs()).sum()
        };
        let within = spread(before, a) + spread(after, b);
        if best.is_none_or(|best| within < best.0) {
            best = Some((within, at));
        }
    }
    let (within, at) = best?;
    let (before, after) = gains.split_at(at);
    let error = (within / gains.len() as f64 * 1.25
        / (before.len().min(after.len()) as f64).sqrt())
    .max(LEAST_ERROR);
    let apart = (median(before)? - median(after)?).abs();
    (apart > SOUND && apart > ERRORS * error).then_some(at)
}

/// The rows of some windows, the end where the gain changes at the very interval.
fn rows_of(
    channels: &Channels<'_>,
    windows: &[GainWindow],
    part: &Range<usize>,
    phase: usize,
    gain: f64,
) -> Range<usize> {
    let misfit = |row: usize, gain: f64| -> f64 {
        reading(channels, row).map_or(0.0, |(currents, neutral)| {
            let sum: Complex64 = (0..3)
                .map(|k| currents[k] * if k == phase { gain } else { 1.0 })
                .sum();
            (sum.norm() - neutral).powi(2)
        })
    };
    let boundary = |rows: Range<usize>, before: f64, after: f64| {
        runs::boundary(rows, |row| misfit(row, before), |row| misfit(row, after))
    };
    let from = if part.start == 0 {
        0
    } else {
        let rows = windows[part.start - 1].rows.start..windows[part.start].rows.end;
        boundary(rows, 1.0, gain)
    };
    let to = if part.end == windows.len() {
        channels.len()
    } else {
        let rows = windows[part.end - 1].rows.start..windows[part.end].rows.end;
        boundary(rows, gain, 1.0)
    };
    from..to
}
