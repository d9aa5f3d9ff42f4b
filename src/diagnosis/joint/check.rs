//! Turns a meter's log into findings.

use super::basis::EstimateBasis;
use super::confirmation::confirmation;
use super::estimate::{EstimateError, ExtraResistance, JointEstimate, estimate};
use super::neutral_path::{NeutralPath, neutral_path, neutral_ratio};
use super::page::{CAUTION, COULD_ALSO_BE, READING_THAT_DECIDES, SOURCE};
use super::report::{CarriedCurrent, grades, growth, ohms};
use super::series::{below, readings};
use super::significance::half_width;
use super::trace::JointTrace;
use crate::outcome::{Diagnosis, Report, Trace};
use crate::star_point::StarPoint;
use crate::thresholds as limits;
use crate::view::{View, at};
use electrical::Phase;
use finding::Kind;

const KIND: Kind = Kind::HighResistanceJoint;

/// Judges the phases upstream of a meter, or between it and the meter above it, and gives what the same readings
/// say of the neutral.
pub(crate) fn check(
    view: &View<'_>,
    upstream: Option<&View<'_>>,
    star_point: &StarPoint,
    diagnosis: &mut Diagnosis,
) -> NeutralPath {
    if view.node().is_none() {
        return NeutralPath::NotJudged;
    }
    let (own, angles) = match readings(view, star_point) {
        Ok(readings) => readings,
        Err(needs) => {
            diagnosis.needs(view, KIND, None, needs);
            return NeutralPath::NotJudged;
        }
    };
    let between = upstream.and_then(|upstream| Some((upstream, below(upstream, &own)?)));
    let (upstream, series, reach) = match &between {
        Some((upstream, series)) => (
            Some(*upstream),
            series,
            format!(
                "between the meters `{}` and `{}`",
                upstream.meter.id, view.meter.id
            ),
        ),
        None => (
            None,
            &own,
            format!("between the source and the meter `{}`", view.meter.id),
        ),
    };
    let basis = EstimateBasis {
        view,
        upstream,
        readings: series,
        angles,
        reach,
        neutral_ratio: neutral_ratio(view, upstream),
    };
    match estimate(series, basis.neutral_ratio) {
        Ok(estimate) => {
            for phase in Phase::ALL {
                judge_phase(&basis, phase, &estimate, diagnosis);
            }
            neutral_path(&basis, &estimate)
        }
        Err(error) => {
            let needs = match error {
                EstimateError::TooFew(_) => error.to_string(),
                EstimateError::NotEnoughVariation => "a load that varies more".to_owned(),
            };
            diagnosis.needs(view, KIND, None, needs);
            NeutralPath::NotJudged
        }
    }
}

fn judge_phase(
    basis: &EstimateBasis<'_>,
    phase: Phase,
    estimate: &JointEstimate,
    diagnosis: &mut Diagnosis,
) {
    let (view, readings) = (basis.view, basis.readings);
    let extra = basis.widened(estimate.phases[phase.index()], estimate);
    if extra.is_found() {
        let report = report(basis, phase, &extra, estimate);
        diagnosis.found(view, KIND, Some(phase), report);
        if let Some(finding) = diagnosis.findings.last_mut() {
            finding.from = at(readings.starts[0]);
        }
        if let Some(trace) = JointTrace::new(readings, phase) {
            diagnosis.show(view, KIND, Some(phase), Trace::Joint(trace));
        }
    } else if half_width(extra.at_middle) > limits::JOINT_WIDEST_OHM {
        let (low, high) = ExtraResistance::interval_95(extra.at_middle);
        let needs = format!(
            "a load that varies more: the result so far is {} to {} mΩ",
            units::fixed(low * 1e3, 0),
            units::fixed(high * 1e3, 0)
        );
        diagnosis.needs(view, KIND, Some(phase), needs);
    } else {
        diagnosis.nothing(view, KIND, Some(phase));
    }
}

fn report(
    basis: &EstimateBasis<'_>,
    phase: Phase,
    extra: &ExtraResistance,
    estimate: &JointEstimate,
) -> Report {
    let currents = basis.readings.current_a[phase.index()]
        .iter()
        .map(|current| current.norm())
        .collect();
    let carried = CarriedCurrent::new(basis.readings, currents);
    let confirmed = confirmation(basis, |part| Some(part.phases[phase.index()]));
    let reach = &basis.reach;
    Report {
        severity: grades(basis.view, carried.peak_w(extra), confirmed.is_some()),
        summary: format!(
            "{phase} has {} more resistance than the mean of the other phases {reach} over the last week{}: {}",
            ohms(extra),
            growth(extra),
            carried.heat(extra)
        ),
        evidence: carried
            .evidence(extra, estimate)
            .maybe("assumption", basis.angles.note)
            .maybe("confirmed_by", confirmed)
            .with("could_also_be", COULD_ALSO_BE)
            .with("reading_that_decides", READING_THAT_DECIDES),
        action: format!(
            "inspect the joints of {phase} {reach} with a thermal camera under load, starting at the meter: terminals, fuse bases, main switch; compare with the other phases"
        ),
        caution: CAUTION,
        source: SOURCE,
    }
}
