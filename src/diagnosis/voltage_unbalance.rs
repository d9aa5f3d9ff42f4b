//! Line voltages that differ: negative sequence, and what it does to motors.

use super::outcome::{Diagnosis, Report};
use super::page::Page;
use super::thresholds as limits;
use super::view::{Series, View, blocks};
use crate::demand::quantile;
use crate::electrical::{PhasePair, negative_sequence_ratio, voltage_unbalance};
use crate::finding::{Evidence, Kind, Severity};
use crate::site::{Connection, Quantity};
use crate::units::Volts;

const KIND: Kind = Kind::VoltageUnbalance;
const SOURCE: &str = "u2 by IEC 61000-4-30; 2 % of EN 50160:2010, 4.2 (from memory); motors: NEMA MG 1, 14.36 and Fig. 14-1 (curve readings, ± 0.01)";
const CAUTION: &str =
    "A motor's heating rises far faster than the unbalance. The maker's data decide.";
const TEN_MINUTES_S: i64 = 600;
const WEEK_S: i64 = 7 * 86_400;

pub(super) const PAGE: Page = Page {
    meaning: "The three line voltages are not equal. Three-phase motors carry a backward field then: they run hotter and must be loaded less.",
    formula: "u2 = √((1 − √(3 − 6β))/(1 + √(3 − 6β))), β = Σ U⁴/(Σ U²)², of line voltages, as means over ten minutes; the 95 % value of each seven days against 2 %. For motors the largest deviation from the mean over the mean (NEMA), from 1 %: load the motor by the factor of the curve; do not run it above 5 %.",
    source: SOURCE,
    imitators: "Phase voltages that differ because of the neutral: the line voltages stay equal then. A voltage transformer with a wrong ratio.",
    action: "Spread single-phase loads (`tapoff balance`); look for a blown fuse of a capacitor bank or a bad joint on one line (`high-resistance-joint`); ask the network operator if it is there without load.",
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
/// use tapoff::diagnosis::motor_derating;
/// assert!((motor_derating(3.0).expect("below 5 %") - 0.89).abs() < 1e-12);
/// assert!((motor_derating(2.25).expect("below 5 %") - 0.94).abs() < 1e-12);
/// assert_eq!(motor_derating(5.1), None);
/// ```
pub fn motor_derating(unbalance_pct: f64) -> Option<f64> {
    if !(0.0..=limits::MOTOR_STOP_PCT).contains(&unbalance_pct) {
        return None;
    }
    limits::MOTOR_DERATING
        .windows(2)
        .find(|pair| unbalance_pct <= pair[1].0)
        .map(|pair| {
            let share = (unbalance_pct - pair[0].0) / (pair[1].0 - pair[0].0);
            pair[0].1 + share * (pair[1].1 - pair[0].1)
        })
}

pub(super) fn check(view: &View<'_>, diagnosis: &mut Diagnosis) {
    if view.node().is_none() {
        return;
    }
    let lines = PhasePair::ALL.map(|pair| view.table().values(Quantity::LineVoltage(pair)));
    let [Some(l12), Some(l23), Some(l31)] = lines else {
        return diagnosis.needs(view, KIND, None, "the voltages between the lines");
    };
    if view.interval_s() > TEN_MINUTES_S {
        return diagnosis.needs(view, KIND, None, "intervals of at most ten minutes");
    }
    let of = |measure: &dyn Fn([Volts; 3]) -> Option<f64>| -> Vec<(i64, f64)> {
        let series: Series = (0..view.table().len())
            .map(|row| measure([Volts(l12[row]?), Volts(l23[row]?), Volts(l31[row]?)]))
            .collect();
        blocks(
            view.table().starts(),
            &series,
            view.interval_s(),
            TEN_MINUTES_S,
        )
    };
    let sequence = of(&|lines| negative_sequence_ratio(lines).ok());
    let deviation = of(&|lines| voltage_unbalance(lines).ok().flatten());
    let (Some(worst_week), Some(motors)) = (worst_week_p95(&sequence), worst_week_p95(&deviation))
    else {
        return diagnosis.needs(
            view,
            KIND,
            None,
            "whole ten-minute means of the line voltages",
        );
    };
    let has_motors = view
        .site
        .machines
        .iter()
        .any(|machine| matches!(machine.connection, Connection::ThreePhase { .. }));
    let exceeded = worst_week > view.site.thresholds.unbalance_limit_pct;
    if !(exceeded || has_motors && motors > limits::MOTOR_UNBALANCE_PCT) {
        return diagnosis.nothing(view, KIND, None);
    }
    let factor = motor_derating(motors);
    let report = Report {
        severity: if exceeded || factor.is_none() {
            Severity::Warning
        } else {
            Severity::Notice
        },
        summary: format!(
            "the line voltages differ: u2 is {worst_week:.1} % in the worst week (95 % value); {}",
            match factor {
                Some(factor) => format!("three-phase motors should be loaded to {factor:.2} at most"),
                None => "three-phase motors should not run".to_owned(),
            }
        ),
        evidence: Evidence::default()
            .with("negative_sequence_p95_worst_week_pct", worst_week)
            .with("deviation_from_mean_p95_worst_week_pct", motors)
            .maybe("motor_load_factor", factor),
        action: "see whether it is there without load; then spread single-phase loads and look for a bad joint on one line".to_owned(),
        caution: CAUTION,
        source: SOURCE,
    };
    diagnosis.found(view, KIND, None, report);
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
