//! Voltage outside its range, or in steps.

use super::outcome::{Diagnosis, Report};
use super::page::Page;
use super::starters::starters;
use super::thresholds as limits;
use super::view::{View, blocks};
use electrical::Phase;
use finding::{Evidence, Kind, Severity};
use metering::{Logged, Logs};
use site::Quantity;

const RANGE_SOURCE: &str = "EN 50160:2010, 4.2: 95 % of the ten-minute means of a week within ±10 %, all within +10/−15 % of nominal (value not checked against the standard's text); nominal voltages IEC 60038";
const RANGE_CAUTION: &str = "Only the owner of a transformer may change its taps.";
const STEP_SOURCE: &str = "EN 50160:2010, 4.2: rapid voltage changes generally do not exceed 5 % (value not checked against the standard's text)";
const STEP_CAUTION: &str = "Interval means show steps smaller than they are.";

pub(super) const RANGE_PAGE: Page = Page {
    meaning: "The supply voltage was outside the range that equipment is designed for. Low voltage overheats motors and drops out contactors; high voltage shortens the life of lamps and electronics.",
    formula: "Ten-minute means on the clock are compared with 0.90 to 1.10 of nominal (230 V for 400 V line to line). It is a warning if, in any seven days, more than 5 % of them are outside, or any mean is above 1.10 or below 0.85 of nominal.",
    source: RANGE_SOURCE,
    imitators: "A wrong ratio of the meter's voltage input (always the same percentage, whatever the load); a failing neutral, which raises one phase and lowers another (`neutral-fault`).",
    action: "Ask the network operator for a tap change or a stronger supply. If it happens only under your own load, inspect cables and joints (`high-resistance-joint`).",
    caution: RANGE_CAUTION,
};

pub(super) const STEP_PAGE: Page = Page {
    meaning: "The voltage often changes by more than 5 % from one reading to the next. Lamps flicker and drives trip.",
    formula: "|U(t) − U(t−1)| against 5 % of nominal, for logs with intervals of a minute or less. A step is caused by your own load if the current of the phase changes at the same time, and rises when the voltage falls. A metered machine is named if its power rises by 0.3 kW or more in at least half of the dips, in at least three, and three times as often as at other times; a machine that cycles all day is not named.",
    source: STEP_SOURCE,
    imitators: "A tap changer or a neighbour's large machine: your own current does not change with the steps. Lost readings.",
    action: "Fit soft starters to large motors; stagger machines that start together; if the steps come from the network, inform its operator.",
    caution: STEP_CAUTION,
};

/// Interval over which the limits of EN 50160 hold. (s)
const TEN_MINUTES_S: i64 = 600;
const WEEK_S: i64 = 7 * 86_400;
const DAY_S: f64 = 86_400.0;

