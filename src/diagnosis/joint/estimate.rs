//! The extra resistance of each phase, with its interval.

use super::design::{
    Design, FIRST_EXCESS, LINE, LINE_GROWTH, NEUTRAL, NEUTRAL_GROWTH, WEEK_S, contrasts,
};
use super::figure::EstimatedFigure;
use super::readings::PhaseReadings;
use super::regression::Regression;

/// Changes that contradict all others by this many deviations are not used at all.
const ABSURD: f64 = 8.0;
/// The intervals in which the load moved most carry this share of what there is to learn. The others
/// are left out of the fit: they would add little, except the small changes of current that the voltage
/// itself causes in heaters and motors, which point the wrong way.
const SHARE_OF_MOVEMENT: f64 = 0.95;
/// Fewer readings than this are not looked at.
const FEWEST_READINGS: usize = 120;
/// What the equations of small drops leave out, as a share of what the neutral has beyond the phases: by trial on solved
/// circuits. (1)
const MODEL_SHARE: f64 = 0.01;
/// How much of the line's resistance, and of what the neutral has beyond it, the meter's angles and ratios shift into a phase,
/// and how much of a growth they may hide.
/// Common practice. (1)
const MIXED_SHARE: f64 = 0.01;
/// Below this, the log holds too few independent changes of load for an interval.
const LEAST_FREEDOM: f64 = 4.0;

/// What the log says about one conductor against others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExtraResistance {
    /// At the middle of the readings. (Ω)
    pub at_middle: EstimatedFigure,
    /// Over the last week of the readings, or over all where they are shorter. (Ω)
    pub last_week: EstimatedFigure,
    /// Growth. (Ω per week)
    pub trend: EstimatedFigure,
}

/// The three phases.
#[derive(Clone, Debug, PartialEq)]
pub struct JointEstimate {
    /// L1, L2, L3, each against the mean of the two others.
    pub phases: [ExtraResistance; 3],
    /// The neutral against the mean of the three phases times the ratio that it should have; `None` where the log does
    /// not hold it.
    pub neutral: Option<ExtraResistance>,
    /// Resistance that the lines share, as far as the log shows it from the neutral's. (Ω)
    pub line_ohm: f64,
    /// Resistance of the neutral. (Ω)
    pub neutral_ohm: f64,
    /// Changes from one reading to the next that were looked at.
    pub changes: usize,
    /// Changes set aside because they contradict all others.
    pub set_aside: usize,
}

impl JointEstimate {
    /// A resistance with the errors that the meter's class (a share of one) and the equations leave in it.
    #[must_use]
    pub fn widened(&self, extra: ExtraResistance, class: f64) -> ExtraResistance {
        // A meter's class bounds its error: as a deviation, evenly spread within the class (JCGM 100:2008,
        // 4.3.7). It shifts one phase against the others in proportion to what both share and to the excess.
        let class = class / 3.0_f64.sqrt();
        let mixed = MIXED_SHARE * self.line_ohm.hypot(self.neutral_ohm - self.line_ohm);
        let mut extra = extra;
        for figure in [&mut extra.at_middle, &mut extra.last_week] {
            let meter = class * figure.value.hypot(self.line_ohm);
            figure.error = figure.error.hypot(meter).hypot(mixed);
        }
        let growth = class.hypot(MIXED_SHARE) * extra.trend.value;
        extra.trend.error = extra.trend.error.hypot(growth);
        extra
    }
}

/// Why nothing can be said.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum EstimateError {
    /// Too few readings hold all that is needed.
    #[error(
        "at least {FEWEST_READINGS} consecutive intervals with voltage and current of all three phases; the log has {0}"
    )]
    TooFew(usize),
    /// The load did not move, or moved on all phases alike.
    #[error("the load varies too little to separate the phases")]
    NotEnoughVariation,
}

/// Estimates the extra series resistance of each phase, and of the neutral, between the source and the meter.
/// `neutral_ratio` is the resistance that a sound neutral has over that of a phase.
///
/// # Errors
///
/// [`EstimateError`] where the readings do not hold the answer.
pub fn estimate(
    readings: &PhaseReadings,
    neutral_ratio: f64,
) -> Result<JointEstimate, EstimateError> {
    let fitted = Fitted::new(readings)?;
    let span_weeks = readings.span_s() as f64 / WEEK_S;
    let line_ohm = fitted.regression.impedances().line.re;
    let phases = [0, 1, 2].map(|phase| {
        let at = |weeks| fitted.figure(phase, weeks);
        over_time(span_weeks, at, fitted.trend(phase))
    });
    let [Some(l1), Some(l2), Some(l3)] = phases else {
        return Err(EstimateError::NotEnoughVariation);
    };
    Ok(JointEstimate {
        phases: [l1, l2, l3],
        neutral: over_time(
            span_weeks,
            |weeks| {
                let figure = fitted.neutral(neutral_ratio, weeks)?;
                let error = figure.error.hypot(MODEL_SHARE * figure.value);
                Some(EstimatedFigure { error, ..figure })
            },
            fitted.neutral_trend(neutral_ratio),
        ),
        line_ohm,
        neutral_ohm: fitted.regression.impedances().neutral.re,
        changes: fitted.changes,
        set_aside: fitted.set_aside,
    })
}

