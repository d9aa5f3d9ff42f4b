//! Turns a meter's log into findings.

use num_complex::Complex64;
use statrs::distribution::{ContinuousCDF, StudentsT};

use super::design::WEEK_S;
use super::estimate::{EstimateError, ExtraResistance, JointEstimate, estimate};
use super::figure::EstimatedFigure;
use super::page::{CAUTION, SOURCE};
use super::readings::PhaseReadings;
use super::trace::JointTrace;
use crate::outcome::{Diagnosis, Report, Trace};
use crate::thresholds as limits;
use crate::view::{View, at};
use electrical::Phase;
use finding::{Evidence, Kind, Severity};
use metering::AngleBasis;
use site::Quantity;
use statistics::student_quantile;

const KIND: Kind = Kind::HighResistanceJoint;
/// Two tests on each of three phases: at mid-log and over the last week.
const TESTS: f64 = 6.0;
/// Accuracy class of a meter that declares none. Common practice. (%)
const USUAL_CLASS_PCT: f64 = 1.0;

/// Half of the width of the 95 % interval.
fn half_width(figure: EstimatedFigure) -> f64 {
    student_quantile(figure.freedom.max(1.0), 0.975)
        .map_or(f64::INFINITY, |deviations| deviations * figure.error)
}

fn student(figure: EstimatedFigure) -> StudentsT {
    StudentsT::new(0.0, 1.0, figure.freedom.max(1.0))
        .expect("a distribution with at least one degree of freedom exists")
}

/// Chance of an estimate this large in a sound phase.
fn chance(figure: EstimatedFigure) -> f64 {
    if figure.error <= 0.0 {
        return if figure.value > 0.0 { 0.0 } else { 1.0 };
    }
    1.0 - student(figure).cdf(figure.value / figure.error)
}

impl ExtraResistance {
    /// Is the resistance more than chance gives in one healthy log of a hundred, and enough to matter?
    pub fn is_found(&self) -> bool {
        let significant = [self.at_middle, self.last_week]
            .iter()
            .any(|&figure| TESTS * chance(figure) <= limits::JOINT_FALSE_ALARM);
        significant && self.last_week.value >= limits::JOINT_SMALLEST_OHM
    }

    /// 95 % interval of a figure: lower and upper end.
    pub fn interval_95(figure: EstimatedFigure) -> (f64, f64) {
        let half = half_width(figure);
        (figure.value - half, figure.value + half)
    }
}

/// How the currents' angles are known, and what that adds to the error.
struct Angles {
    note: Option<&'static str>,
    share: f64,
    ohm: f64,
}

fn angles(basis: AngleBasis) -> Angles {
    match basis {
        AngleBasis::Powers => Angles {
            note: None,
            share: 0.0,
            ohm: 0.0,
        },
        AngleBasis::PowerFactor => Angles {
            note: Some("currents assumed to lag by the logged power factor"),
            share: 0.05,
            ohm: 0.0005,
        },
        // A power factor of 0.7 hides a third of the resistance; a reactance of 20 mΩ with different
        // reactive loads on the phases adds some milliohms.
        AngleBasis::Unity => Angles {
            note: Some(
                "no reactive power is logged: currents assumed in phase with their voltages",
            ),
            share: 0.20,
            ohm: 0.003,
        },
    }
}

