//! What is to be expected of a neutral over the hours of a schedule.
//!
//! A load that is on with probability p draws a current whose mean is p·m and whose variance is p·(m² + τ²) − p²·m².
//! Loads switch independently, so the mean square of a sum of phasors is that of the sum of the means plus the sum of
//! the variances. The second sum does not depend on how loads to neutral are allocated: it is what no plan removes.

use num_complex::Complex64;

use crate::model::{Draw, Load};
use electrical::Phase;

/// Hours in which the same schedules run.
#[derive(Clone, Debug, PartialEq)]
pub struct Hours {
    /// Their part of all hours, 0 to 1.
    pub share: f64,
    /// Whether a load's schedule runs, load by load.
    pub runs: Vec<bool>,
}

/// Mean square over the hours of the neutral of some loads. (A²)
///
/// Symbols: p probability of being on, m share of the rated current while on, τ spread of that share from time to
/// time, n phasor of a load's neutral current at its rating. (A)
///
/// ```text
/// E|N|² = Σ_hours w·( |Σ p·m·n|² + Σ (p·(m² + τ²) − p²·m²)·|n|² ), third harmonics likewise as a sum in phase
/// ```
///
/// `turns` are those of the plan, load by load; `None` where a load stays where the draw has it. `here` says which loads
/// are counted.
///
/// Range: 0 and above. Source: mean and variance of a sum of independent variables.
///
/// ```
/// use estimation::{Draw, Hours, Load, Turns, mean_square};
/// use num_complex::Complex64;
///
/// // One load of 10 A that is on for a quarter of the time: 10²/4.
/// let load = Load {
///     place: 0,
///     on_a: [Some(Complex64::new(10.0, 0.0)), None, None],
///     third_harmonic: 0.0,
///     turns: Turns::certain(0),
///     on_share: 0.25,
///     runs: Vec::new(),
///     own_spread: None,
/// };
/// let draw = Draw { turns: vec![0], share: vec![1.0], on: vec![0.25], in_round: Vec::new() };
/// let always = Hours { share: 1.0, runs: vec![true] };
/// let square = mean_square(&[load], &draw, &[None], &[always], 0.0, |_| true);
/// assert!((square - 25.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn mean_square(
    loads: &[Load],
    draw: &Draw,
    turns: &[Option<usize>],
    hours: &[Hours],
    from_time_to_time: f64,
    here: impl Fn(usize) -> bool,
) -> f64 {
    let each = from_time_to_time.powi(2);
    let counted: Vec<(usize, Complex64, f64)> = (0..loads.len())
        .filter(|&load| here(load))
        .map(|load| {
            let turn = turns.get(load).copied().flatten();
            let turn = turn.unwrap_or(draw.turns[load]);
            (load, neutral_of(&loads[load], turn), third_of(&loads[load]))
        })
        .collect();
    hours
        .iter()
        .map(|hours| {
            let (mut sum, mut third, mut variance) = (Complex64::ZERO, 0.0, 0.0);
            for &(load, neutral, harmonic) in &counted {
                if !hours.runs.get(load).copied().unwrap_or(true) {
                    continue;
                }
                let (on, share) = (draw.on[load], draw.share[load]);
                sum += neutral * (on * share);
                third += harmonic * (on * share);
                let own = on * (share * share + each) - (on * share).powi(2);
                variance += own * (neutral.norm_sqr() + harmonic * harmonic);
            }
            hours.share * (sum.norm_sqr() + third * third + variance)
        })
        .sum()
}

/// Neutral current of a load at its rating, in the common frame. (A)
#[must_use]
pub fn neutral_of(load: &Load, turn: usize) -> Complex64 {
    (0..3)
        .filter_map(|position| Some((position, load.on_a[position]?)))
        .map(|(position, current)| current * Phase::ALL[(position + turn) % 3].direction())
        .sum()
}

/// Third harmonic of a load in the neutral at its rating: those of its phases are in phase. (A)
#[must_use]
pub fn third_of(load: &Load) -> f64 {
    let phases = load.on_a.iter().flatten();
    load.third_harmonic * phases.map(|current| current.norm()).sum::<f64>()
}
