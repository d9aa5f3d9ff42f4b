//! A ratio that changes where no neutral is logged.
//!
//! Three-phase machines switch on all phases at once, with the same change of P + jQ on each. From the interval in which a
//! transformer's ratio is another, its phase has its own share of every such change. Machines need not be symmetrical:
//! only a change of the shares is judged.

use num_complex::Complex64;

use super::DeclaredHere;
use super::channels::Channels;
use super::gain::{STEP, STEPS};
use super::runs::boundary;
use super::steps::{PowerStep, steps};
use metering::{FaultKind, MeterFault, Treatment};
use statistics::{NORMAL_OVER_MEDIAN, median};

/// Angles of the three changes of one machine are this close. (°)
const ALIKE_DEG: f64 = 12.0;
/// Shares further off than this are of two loads that switched in one interval.
const FARTHEST: f64 = 8.0;
/// Changes on both sides, at least.
const FEWEST: usize = 8;
/// A change of ratio this small is left to the scatter of unsymmetrical machines.
const SOUND: f64 = 0.04;
/// Standard errors by which the shares must differ, whatever the row of the change: chance below 1 in 10⁹ for one split,
/// and there are at most some hundred.
const ERRORS: f64 = 6.0;
/// Least scatter of a share that is believed.
const LEAST_SCATTER: f64 = 0.01;
/// Splits that are tried.
const SPLITS: usize = 100;
/// Shares of the other two phases move by half as much the other way; they may differ from that by this part of it.
const OTHERS: f64 = 0.35;
/// A factor this far from one, if it is no whole step, spoils what rests on the phase.
const SPOILS: f64 = 1.15;

/// A phase whose ratio changed within the log.
pub(crate) fn faults(channels: &Channels<'_>, ground: &DeclaredHere) -> Vec<MeterFault> {
    if ground.is_machine || channels.neutral.is_some() {
        return Vec::new();
    }
    let shares: Vec<(usize, [f64; 3])> = steps(channels).iter().filter_map(shares).collect();
    if shares.len() < 2 * FEWEST {
        return Vec::new();
    }
    let best = (0..3)
        .filter_map(|phase| {
            let series: Vec<f64> = shares.iter().map(|(_, share)| share[phase]).collect();
            Some((split(&series)?, phase))
        })
        .max_by(|a, b| a.0.errors.total_cmp(&b.0.errors));
    let Some((change, phase)) = best else {
        return Vec::new();
    };
    let moved = change.after - change.before;
    let others_follow = [(phase + 1) % 3, (phase + 2) % 3].iter().all(|&other| {
        let level = |part: &[(usize, [f64; 3])]| {
            median(
                &part
                    .iter()
                    .map(|(_, share)| share[other])
                    .collect::<Vec<_>>(),
            )
        };
        let (before, after) = shares.split_at(change.at);
        level(before)
            .zip(level(after))
            .is_some_and(|(a, b)| (b - a + 0.5 * moved).abs() <= OTHERS * moved.abs())
    });
    if !others_follow || moved.abs() <= (1.0 + SOUND).ln() {
        return Vec::new();
    }
    // Symmetrical machines have a share of one, ln 1 = 0: the side that is further off is the wrong one.
    let after_is_wrong = change.after.abs() >= change.before.abs();
    let at = boundary(
        0..shares.len(),
        |step| {
            (shares[step].1[phase] - change.before)
                .abs()
                .min(moved.abs())
        },
        |step| {
            (shares[step].1[phase] - change.after)
                .abs()
                .min(moved.abs())
        },
    );
    let row = shares.get(at).map_or(channels.len(), |share| share.0);
    let rows = if after_is_wrong {
        row..channels.len()
    } else {
        0..row
    };
    let gain = if after_is_wrong { -moved } else { moved }.exp();
    let step = STEPS
        .into_iter()
        .find(|step| (gain / step - 1.0).abs() <= STEP);
    let (factor, remedy) = match step {
        Some(step) => (step, Treatment::Corrected),
        None if (1.0 / SPOILS..=SPOILS).contains(&gain) => (gain, Treatment::Reported),
        None => (gain, Treatment::LeftOut),
    };
    let evidence = vec![
        ("true_over_read", gain),
        ("steps_on_three_phases", shares.len() as f64),
        ("standard_errors_of_the_change", change.errors),
    ];
    let kind = FaultKind::Ratio { factor };
    vec![channels.fault(kind, Some(phase), rows, remedy, evidence)]
}

/// Row and ln of each phase's change over the mean (geometric) of the two others; `None` unless one machine switched all three.
fn shares(step: &PowerStep) -> Option<(usize, [f64; 3])> {
    let sizes = step.change.map(Complex64::norm);
    let least = sizes.iter().copied().fold(f64::INFINITY, f64::min);
    let most = sizes.iter().copied().fold(0.0, f64::max);
    if least <= 0.0 || most > FARTHEST * least {
        return None;
    }
    let angle = |a: usize, b: usize| (step.change[a] / step.change[b]).arg().to_degrees().abs();
    let alike = [(0, 1), (1, 2), (2, 0)]
        .iter()
        .all(|&(a, b)| angle(a, b) <= ALIKE_DEG);
    alike.then(|| {
        let logs = sizes.map(f64::ln);
        let share = [0, 1, 2].map(|k| logs[k] - 0.5 * (logs[(k + 1) % 3] + logs[(k + 2) % 3]));
        (step.row, share)
    })
}

#[derive(Clone, Copy, Debug)]
struct LevelChange {
    at: usize,
    before: f64,
    after: f64,
    /// Difference of the two levels over its standard error.
    errors: f64,
}

/// The split whose two levels differ by most, if that is more than chance.
fn split(series: &[f64]) -> Option<LevelChange> {
    let scatter = |part: &[f64], middle: f64| {
        let away: Vec<f64> = part.iter().map(|value| (value - middle).abs()).collect();
        Some((median(&away)? * NORMAL_OVER_MEDIAN).max(LEAST_SCATTER))
    };
    let step = series.len().div_ceil(SPLITS).max(1);
    let mut best: Option<LevelChange> = None;
    for at in (FEWEST..=series.len().checked_sub(FEWEST)?).step_by(step) {
        let (left, right) = series.split_at(at);
        let (before, after) = (median(left)?, median(right)?);
        // Variance of a median is π/2 times that of a mean.
        let part = |part: &[f64], middle: f64| {
            Some(scatter(part, middle)?.powi(2) * std::f64::consts::FRAC_PI_2 / part.len() as f64)
        };
        let errors = (after - before).abs() / (part(left, before)? + part(right, after)?).sqrt();
        if best.is_none_or(|best| errors > best.errors) {
            best = Some(LevelChange {
                at,
                before,
                after,
                errors,
            });
        }
    }
    best.filter(|best| best.errors >= ERRORS)
}
