//! Data behind an extra resistance, for charts.

use super::design::WEEK_S;
use super::estimate::{ExtraResistance, Fitted, estimate};
use super::readings::PhaseReadings;
use electrical::Phase;

/// Most points of a scatter; more would only cover each other.
const MOST_POINTS: usize = 400;
/// Places in time at which the band is given.
const BAND_POINTS: usize = 24;
/// Parts of the log that are estimated each by itself.
const PARTS: usize = 8;

/// A resistance at a time, with its 95 % interval. (Ω)
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OhmAt {
    /// Unix seconds.
    pub at_s: i64,
    /// The estimate.
    pub ohm: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// How one phase's extra resistance was found.
#[derive(Clone, Debug, PartialEq)]
pub struct JointTrace {
    /// The phase.
    pub phase: Phase,
    /// Change of the phase's current (A) and what of its voltage is lost with it (V), both less what all else
    /// in the fit explains: their slope is the extra resistance at the middle of the log.
    pub points: Vec<(f64, f64)>,
    /// Slope with its 95 % interval. (Ω)
    pub slope: OhmAt,
    /// The straight line through time, with its band.
    pub band: Vec<OhmAt>,
    /// Each part of the log by itself, which knows nothing of the line.
    pub parts: Vec<OhmAt>,
}

impl JointTrace {
    /// `None` where the readings do not hold the answer.
    pub(super) fn new(readings: &PhaseReadings, phase: Phase) -> Option<JointTrace> {
        let fitted = Fitted::new(readings).ok()?;
        let (first_s, span_s) = (*readings.starts.first()?, readings.span_s());
        let middle_s = first_s + span_s / 2;
        let ohm_at = |at_s: i64| -> Option<OhmAt> {
            let weeks = (at_s - middle_s) as f64 / WEEK_S;
            let figure = fitted.figure(phase.index(), weeks)?;
            let (low, high) = ExtraResistance::interval_95(figure);
            Some(OhmAt {
                at_s,
                ohm: figure.value,
                low,
                high,
            })
        };
        let band = (0..=BAND_POINTS)
            .map(|step| first_s + span_s * step as i64 / BAND_POINTS as i64)
            .map(ohm_at)
            .collect::<Option<_>>()?;
        Some(JointTrace {
            phase,
            points: thinned(fitted.points(phase.index())?),
            slope: ohm_at(middle_s)?,
            band,
            parts: parts(readings, phase),
        })
    }
}

/// Evenly through the currents, so that the ends stay.
fn thinned(mut points: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let every = points.len().div_ceil(MOST_POINTS).max(1);
    let last = points.last().copied();
    let mut kept: Vec<(f64, f64)> = points.into_iter().step_by(every).collect();
    if kept.last() != last.as_ref() {
        kept.extend(last);
    }
    kept
}

fn parts(readings: &PhaseReadings, phase: Phase) -> Vec<OhmAt> {
    let rows = readings.len();
    (0..PARTS)
        .filter_map(|part| {
            let part = readings.part(rows * part / PARTS..rows * (part + 1) / PARTS);
            let figure = estimate(&part, 1.0).ok()?.phases[phase.index()].at_middle;
            let (low, high) = ExtraResistance::interval_95(figure);
            Some(OhmAt {
                at_s: part.starts[0] + part.span_s() / 2,
                ohm: figure.value,
                low,
                high,
            })
        })
        .collect()
}