pub(super) fn check(view: &View<'_>, logs: &Logs, diagnosis: &mut Diagnosis) {
    if view.node().is_none() {
        return;
    }
    let volts: Vec<(Phase, Logged<'_>)> = Phase::ALL
        .into_iter()
        .filter_map(|phase| Some((phase, view.table().values(Quantity::Voltage(phase))?)))
        .collect();
    if volts.is_empty() {
        for kind in [Kind::VoltageOutOfRange, Kind::RapidVoltageChange] {
            diagnosis.needs(view, kind, None, "the voltage of each phase to neutral");
        }
        return;
    }
    for &(phase, series) in &volts {
        range(view, phase, series, diagnosis);
        step(view, logs, phase, series, diagnosis);
    }
}

fn range(view: &View<'_>, phase: Phase, series: Logged<'_>, diagnosis: &mut Diagnosis) {
    let kind = Kind::VoltageOutOfRange;
    if view.interval_s() > TEN_MINUTES_S {
        return diagnosis.needs(view, kind, Some(phase), "intervals of at most ten minutes");
    }
    let nominal = view.nominal_v();
    let means = blocks(
        view.table().starts(),
        series.iter(),
        view.interval_s(),
        TEN_MINUTES_S,
    );
    let band = view.site.thresholds.voltage_range_pct / 100.0;
    let outside = |volts: f64| volts > nominal * (1.0 + band) || volts < nominal * (1.0 - band);
    let beyond = |volts: f64| {
        volts > nominal * (1.0 + band)
            || volts < nominal * (1.0 - view.site.thresholds.voltage_lowest_pct / 100.0)
    };
    let count = means.iter().filter(|(_, volts)| outside(*volts)).count();
    if count == 0 {
        return diagnosis.nothing(view, kind, Some(phase));
    }
    let worst_week = worst_week(&means, &outside);
    let severity =
        if worst_week > 1.0 - limits::SHARE_OF_WEEK || means.iter().any(|(_, v)| beyond(*v)) {
            Severity::Warning
        } else {
            Severity::Notice
        };
    let extreme =
        |better: fn(f64, f64) -> f64| means.iter().map(|(_, volts)| *volts).reduce(better);
    let first = means
        .iter()
        .find(|(_, volts)| outside(*volts))
        .map(|(at, _)| view.local(*at));
    let report = Report {
        severity,
        summary: format!(
            "{phase} was outside {:.0} to {:.0} V for {:.0} min (ten-minute means)",
            nominal * (1.0 - band),
            nominal * (1.0 + band),
            count as f64 * 10.0
        ),
        evidence: Evidence::default()
            .with("nominal_v", nominal)
            .with("time_outside_min", count as f64 * 10.0)
            .maybe("first_outside_at", first)
            .with("worst_week_outside_pct", 100.0 * worst_week)
            .maybe("lowest_ten_minutes_v", extreme(f64::min))
            .maybe("highest_ten_minutes_v", extreme(f64::max)),
        action: "ask the network operator; if the voltage follows your own load, inspect cables and joints first".to_owned(),
        caution: RANGE_CAUTION,
        source: RANGE_SOURCE,
    };
    diagnosis.found(view, kind, Some(phase), report);
}

/// Largest share of the means of seven days, from the log's start, for which `outside` holds.
fn worst_week(means: &[(i64, f64)], outside: &dyn Fn(f64) -> bool) -> f64 {
    let Some(&(first, _)) = means.first() else {
        return 0.0;
    };
    means
        .chunk_by(|a, b| (a.0 - first) / WEEK_S == (b.0 - first) / WEEK_S)
        .map(|week| {
            let count = week.iter().filter(|(_, volts)| outside(*volts)).count();
            count as f64 / week.len() as f64
        })
        .fold(0.0, f64::max)
}

fn step(view: &View<'_>, logs: &Logs, phase: Phase, series: Logged<'_>, diagnosis: &mut Diagnosis) {
    let kind = Kind::RapidVoltageChange;
    if view.interval_s() > 60 {
        return diagnosis.needs(view, kind, Some(phase), "intervals of at most a minute");
    }
    let starts = view.table().starts();
    let limit_v = view.site.thresholds.step_pct / 100.0 * view.nominal_v();
    let currents = view.analysis().phasors();
    let mut steps = Vec::new();
    for row in 1..series.len() {
        let (Some(before), Some(after)) = (series.get(row - 1), series.get(row)) else {
            continue;
        };
        let change = after - before;
        let neighbours = starts[row] - starts[row - 1] == view.interval_s();
        let live = before.min(after) > limits::LOST_SHARE * view.nominal_v();
        if !neighbours || !live || change.abs() < limit_v {
            continue;
        }
        let own = currents.and_then(|currents| {
            let series = &currents.series[phase.index()];
            let amps = series[row]?.norm() - series[row - 1]?.norm();
            Some(amps.abs() > 1.0 && amps * change < 0.0)
        });
        steps.push((starts[row], change, own));
    }
    let days = view.table().len() as f64 * view.interval_s() as f64 / DAY_S;
    let per_day = steps.len() as f64 / days.max(1.0);
    if per_day < view.site.thresholds.steps_per_day {
        return diagnosis.nothing(view, kind, Some(phase));
    }
    let largest = steps
        .iter()
        .copied()
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
        .unwrap_or((0, 0.0, None));
    let own = steps.iter().filter(|step| step.2 == Some(true)).count();
    let dips: Vec<i64> = steps
        .iter()
        .filter(|step| step.1 < 0.0)
        .map(|step| step.0)
        .collect();
    let starters = starters(view, logs, phase, &dips);
    let report = Report {
        severity: Severity::Notice,
        summary: format!(
            "the voltage of {phase} changes by more than {:.0} % from one reading to the next {per_day:.1} times a day",
            view.site.thresholds.step_pct
        ),
        evidence: Evidence::default()
            .with("steps", steps.len() as f64)
            .with("steps_per_day", per_day)
            .with("largest_v", largest.1)
            .with("largest_at", view.local(largest.0))
            .maybe(
                "steps_with_own_load",
                currents.is_some().then_some(own as f64),
            )
            .with("dips", dips.len() as f64)
            .maybe(
                "machines_that_start_with_the_dips",
                (!starters.is_empty()).then_some(starters),
            ),
        action: "find out which machine starts at these times; a soft starter, another phase or a larger cable helps".to_owned(),
        caution: STEP_CAUTION,
        source: STEP_SOURCE,
    };
    diagnosis.found(view, kind, Some(phase), report);
}
