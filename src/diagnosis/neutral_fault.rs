//! A neutral whose path has too much resistance, or is failing.

use super::outcome::{Diagnosis, Report, Trace};
use super::page::Page;
use super::view::{Series, View, longest_spell};
use super::voltage_triangle::VoltageTrace;
use finding::{Evidence, Kind, Severity};
use site::Quantity;

const KIND: Kind = Kind::NeutralFault;
const SOURCE: &str = "star-point displacement by J. Millman, \"A useful network theorem\", Proc. IRE, vol. 28, 1940; limits EN 50160:2010, 4.2 (from memory)";
const CAUTION: &str = "A broken neutral puts up to the full line-to-line voltage on single-phase loads and can make metal parts live. Never open or remake a neutral under load. Switch off single-phase loads at the board and call the network operator or a competent person at once.";

pub(super) const PAGE: Page = Page {
    meaning: "The star point of the installation has shifted from that of the source: with load, some phase voltages rise and others fall. The neutral has a bad joint or is about to break. A sign: lights on one phase get brighter when a machine starts on another.",
    formula: "\
From three phase voltages and equal line-to-line voltages a follows
  3·(V1⁴ + V2⁴ + V3⁴ + a⁴) = (V1² + V2² + V3² + a²)²,   |V_N|² = (V1² + V2² + V3² − a²)/3
and with Millman V_N = Σ E_k·Y_k/(Σ Y_k + Y_N). The path's resistance is V_N against the neutral current over the
intervals with the largest neutral current; it includes a third of a phase conductor's resistance.
Warning from 10 V or 0.35 Ω, danger from 23 V.",
    source: SOURCE,
    imitators: "A source with unequal line-to-line voltages (a phase lost at high voltage, a transformer in open delta): reported as `voltage-unbalance` if line-to-line voltages are logged. A heavy load on one phase at the end of a long cable gives a few volts without any fault.",
    action: "Check whether the phase voltages spread with load. Inspect the neutral terminals with a thermal camera, from the meter to the source; have the loop impedance measured. Upstream of the meter, call the network operator.",
    caution: CAUTION,
};

/// Displacement of the star point from three voltages to neutral, when the line voltages form an
/// equal-sided triangle (V).
///
/// `None` where no triangle fits.
///
/// # Source
///
/// Distances of a point from the corners of an equal-sided triangle; for the network see J. Millman,
/// "A useful network theorem", Proc. IRE, vol. 28, 1940.
///
/// # Examples
///
/// 23, 46 and 69 Ω in star at 230 V without a neutral: 157.9, 261.2 and 287.5 V, and Millman's theorem gives a
/// displacement of 75.39 V.
///
/// ```
/// use diagnosis::displacement_voltage;
/// let displacement = displacement_voltage([157.9, 261.2, 287.5]).expect("a triangle fits");
/// assert!((displacement - 75.39).abs() < 0.1);
/// ```
pub fn displacement_voltage(phases: [f64; 3]) -> Option<f64> {
    let squares = phases.map(|volts| volts * volts);
    let sum: f64 = squares.iter().sum();
    let fourths: f64 = squares.iter().map(|square| square * square).sum();
    // 3(Σv⁴ + a⁴) = (Σv² + a²)²  →  2a⁴ − 2·Σv²·a² + 3Σv⁴ − (Σv²)² = 0, the larger root for a point inside.
    let root = sum * sum - 2.0 * (3.0 * fourths - sum * sum);
    if root < -NEARLY_A_TRIANGLE * sum * sum {
        return None;
    }
    let side_squared = 0.5 * (sum + root.max(0.0).sqrt());
    Some(((sum - side_squared) / 3.0).max(0.0).sqrt())
}

/// At a corner, where one load alone has drawn the star point to its phase, readings a few volts off fit no triangle.
const NEARLY_A_TRIANGLE: f64 = 0.01;

/// A phase this far above nominal is no phase lost at the source, whatever the others read: those stay near nominal.
const MOVED_SHARE: f64 = 1.3;

/// Largest share of the neutral's current that counts as large.
const LARGE: f64 = 0.7;

