//! Harmonics that load the neutral, separated from loads that switch within an interval.

use super::outcome::{Diagnosis, Report};
use super::page::Page;
use super::thresholds as limits;
use super::view::View;
use electrical::Phase;
use finding::{Evidence, Kind, Severity};
use metering::Logged;
use site::Quantity;

const KIND: Kind = Kind::NeutralHarmonics;
const SOURCE: &str =
    "IEC 60364-5-52, Annex E, Table E.52.1; distortion current I_h = √(I² − (P² + Q²)/U²)";
const CAUTION: &str = "Interval means do not show the order of a harmonic: all distortion is taken as third harmonic, an upper bound. Measure with a harmonic analyser before changing a cable. Work on a neutral only with the circuit dead.";

pub(super) const PAGE: Page = Page {
    meaning: "Loads with rectifiers (LED drivers, chargers, speed drives) draw third-harmonic current. It adds up in the neutral even if the phases are balanced. The neutral may carry as much current as a phase or more, and the cable has four loaded conductors instead of three.",
    formula: "\
Per phase I_h² = I² − (P² + Q²)/U², and h = √(Σ I_h² / Σ I_1²) over the intervals. In the neutral, the part
that the phasor sum does not explain: I_x² = I_N² − |I_L1 + I_L2 + I_L3|². Both together make a finding. Loads that
switch within the interval also raise the mean of I_N above the phasor sum, but then I_h stays at zero.
Reduction of the current-carrying capacity of a cable by h: up to 15 % none; to 33 % 0.86 on the phase current;
to 45 % 0.86 on the neutral current (3·h·I_1); above, 1.0 on the neutral current.",
    source: SOURCE,
    imitators: "Loads that switch faster than the log's interval (thermostats, welders): the mean neutral current is then larger than the phasor sum of the means. Reactive power that is not that of the fundamental. Rounding at small currents.",
    action: "Check the cross-sectional area and the terminals of the neutral; spread loads with rectifiers over circuits with a full-size neutral; apply the factor of Table E.52.1 to the cables that feed them.",
    caution: CAUTION,
};

/// Reduction factor of a cable's current-carrying capacity and the current it applies to.
///
/// # Source
///
/// IEC 60364-5-52, Table E.52.1: third harmonic of the phase current up to 15 % 1.0, to 33 % 0.86 (phase
/// current); to 45 % 0.86, above 1.0 (neutral current).
///
/// # Examples
///
/// The worked example of Annex E: 39 A with 20 % third harmonic ask for a cable of 39/0.86 = 45 A; with 50 % the
/// neutral carries 39 · 0.5 · 3 = 58.5 A.
///
/// ```
/// use diagnosis::cable_current_with_third_harmonic;
/// assert!((cable_current_with_third_harmonic(39.0, 0.20) - 45.35).abs() < 0.01);
/// assert!((cable_current_with_third_harmonic(39.0, 0.50) - 58.50).abs() < 0.01);
/// assert!((cable_current_with_third_harmonic(39.0, 0.10) - 39.0).abs() < 1e-12);
/// ```
pub fn cable_current_with_third_harmonic(phase_a: f64, share: f64) -> f64 {
    let neutral_a = 3.0 * share * phase_a;
    if share <= limits::THIRD_HARMONIC_SMALL {
        phase_a
    } else if share <= limits::THIRD_HARMONIC_NEUTRAL {
        phase_a / 0.86
    } else if share <= limits::THIRD_HARMONIC_LARGE {
        neutral_a / 0.86
    } else {
        neutral_a
    }
}

/// A mean square of the fundamental below this is none. (A²)
const NO_FUNDAMENTAL: f64 = 1e-9;

/// Mean squares of what is looked at. (A²)
struct Squares {
    fundamental: [f64; 3],
    distortion: [f64; 3],
    neutral: f64,
    unexplained: f64,
    switching: f64,
}

