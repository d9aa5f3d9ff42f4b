//! Line voltages that differ: negative sequence, and what it does to motors.

use super::outcome::{Diagnosis, Report, Trace};
use super::page::Page;
use super::thresholds as limits;
use super::view::{View, blocks};
use super::voltage_triangle::VoltageTrace;
use electrical::{Phase, PhasePair, negative_sequence_ratio, voltage_unbalance};
use finding::{Evidence, Kind, Severity};
use metering::Logged;
use site::{Connection, Machine, Quantity};
use statistics::quantile;
use units::Volts;

const KIND: Kind = Kind::VoltageUnbalance;
const SOURCE: &str = "u2 by IEC 61000-4-30; 2 % of EN 50160:2010, 4.2 (value not checked against the standard's text); motors: NEMA MG 1, 14.36 and Fig. 14-1 (curve readings, ± 0.01)";
const CAUTION: &str =
    "Motor heating rises far faster than the unbalance. The manufacturer's data decide.";
const TEN_MINUTES_S: i64 = 600;
const WEEK_S: i64 = 7 * 86_400;

pub(super) const PAGE: Page = Page {
    meaning: "The three line-to-line voltages are unequal. This puts a reverse-rotating field into three-phase motors: they run hotter and must be derated.",
    formula: "u2 = √((1 − √(3 − 6β))/(1 + √(3 − 6β))), β = Σ U⁴/(Σ U²)², of the line-to-line voltages, as ten-minute means; the 95th percentile of each seven days against 2 %. For motors, the largest deviation from the mean over the mean (NEMA), from 1 %: derate the motor by the curve; do not run it above 5 %. If line-to-line voltages are not logged, the phase voltages are used, assumed 120° apart: |U1 + a·U2 + a²·U3|/(U1 + U2 + U3), and their largest deviation from the mean. These include the voltage drop of the neutral, so this substitute gives a notice only.",
    source: SOURCE,
    imitators: "Phase voltages that differ because of the neutral: line-to-line voltages stay equal, the substitute does not. A voltage transformer with a wrong ratio.",
    action: "Spread single-phase loads (`tapoff balance`); look for a blown fuse in a capacitor bank or a bad joint on one phase (`high-resistance-joint`); ask the network operator if the unbalance remains without load.",
    caution: CAUTION,
};

/// Factor by which a motor is loaded less at an unbalance (NEMA definition, %), between the readings
/// of the curve by straight lines; `None` above 5 %, where a motor should not run.
///
/// # Source
///
/// NEMA MG 1, 14.36 and Fig. 14-1: curve readings, ± 0.01.
///
/// # Examples
///
/// ```
/// use diagnosis::motor_derating;
/// assert!((motor_derating(3.0).expect("below 5 %") - 0.89).abs() < 1e-12);
/// assert!((motor_derating(2.25).expect("below 5 %") - 0.94).abs() < 1e-12);
/// assert_eq!(motor_derating(5.1), None);
/// ```
pub fn motor_derating(unbalance_pct: f64) -> Option<f64> {
    // 420, 400 and 380 V are 5.000 000 000 000 013 % by rounding: at the limit, not above it.
    if !(0.0..=limits::MOTOR_STOP_PCT * (1.0 + 1e-9)).contains(&unbalance_pct) {
        return None;
    }
    let unbalance_pct = unbalance_pct.min(limits::MOTOR_STOP_PCT);
    limits::MOTOR_DERATING
        .windows(2)
        .find(|pair| unbalance_pct <= pair[1].0)
        .map(|pair| {
            let share = (unbalance_pct - pair[0].0) / (pair[1].0 - pair[0].0);
            pair[0].1 + share * (pair[1].1 - pair[0].1)
        })
}

/// Three voltages over time, and how to judge them.
struct VoltageSet<'s> {
    volts: [Logged<'s>; 3],
    sequence: fn([f64; 3]) -> Option<f64>,
    /// Line voltages are not logged.
    substitute: bool,
}

fn basis<'s>(view: &View<'s>) -> Option<VoltageSet<'s>> {
    let lines = PhasePair::ALL.map(|pair| view.table().values(Quantity::LineVoltage(pair)));
    if let [Some(l12), Some(l23), Some(l31)] = lines {
        return Some(VoltageSet {
            volts: [l12, l23, l31],
            sequence: |lines| negative_sequence_ratio(lines.map(Volts)).ok(),
            substitute: false,
        });
    }
    Some(VoltageSet {
        volts: view.by_phase(Quantity::Voltage)?,
        sequence: of_phase_voltages,
        substitute: true,
    })
}

/// |U1 + a·U2 + a²·U3|/(U1 + U2 + U3) of phase voltages that are taken as 120° apart. (%)
fn of_phase_voltages([l1, l2, l3]: [f64; 3]) -> Option<f64> {
    let turned =
        Phase::L1.direction() * l1 + Phase::L3.direction() * l2 + Phase::L2.direction() * l3;
    let sum = l1 + l2 + l3;
    (sum > 0.0).then(|| 100.0 * turned.norm() / sum)
}