pub(super) fn check(view: &View<'_>, diagnosis: &mut Diagnosis) {
    if view.node().is_none() {
        return;
    }
    let Some(volts) = view.by_phase(Quantity::Voltage) else {
        return diagnosis.needs(view, KIND, None, "the voltage of each phase to neutral");
    };
    let displacement: Series = (0..view.table().len())
        .map(|row| {
            let phases = [volts[0].get(row)?, volts[1].get(row)?, volts[2].get(row)?];
            let share = phases.map(|volts| volts / view.nominal_v());
            let is_moved = share.iter().any(|share| *share > MOVED_SHARE);
            // A phase that is lost is another matter.
            if is_moved || share.iter().all(|share| *share > 0.3) {
                displacement_voltage(phases)
            } else {
                None
            }
        })
        .collect();
    let highest = displacement.iter().flatten().copied().fold(0.0, f64::max);
    let path = path_ohm(view, &displacement);
    let spell = longest_spell(view.table().starts(), view.interval_s(), |row| {
        displacement[row].is_some_and(|volts| volts >= view.site.thresholds.displacement_warning_v)
    });
    let resistive = path.is_some_and(|ohm| ohm >= view.site.thresholds.neutral_path_ohm)
        && highest >= 0.5 * view.site.thresholds.displacement_warning_v;
    if spell.is_none() && !resistive {
        return diagnosis.nothing(view, KIND, None);
    }
    let severity = if highest >= view.site.thresholds.displacement_danger_v {
        Severity::Danger
    } else {
        Severity::Warning
    };
    let extreme = |better: fn(f64, f64) -> f64| {
        volts
            .iter()
            .flat_map(|series| series.iter().flatten())
            .reduce(better)
    };
    let report = Report {
        severity,
        summary: format!(
            "the star point shifts by up to {highest:.0} V: the neutral has too much resistance or is failing"
        ),
        evidence: Evidence::default()
            .with("highest_displacement_v", highest)
            .maybe("neutral_path_mohm", path.map(|ohm| 1e3 * ohm))
            .maybe("longest_spell_min", spell.map(|spell| spell.1 as f64 / 60.0))
            .maybe("longest_spell_from", spell.map(|spell| view.local(spell.0)))
            .maybe("highest_phase_voltage_v", extreme(f64::max))
            .maybe("lowest_phase_voltage_v", extreme(f64::min)),
        action: "inspect the neutral terminals with a thermal camera, from the meter towards the source; have the loop impedance measured; keep sensitive single-phase loads off until then".to_owned(),
        caution: CAUTION,
        source: SOURCE,
    };
    diagnosis.found(view, KIND, None, report);
    let worst = (0..displacement.len())
        .filter(|&row| displacement[row].is_some())
        .max_by(|&a, &b| {
            displacement[a]
                .partial_cmp(&displacement[b])
                .unwrap_or(std::cmp::Ordering::Equal)
        });
    let trace = worst.and_then(|row| {
        let phases = [volts[0].get(row)?, volts[1].get(row)?, volts[2].get(row)?];
        VoltageTrace::of_phases(view.table().starts()[row], phases)
    });
    if let Some(trace) = trace {
        diagnosis.show(view, KIND, None, Trace::Voltages(trace));
    }
}

/// Displacement against neutral current over the intervals with the largest currents. (Ω)
fn path_ohm(view: &View<'_>, displacement: &Series) -> Option<f64> {
    let analysis = view.analysis();
    let course = analysis
        .phasor_sum()
        .or_else(|| analysis.neutral().measured)?;
    let neutral = course.means;
    let largest = neutral.iter().flatten().fold(0.0, f64::max);
    if largest < 5.0 {
        return None;
    }
    let mut sums = (0.0, 0.0);
    for (volts, amps) in displacement.iter().zip(neutral.iter()) {
        if let (Some(volts), Some(amps)) = (volts, amps)
            && amps >= LARGE * largest
        {
            sums.0 += volts * amps;
            sums.1 += amps * amps;
        }
    }
    (sums.1 > 0.0).then(|| sums.0 / sums.1)
}

#[cfg(test)]
mod tests {
    use super::displacement_voltage;

    /// Millman's theorem, worked out apart: conductances 1:2:3 at 230 V move the star point by
    /// 230·√3/6 = 66.40 V; 10, 8 and 5 kW with the neutral lost leave 196.7, 229.1 and 270.6 V and 43.59 V. 23 and
    /// 46 Ω alone leave the star point between their phases, 132.8 V off the middle.
    /// Mehta & Mehta, Principles of Power System, 4e, example 14.11: lamps of 100 and 150 W share 400 V as 240 and 160 V;
    /// the third phase is then √(40² + 346.4²) = 348.7 V away and the middle √(40² + 115.5²) = 122.2 V.
    #[test]
    fn displacement_of_stars_without_neutral() {
        for (phases, expected) in [
            ([289.4, 239.4, 175.7], 66.40),
            ([196.7, 229.1, 270.6], 43.59),
            ([132.8, 265.6, 351.3], 132.8),
            ([240.0, 160.0, 348.7], 122.2),
            ([230.0, 230.0, 230.0], 0.0),
        ] {
            let found = displacement_voltage(phases).expect("a triangle fits");
            assert!((found - expected).abs() < 0.15, "{found} for {phases:?}");
        }
    }
}