/// Voltages, and the powers or currents, of the three phases.
fn readings(view: &View<'_>) -> Result<(PhaseReadings, Angles), &'static str> {
    let table = view.table();
    let volts = view
        .by_phase(Quantity::Voltage)
        .ok_or("the voltage of each phase to neutral")?;
    let phasors = view
        .analysis()
        .phasors()
        .ok_or("the current, or active and reactive power, of each phase")?;
    let watts = view.by_phase(|phase| Quantity::ActivePower(Some(phase)));
    let vars = view.by_phase(|phase| Quantity::ReactivePower(Some(phase)));
    // Power over voltage is the fundamental; a logged current has its harmonics.
    let current = |k: usize, row: usize, volts: f64| -> Option<Complex64> {
        match (watts, vars) {
            (Some(watts), Some(vars)) => {
                Some(Complex64::new(watts[k].get(row)?, -vars[k].get(row)?) * 1000.0 / volts)
            }
            _ => phasors.series[k][row],
        }
    };
    let end = table.starts().last().copied().unwrap_or(0);
    let mut readings = PhaseReadings {
        interval_s: table.interval_s(),
        ..PhaseReadings::default()
    };
    for (row, &start) in table.starts().iter().enumerate() {
        let all = [0, 1, 2].map(|k| {
            let volts = volts[k]
                .get(row)
                .filter(|volts| *volts > 0.5 * view.nominal_v())?;
            Some((volts, current(k, row, volts)?))
        });
        let ([Some(l1), Some(l2), Some(l3)], true) = (all, start > end - limits::JOINT_LONGEST_S)
        else {
            continue;
        };
        readings.starts.push(start);
        for (k, (volts, current)) in [l1, l2, l3].into_iter().enumerate() {
            readings.voltage_v[k].push(volts);
            readings.level_v[k].push(volts);
            readings.current_a[k].push(current);
        }
    }
    Ok((readings, angles(phasors.angle)))
}

/// With a meter further up, the voltage that is lost between the two.
fn below(upstream: &View<'_>, readings: &PhaseReadings) -> Option<PhaseReadings> {
    if upstream.table().interval_s() != readings.interval_s {
        return None;
    }
    let volts = upstream.by_phase(Quantity::Voltage)?;
    let starts = upstream.table().starts();
    let mut left = PhaseReadings {
        interval_s: readings.interval_s,
        ..PhaseReadings::default()
    };
    for (row, start) in readings.starts.iter().enumerate() {
        let Ok(up) = starts.binary_search(start) else {
            continue;
        };
        let [Some(l1), Some(l2), Some(l3)] = volts.map(|volts| volts.get(up)) else {
            continue;
        };
        left.starts.push(*start);
        for (k, above) in [l1, l2, l3].into_iter().enumerate() {
            left.voltage_v[k].push(readings.voltage_v[k][row] - above);
            left.level_v[k].push(readings.level_v[k][row]);
            left.current_a[k].push(readings.current_a[k][row]);
        }
    }
    Some(left)
}

/// Judges the phases upstream of a meter, or between it and the meter above it.
pub(crate) fn check(view: &View<'_>, upstream: Option<&View<'_>>, diagnosis: &mut Diagnosis) {
    if view.node().is_none() {
        return;
    }
    let (own, angles) = match readings(view) {
        Ok(readings) => readings,
        Err(needs) => return diagnosis.needs(view, KIND, None, needs),
    };
    let between = upstream.and_then(|upstream| Some((upstream, below(upstream, &own)?)));
    let (series, reach) = match &between {
        Some((upstream, series)) => (
            series,
            format!(
                "between the meters `{}` and `{}`",
                upstream.meter.id, view.meter.id
            ),
        ),
        None => (
            &own,
            format!("between the source and the meter `{}`", view.meter.id),
        ),
    };
    match estimate(series, 1.0) {
        Ok(estimate) => to_findings(view, series, &estimate, &angles, &reach, diagnosis),
        Err(error @ EstimateError::TooFew(_)) => {
            diagnosis.needs(view, KIND, None, error.to_string());
        }
        Err(EstimateError::NotEnoughVariation) => {
            diagnosis.needs(view, KIND, None, "a load that varies more");
        }
    }
}

fn to_findings(
    view: &View<'_>,
    readings: &PhaseReadings,
    estimate: &JointEstimate,
    angles: &Angles,
    reach: &str,
    diagnosis: &mut Diagnosis,
) {
    // A meter's class bounds its error: as a deviation, evenly spread within the class (JCGM 100:2008,
    // 4.3.7). It shifts one phase against the others in proportion to what both share and to the excess.
    let class = view.meter.class_pct.unwrap_or(USUAL_CLASS_PCT) / 100.0 / 3.0_f64.sqrt();
    for phase in Phase::ALL {
        let mut extra = estimate.phases[phase.index()];
        for figure in [&mut extra.at_middle, &mut extra.last_week] {
            let assumed = angles.ohm.hypot(angles.share * figure.value);
            let meter = class * figure.value.hypot(estimate.line_ohm);
            figure.error = figure.error.hypot(assumed).hypot(meter);
        }
        if extra.is_found() {
            let report = report(view, phase, &extra, readings, estimate, angles, reach);
            diagnosis.found(view, KIND, Some(phase), report);
            if let Some(finding) = diagnosis.findings.last_mut() {
                finding.from = at(readings.starts[0]);
            }
            if let Some(trace) = JointTrace::new(readings, phase) {
                diagnosis.show(view, KIND, Some(phase), Trace::Joint(trace));
            }
        } else if half_width(extra.at_middle) > limits::JOINT_WIDEST_OHM {
            let (low, high) = ExtraResistance::interval_95(extra.at_middle);
            diagnosis.needs(
                view,
                KIND,
                Some(phase),
                format!(
                    "a load that varies more: the result so far is {:.0} to {:.0} mΩ",
                    low * 1e3,
                    high * 1e3
                ),
            );
        } else {
            diagnosis.nothing(view, KIND, Some(phase));
        }
    }
}

/// The most heat that the readings show, with the resistance as it grew. (W)
fn highest_heat_w(
    readings: &PhaseReadings,
    currents: &[Complex64],
    extra: &ExtraResistance,
) -> f64 {
    let middle = readings.starts[0] as f64 + 0.5 * readings.span_s() as f64;
    readings
        .starts
        .iter()
        .zip(currents)
        .map(|(&start, current)| {
            let weeks = (start as f64 - middle) / WEEK_S;
            (extra.at_middle.value + extra.trend.value * weeks) * current.norm_sqr()
        })
        .fold(0.0, f64::max)
}

fn report(
    view: &View<'_>,
    phase: Phase,
    extra: &ExtraResistance,
    readings: &PhaseReadings,
    estimate: &JointEstimate,
    angles: &Angles,
    reach: &str,
) -> Report {
    let currents = &readings.current_a[phase.index()];
    let highest_w = highest_heat_w(readings, currents, extra);
    let squares: f64 = currents.iter().map(Complex64::norm_sqr).sum();
    let typical_a = (squares / currents.len() as f64).sqrt();
    let peak_a = currents.iter().map(|i| i.norm()).fold(0.0, f64::max);
    let ohm = extra.last_week.value;
    let peak_w = ohm * peak_a * peak_a;
    let severity = if peak_w >= view.site.thresholds.joint_danger_w {
        Severity::Danger
    } else if peak_w >= view.site.thresholds.joint_warning_w {
        Severity::Warning
    } else {
        Severity::Notice
    };
    let middle = ExtraResistance::interval_95(extra.at_middle);
    let week = ExtraResistance::interval_95(extra.last_week);
    let trend = ExtraResistance::interval_95(extra.trend);
    let growth = if trend.0 > 0.0 {
        format!(", rising by {:.1} mΩ a week", extra.trend.value * 1e3)
    } else {
        String::new()
    };
    let evidence = Evidence::default()
        .with("extra_resistance_mohm", extra.at_middle.value * 1e3)
        .with("low_95_mohm", middle.0 * 1e3)
        .with("high_95_mohm", middle.1 * 1e3)
        .with("last_week_mohm", ohm * 1e3)
        .with("last_week_low_95_mohm", week.0 * 1e3)
        .with("last_week_high_95_mohm", week.1 * 1e3)
        .with("trend_mohm_per_week", extra.trend.value * 1e3)
        .with("trend_low_95_mohm_per_week", trend.0 * 1e3)
        .with("trend_high_95_mohm_per_week", trend.1 * 1e3)
        .with("typical_current_a", typical_a)
        .with("heat_at_typical_current_w", ohm * typical_a * typical_a)
        .with("peak_current_a", peak_a)
        .with("heat_at_peak_current_w", peak_w)
        .with("highest_heat_so_far_w", highest_w)
        .with("changes_looked_at", estimate.changes as f64)
        .with("changes_set_aside", estimate.set_aside as f64)
        .maybe("assumption", angles.note);
    Report {
        severity,
        summary: format!(
            "{phase} has {:.1} mΩ ({:.1} to {:.1} mΩ) more resistance than the mean of the other phases {reach} over the last week{growth}: {:.0} W of heat at {:.0} A",
            ohm * 1e3,
            week.0 * 1e3,
            week.1 * 1e3,
            peak_w,
            peak_a
        ),
        evidence,
        action: format!(
            "inspect the joints of {phase} {reach} with a thermal camera under load, starting at the meter: terminals, fuse bases, main switch; compare with the other phases"
        ),
        caution: CAUTION,
        source: SOURCE,
    }
}