pub(super) fn check(view: &View<'_>, diagnosis: &mut Diagnosis) {
    if view.node().is_none() {
        return;
    }
    let Some(basis) = basis(view) else {
        let needs = "the line-to-line voltages, or the phase voltages as a substitute";
        return diagnosis.needs(view, KIND, None, needs);
    };
    if view.interval_s() > TEN_MINUTES_S {
        return diagnosis.needs(view, KIND, None, "intervals of at most ten minutes");
    }
    let of = |measure: &dyn Fn([f64; 3]) -> Option<f64>| -> Vec<(i64, f64)> {
        let [a, b, c] = &basis.volts;
        let lost = limits::LOST_SHARE * view.nominal_v();
        let series = (0..view.table().len()).map(|row| {
            let volts = [a.get(row)?, b.get(row)?, c.get(row)?];
            // A phase that is gone is another finding.
            volts
                .iter()
                .all(|volts| *volts > lost)
                .then(|| measure(volts))?
        });
        blocks(
            view.table().starts(),
            series,
            view.interval_s(),
            TEN_MINUTES_S,
        )
    };
    let sequence = of(&|volts| (basis.sequence)(volts));
    let deviation = of(&|volts| voltage_unbalance(volts.map(Volts)).ok().flatten());
    let (Some(worst_week), Some(motors)) = (worst_week_p95(&sequence), worst_week_p95(&deviation))
    else {
        let needs = "complete ten-minute means of the line-to-line voltages";
        return diagnosis.needs(view, KIND, None, needs);
    };
    let exceeded = worst_week > view.site.thresholds.unbalance_limit_pct;
    if !(exceeded || has_motors(view) && motors > limits::MOTOR_UNBALANCE_PCT) {
        return diagnosis.nothing(view, KIND, None);
    }
    let worst = deviation.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1));
    let report = report(view, &basis, (worst_week, motors), worst, exceeded);
    diagnosis.found(view, KIND, None, report);
    if let Some(trace) = worst.and_then(|(at_s, _)| triangle(view, &basis, at_s)) {
        diagnosis.show(view, KIND, None, Trace::Voltages(trace));
    }
}

/// The mean voltages of ten minutes.
fn triangle(view: &View<'_>, basis: &VoltageSet<'_>, at_s: i64) -> Option<VoltageTrace> {
    let mean = |series: Logged<'_>| -> Option<f64> {
        let means = blocks(
            view.table().starts(),
            series.iter(),
            view.interval_s(),
            TEN_MINUTES_S,
        );
        means
            .into_iter()
            .find(|(start, _)| *start == at_s)
            .map(|(_, volts)| volts)
    };
    let [a, b, c] = basis.volts.map(mean);
    let volts = [a?, b?, c?];
    if basis.substitute {
        VoltageTrace::of_phases(at_s, volts)
    } else {
        VoltageTrace::of_lines(at_s, volts)
    }
}

fn report(
    view: &View<'_>,
    basis: &VoltageSet<'_>,
    (worst_week, motors): (f64, f64),
    worst: Option<(i64, f64)>,
    exceeded: bool,
) -> Report {
    let factor = motor_derating(motors);
    let severity = if (exceeded || factor.is_none()) && !basis.substitute {
        Severity::Warning
    } else {
        Severity::Notice
    };
    let what = if basis.substitute {
        "the phase voltages are unequal (line-to-line voltages are not logged): a substitute for u2"
    } else {
        "the line-to-line voltages are unequal: u2"
    };
    let motors_are = match factor {
        Some(factor) => format!("load three-phase motors to {factor:.2} of their rating at most"),
        None => "do not run three-phase motors".to_owned(),
    };
    let assumption = "phase voltages assumed 120° apart; they include the voltage drop of the neutral, so the true unbalance is usually smaller";
    let then = worst.and_then(|(_, pct)| motor_derating(pct));
    let motors_at_most = factor.map(|factor| derated(view, factor));
    Report {
        severity,
        summary: format!("{what} is {worst_week:.1} % in the worst week (95th percentile); {motors_are}"),
        evidence: Evidence::default()
            .with("negative_sequence_p95_worst_week_pct", worst_week)
            .with("deviation_from_mean_p95_worst_week_pct", motors)
            .maybe("motor_load_factor", factor)
            .maybe("worst_ten_minutes_deviation_pct", worst.map(|worst| worst.1))
            .maybe("worst_ten_minutes_at", worst.map(|worst| view.local(worst.0)))
            .maybe("motor_load_factor_in_the_worst_ten_minutes", then)
            .maybe("three_phase_machines_at_most", motors_at_most.filter(|all| !all.is_empty()))
            .maybe("assumption", basis.substitute.then_some(assumption)),
        action: if basis.substitute {
            "measure the line-to-line voltages before doing anything else"
        } else {
            "check whether the unbalance remains without load; then spread single-phase loads and look for a bad joint on one phase"
        }
        .to_owned(),
        caution: CAUTION,
        source: SOURCE,
    }
}

fn is_motor(machine: &Machine) -> bool {
    matches!(machine.connection, Connection::ThreePhase { .. }) && !machine.generates()
}

fn has_motors(view: &View<'_>) -> bool {
    view.site.machines.iter().any(is_motor)
}

/// What the largest three-phase machines below should be loaded to at most.
fn derated(view: &View<'_>, factor: f64) -> Vec<String> {
    let site = view.site;
    let volts = site.supply.phase_voltage_v();
    let below = |machine: &&Machine| {
        view.node()
            .is_some_and(|node| site.is_within(machine.tapped_off, node))
    };
    let mut all: Vec<(f64, &str)> = site
        .machines
        .iter()
        .filter(|machine| is_motor(machine))
        .filter(below)
        .map(|machine| (machine.rated_power(volts).re, machine.name.as_str()))
        .collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    all.iter()
        .take(3)
        .map(|(kw, name)| format!("{name}: {:.1} of {kw:.1} kW input", factor * kw))
        .collect()
}

/// Largest 95 % value of seven days, from the log's start.
fn worst_week_p95(means: &[(i64, f64)]) -> Option<f64> {
    let first = means.first()?.0;
    means
        .chunk_by(|a, b| (a.0 - first) / WEEK_S == (b.0 - first) / WEEK_S)
        .filter_map(|week| {
            let values: Vec<f64> = week.iter().map(|(_, value)| *value).collect();
            quantile(&values, limits::SHARE_OF_WEEK)
        })
        .reduce(f64::max)
}