/// The equations, fitted to a log.
pub(super) struct Fitted {
    regression: Regression,
    changes: usize,
    set_aside: usize,
}

impl Fitted {
    pub(super) fn new(readings: &PhaseReadings) -> Result<Fitted, EstimateError> {
        if readings.len() < FEWEST_READINGS {
            return Err(EstimateError::TooFew(readings.len()));
        }
        let middle_s = readings.starts[0] as f64 + 0.5 * readings.span_s() as f64;
        // A rough fit shows what contradicts the rest, and the impedances.
        let rough = Design::new(readings, middle_s, None);
        let all: Vec<usize> = (0..rough.readings.len()).collect();
        if all.len() < FEWEST_READINGS {
            return Err(EstimateError::TooFew(all.len()));
        }
        let first = fit(rough, &all)?;
        let absurd = first.absurd(ABSURD);
        let kept: Vec<usize> = all.into_iter().filter(|&row| !absurd[row]).collect();
        let mut design = Design::new(readings, middle_s, Some(&first.impedances()));
        design.filter(first.filter_share(&absurd), &absurd);
        Ok(Fitted {
            regression: fit(design, &kept)?,
            changes: kept.len(),
            set_aside: absurd.iter().filter(|&&absurd| absurd).count(),
        })
    }

    /// A phase against the mean of the two others, so many weeks after the middle of the log: 3/2 of its excess
    /// over the mean of all three.
    pub(super) fn figure(&self, phase: usize, weeks: f64) -> Option<EstimatedFigure> {
        let [first, second] = contrasts().map(|weights| 1.5 * weights[phase]);
        self.regression.figure(&[
            (FIRST_EXCESS, first),
            (FIRST_EXCESS + 1, second),
            (FIRST_EXCESS + 2, first * weeks),
            (FIRST_EXCESS + 3, second * weeks),
        ])
    }

    /// Growth of that. (Ω per week)
    fn trend(&self, phase: usize) -> Option<EstimatedFigure> {
        let [first, second] = contrasts().map(|weights| 1.5 * weights[phase]);
        self.regression
            .figure(&[(FIRST_EXCESS + 2, first), (FIRST_EXCESS + 3, second)])
    }

    /// The neutral against so many times the mean of the three phases, so many weeks after the middle of the log.
    fn neutral(&self, ratio: f64, weeks: f64) -> Option<EstimatedFigure> {
        self.regression.figure(&[
            (NEUTRAL, 1.0),
            (NEUTRAL_GROWTH, weeks),
            (LINE, -ratio),
            (LINE_GROWTH, -ratio * weeks),
        ])
    }

    /// Growth of that. (Ω per week)
    fn neutral_trend(&self, ratio: f64) -> Option<EstimatedFigure> {
        self.regression
            .figure(&[(NEUTRAL_GROWTH, 1.0), (LINE_GROWTH, -ratio)])
    }

    /// Current (A) against lost voltage (V) with all else taken out of both; their slope is the figure at the middle.
    pub(super) fn points(&self, phase: usize) -> Option<Vec<(f64, f64)>> {
        let [first, second] = contrasts().map(|weights| 1.5 * weights[phase]);
        self.regression
            .added_variable(&[(FIRST_EXCESS, first), (FIRST_EXCESS + 1, second)])
    }
}

fn fit(design: Design, rows: &[usize]) -> Result<Regression, EstimateError> {
    let moved = moved(&design, rows);
    Regression::fit(design, moved).ok_or(EstimateError::NotEnoughVariation)
}

/// Rows in which the load moved: the largest movements, until their squares make the share.
fn moved(design: &Design, rows: &[usize]) -> Vec<usize> {
    let movement = |row: usize| -> f64 {
        design.columns[FIRST_EXCESS..FIRST_EXCESS + 2]
            .iter()
            .flat_map(|pair| pair.iter().map(|series| series[row] * series[row]))
            .sum()
    };
    let mut order: Vec<(usize, f64)> = rows.iter().map(|&row| (row, movement(row))).collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let whole: f64 = order.iter().map(|(_, movement)| movement).sum();
    let mut sum = 0.0;
    let mut moved: Vec<usize> = order
        .into_iter()
        .take_while(|(_, movement)| {
            let wanted = sum < SHARE_OF_MOVEMENT * whole;
            sum += movement;
            wanted
        })
        .map(|(row, _)| row)
        .collect();
    moved.sort_unstable();
    moved
}

/// The three figures of a resistance that is given at so many weeks after the middle; `None` where too few events
/// carry them.
fn over_time(
    span_weeks: f64,
    at: impl Fn(f64) -> Option<EstimatedFigure>,
    trend: Option<EstimatedFigure>,
) -> Option<ExtraResistance> {
    // The mean of an evenly growing resistance over the last week is its value in that week's middle.
    let week = span_weeks.min(1.0);
    let figures = ExtraResistance {
        at_middle: at(0.0)?,
        last_week: at(0.5 * span_weeks - 0.5 * week)?,
        trend: trend?,
    };
    (figures.at_middle.freedom >= LEAST_FREEDOM && figures.last_week.freedom >= LEAST_FREEDOM)
        .then_some(figures)
}
