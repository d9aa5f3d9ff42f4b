//! The extra resistance of each phase, with its interval.

use super::design::{Design, EXCESS_COLUMNS, WEEK_S, contrasts};
use super::readings::PhaseReadings;
use super::regression::{Regression, Weighed};
use super::whiten::{Noise, Whitener, likeliest};

/// Readings that contradict all others by this many deviations are not used at all.
const ABSURD: f64 = 8.0;
/// The intervals in which the load moved most carry this share of what there is to learn. The others
/// are left out of the fit: they would add little, except the small changes of current that the voltage
/// itself causes in heaters and motors, which point the wrong way.
const SHARE_OF_MOVEMENT: f64 = 0.95;
/// Fewer readings than this are not looked at.
const FEWEST_READINGS: usize = 120;
/// Below this, the log holds too few independent changes of load for an interval.
const LEAST_FREEDOM: f64 = 4.0;

/// A figure with what is needed for its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// The estimate.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
    /// Degrees of freedom of the error.
    pub freedom: f64,
}

/// What the log says about one phase against the mean of the two others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExtraResistance {
    /// At the middle of the readings. (Ω)
    pub at_middle: Figure,
    /// Over the last week of the readings, or over all where they are shorter. (Ω)
    pub last_week: Figure,
    /// Growth. (Ω per week)
    pub trend: Figure,
}

/// The three phases.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// L1, L2, L3, each against the mean of the two others.
    pub phases: [ExtraResistance; 3],
    /// Readings used.
    pub readings: usize,
    /// Readings set aside because they contradict all others.
    pub set_aside: usize,
}

/// Why nothing can be said.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum EstimateError {
    /// Too few readings hold all that is needed.
    #[error("only {0} intervals have voltage and current of all three phases, at least {FEWEST_READINGS} are needed")]
    TooFew(usize),
    /// The load did not move, or moved on all phases alike.
    #[error("the load varied too little to tell the phases apart")]
    NotEnoughVariation,
}

/// Estimates the extra series resistance of each phase between the source and the meter.
///
/// # Errors
///
/// [`EstimateError`] where the readings do not hold the answer.
pub fn estimate(readings: &PhaseReadings) -> Result<Estimate, EstimateError> {
    if readings.len() < FEWEST_READINGS {
        return Err(EstimateError::TooFew(readings.len()));
    }
    let interval_s = f64::from(readings.interval_s);
    let middle_s = readings.starts[0] as f64 + 0.5 * readings.span_s() as f64;
    // Changes from reading to reading show what contradicts the rest.
    let rough = Design::new(readings, middle_s);
    let first = fit(&rough, Noise::differences(interval_s))?;
    let absurd = first.absurd(ABSURD);
    let kept = readings.filtered(|row| !absurd[row]);
    let design = Design::new(&kept, middle_s);
    // What the source does by itself decides how the readings are weighed against each other.
    let noise = likeliest(&design.times, &first.residuals(&design), interval_s);
    let second = fit(&design, noise)?;
    let noise = likeliest(&design.times, &second.residuals(&design), interval_s);
    let last = fit(&design, noise)?;
    let span_weeks = readings.span_s() as f64 / WEEK_S;
    let phases = [0, 1, 2].map(|phase| of_phase(&last, phase, span_weeks));
    let [Some(l1), Some(l2), Some(l3)] = phases else {
        return Err(EstimateError::NotEnoughVariation);
    };
    Ok(Estimate {
        phases: [l1, l2, l3],
        readings: kept.len(),
        set_aside: readings.len() - kept.len(),
    })
}

fn fit(design: &Design, noise: Noise) -> Result<Regression, EstimateError> {
    let whitener = Whitener::new(&design.times, noise);
    let white = |pair: &[Vec<f64>; 2]| pair.each_ref().map(|series| whitener.apply(series));
    let weighed = Weighed {
        left: white(&design.left),
        columns: design.columns.iter().map(white).collect(),
    };
    let moved = moved(&weighed);
    Regression::fit(weighed, moved).ok_or(EstimateError::NotEnoughVariation)
}

/// Rows in which the load moved: the largest movements, until their squares make the share.
fn moved(weighed: &Weighed) -> Vec<usize> {
    let first = weighed.columns.len() - EXCESS_COLUMNS;
    let movement: Vec<f64> = (0..weighed.left[0].len())
        .map(|row| {
            weighed.columns[first..first + 2]
                .iter()
                .flat_map(|pair| pair.iter().map(|series| series[row] * series[row]))
                .sum()
        })
        .collect();
    let mut order: Vec<usize> = (0..movement.len()).collect();
    order.sort_by(|&a, &b| movement[b].total_cmp(&movement[a]).then(a.cmp(&b)));
    let whole: f64 = movement.iter().sum();
    let mut sum = 0.0;
    let mut rows: Vec<usize> = order
        .into_iter()
        .take_while(|&row| {
            let wanted = sum < SHARE_OF_MOVEMENT * whole;
            sum += movement[row];
            wanted
        })
        .collect();
    rows.sort_unstable();
    rows
}

/// One phase against the mean of the two others: 3/2 of its excess over the mean of all three.
fn of_phase(regression: &Regression, phase: usize, span_weeks: f64) -> Option<ExtraResistance> {
    let [first, second] = contrasts().map(|weights| 1.5 * weights[phase]);
    let at = |weeks: f64| -> Option<Figure> {
        regression.figure(&[first, second, first * weeks, second * weeks])
    };
    // The mean of an evenly growing resistance over the last week is its value in that week's middle.
    let week = span_weeks.min(1.0);
    let figures = ExtraResistance {
        at_middle: at(0.0)?,
        last_week: at(0.5 * span_weeks - 0.5 * week)?,
        trend: regression.figure(&[0.0, 0.0, first, second])?,
    };
    (figures.at_middle.freedom >= LEAST_FREEDOM && figures.last_week.freedom >= LEAST_FREEDOM)
        .then_some(figures)
}