pub(super) fn check(view: &View<'_>, diagnosis: &mut Diagnosis) {
    if view.node().is_none() {
        return;
    }
    let table = view.table();
    let (Some(currents), Some(neutral)) = (
        view.by_phase(Quantity::Current),
        table.values(Quantity::NeutralCurrent),
    ) else {
        return diagnosis.needs(
            view,
            KIND,
            None,
            "the current of each phase and of the neutral",
        );
    };
    let Some(squares) = squares(view, currents, neutral) else {
        return diagnosis.needs(
            view,
            KIND,
            None,
            "active power, reactive power and voltage of each phase (or a harmonic analyser): without them the neutral current that the phases do not explain may come from switching within the interval",
        );
    };
    let shares = [0, 1, 2]
        .map(|k| (squares.distortion[k] / squares.fundamental[k].max(NO_FUNDAMENTAL)).sqrt());
    let gap = squares.unexplained.sqrt();
    let distortion: f64 = squares.distortion.iter().map(|square| square.sqrt()).sum();
    let worst = shares.iter().copied().fold(0.0, f64::max);
    let matters = gap > 0.1 * squares.neutral.sqrt() && gap > 0.5;
    // The third harmonics of the phases can give the neutral no more than their sum.
    if matters && gap > 1.5 * distortion {
        return diagnosis.needs(
            view,
            KIND,
            None,
            format!(
                "a harmonic analyser: the phase means leave {gap:.1} A rms of neutral current unexplained, but the phases show only {distortion:.1} A of distortion; loads that switch within the interval give the same picture"
            ),
        );
    }
    if worst <= limits::THIRD_HARMONIC_SMALL || !matters {
        return diagnosis.nothing(view, KIND, None);
    }
    let phase = Phase::ALL[(0..3)
        .max_by(|&a, &b| shares[a].total_cmp(&shares[b]))
        .unwrap_or(0)];
    let fundamental = squares.fundamental[phase.index()];
    if fundamental < NO_FUNDAMENTAL {
        return diagnosis.needs(
            view,
            KIND,
            None,
            format!("the power of {phase}: it logs current without power, so its fundamental is not known"),
        );
    }
    let rms_a = fundamental.sqrt();
    let severity = if worst > limits::THIRD_HARMONIC_NEUTRAL {
        Severity::Warning
    } else {
        Severity::Notice
    };
    let report = Report {
        severity,
        summary: format!(
            "the neutral carries {gap:.1} A rms of harmonics; on {phase} the distortion is {:.0} % of the fundamental",
            100.0 * worst
        ),
        evidence: Evidence::default()
            .with("neutral_rms_a", squares.neutral.sqrt())
            .with("neutral_beyond_phasor_sum_a", gap)
            .with("of_it_at_most_from_switching_a", squares.switching.sqrt())
            .with("distortion_l1_pct", 100.0 * shares[0])
            .with("distortion_l2_pct", 100.0 * shares[1])
            .with("distortion_l3_pct", 100.0 * shares[2])
            .with(
                "cable_current_over_phase_current",
                cable_current_with_third_harmonic(rms_a, worst) / rms_a,
            ),
        action: "check the cross-sectional area and the terminals of the neutral that feeds loads with rectifiers; apply the factor of Table E.52.1".to_owned(),
        caution: CAUTION,
        source: SOURCE,
    };
    diagnosis.found(view, KIND, None, report);
}

fn squares(view: &View<'_>, currents: [Logged<'_>; 3], neutral: Logged<'_>) -> Option<Squares> {
    let watts = view.by_phase(|phase| Quantity::ActivePower(Some(phase)))?;
    let vars = view.by_phase(|phase| Quantity::ReactivePower(Some(phase)))?;
    let volts = view.by_phase(Quantity::Voltage)?;
    view.analysis().phasors()?;
    let mut sums = Squares {
        fundamental: [0.0; 3],
        distortion: [0.0; 3],
        neutral: 0.0,
        unexplained: 0.0,
        switching: 0.0,
    };
    let mut count = 0.0_f64;
    for (row, neutral) in neutral.iter().enumerate() {
        let of = |k: usize| -> Option<(num_complex::Complex64, f64)> {
            let volts = volts[k].get(row).filter(|volts| *volts > 1.0)?;
            let power = num_complex::Complex64::new(watts[k].get(row)?, -vars[k].get(row)?);
            Some((power * 1000.0 / volts, currents[k].get(row)?))
        };
        let (Some(l1), Some(l2), Some(l3), Some(neutral)) = (of(0), of(1), of(2), neutral) else {
            continue;
        };
        let phases = [l1, l2, l3];
        let sum: num_complex::Complex64 = (0..3)
            .map(|k| Phase::ALL[k].direction() * phases[k].0)
            .sum();
        for (k, (fundamental, rms)) in phases.iter().enumerate() {
            sums.fundamental[k] += fundamental.norm_sqr();
            sums.distortion[k] += rms * rms - fundamental.norm_sqr();
        }
        sums.neutral += neutral * neutral;
        sums.unexplained += neutral * neutral - sum.norm_sqr();
        count += 1.0;
    }
    if count < 1.0 {
        return None;
    }
    let mean = |sum: f64| (sum / count).max(0.0);
    let distortion = sums.distortion.map(mean);
    let most: f64 = distortion.iter().map(|square| square.sqrt()).sum();
    let unexplained = mean(sums.unexplained);
    Some(Squares {
        fundamental: sums.fundamental.map(mean),
        distortion,
        neutral: mean(sums.neutral),
        unexplained,
        switching: (unexplained - most * most).max(0.0),
    })
}
