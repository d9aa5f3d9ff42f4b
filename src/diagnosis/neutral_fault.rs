//! A neutral whose path has too much resistance, or is failing.

use super::joint::NeutralPath;
use super::outcome::{Diagnosis, Report, Trace};
use super::page::Page;
use super::star_point::{StarPoint, line_voltages};
use super::view::{View, at, spells};
use super::voltage_triangle::VoltageTrace;
use finding::{Evidence, Kind, Severity};
use metering::Logged;
use site::Quantity;
use units::format_local;

const KIND: Kind = Kind::NeutralFault;
const SOURCE: &str = "star-point displacement by J. Millman, \"A useful network theorem\", Proc. IRE, vol. 28, 1940; resistance by the regression of `high-resistance-joint`; limits EN 50160:2010, 4.2 (value not checked against the standard's text)";
const CAUTION: &str = "A broken neutral puts up to the full line-to-line voltage on single-phase loads and can make metal parts live. Never open or remake a neutral under load. Switch off single-phase loads at the board and call the network operator or a competent person at once.";
const COULD_ALSO_BE: &str = "a meter whose own neutral lead is loose; a supply with unequal phase voltages; a lost phase that three-phase loads feed back";
const READING_THAT_DECIDES: &str = "line-to-line and line-to-neutral voltages at the meter with an approved two-pole voltage indicator under load, by a competent person: line-to-line voltages alike and line-to-neutral voltages unlike mean the neutral";
/// Displacements less than this apart are one spell: with loads alike for a while, a star point without a neutral rests in
/// the middle. (s)
const JOIN_S: i64 = 600;

pub(super) const PAGE: Page = Page {
    meaning: "The neutral has a bad joint or is about to break: its path has more resistance than those of the phases, or the star point of the installation has shifted from that of the source. With load, some phase voltages then rise and others fall. A sign: lights on one phase get brighter when a machine starts on another.",
    formula: "\
Displacement: from three phase voltages and equal line-to-line voltages a follows
  3·(V1⁴ + V2⁴ + V3⁴ + a⁴) = (V1² + V2² + V3² + a²)²,   |V_N|² = (V1² + V2² + V3² − a²)/3
and with Millman V_N = Σ E_k·Y_k/(Σ Y_k + Y_N). It counts only where a is within 5 % of √3 times the usual phase voltage
(median of the log; 10 % where a phase is above 120 % of it). Where line-to-line voltages are logged, the star point
follows from all six instead, if they are alike within 5 %. Spells less than 10 min apart count as one.
Warning from 10 V; danger from 23 V if a second line of evidence confirms it: line-to-line voltages; currents (in four of
five intervals the sum of the phase currents is missing, or it drives the displacement through a resistance); or the
resistance below. Without one, a warning. Spells of less than two intervals or 2 min are a notice.
Resistance: R_N less the mean of R_1, R_2, R_3 from the regression of `high-resistance-joint`, the latter times the declared
ratio of cross-sectional areas, phase to neutral, where the cables between meter and supply are declared. Intervals in which
the neutral is open are left out. It becomes a finding if one of two one-sided tests, at mid-log and over the last week, at
0.25 % rejects 0 and it is at least 5 mΩ. Warning from 5 W of heat at the peak neutral current or from 0.35 Ω of the whole
path, danger from 25 W if each half of the log shows it by itself, or a meter upstream.
In solved circuits of one-minute means at 16 A rms in the neutral, nine of ten logs of two weeks show 10 mΩ, of three days
25 mΩ.",
    source: SOURCE,
    imitators: "A source with unequal line-to-line voltages (a phase lost at high voltage, a transformer in open delta): reported as `voltage-unbalance` if line-to-line voltages are logged. A lost phase (`phase-loss`). A meter whose own neutral lead is loose. A neutral of smaller cross-sectional area than the phases. A heavy load on one phase at the end of a long cable gives a few volts without any fault.",
    action: "If lights get brighter and dimmer, or a voltage to neutral is far from nominal: switch off single-phase loads and call the network operator now. Otherwise check whether the phase voltages spread with load. Inspect the neutral terminals with a thermal camera, from the meter to the source; have the loop impedance measured. Upstream of the meter, call the network operator.",
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

/// How far the star point has moved, and when.
struct Displacement {
    highest_v: f64,
    /// Rows in which it has.
    rows: Vec<usize>,
    spells: usize,
    /// The longest spell.
    from_s: i64,
    to_s: i64,
}

impl Displacement {
    fn of(view: &View<'_>, star_point: &StarPoint) -> Option<Displacement> {
        let limit = view.site.thresholds.displacement_warning_v;
        let starts = view.table().starts();
        let volts = |row: usize| {
            star_point
                .displacement_v(row)
                .filter(|&volts| volts >= limit)
        };
        let spells = spells(starts, view.interval_s(), JOIN_S, |row| {
            volts(row).is_some()
        });
        let &(from_s, to_s) = spells.iter().max_by_key(|(from, to)| (to - from, -from))?;
        let rows: Vec<usize> = (0..starts.len())
            .filter(|&row| volts(row).is_some())
            .collect();
        Some(Displacement {
            highest_v: rows
                .iter()
                .filter_map(|&row| volts(row))
                .fold(0.0, f64::max),
            rows,
            spells: spells.len(),
            from_s,
            to_s,
        })
    }

    fn longest_s(&self) -> i64 {
        self.to_s - self.from_s
    }

    /// What confirms it apart from the three voltages.
    fn confirmed_by(&self, star_point: &StarPoint, path: &NeutralPath) -> Option<&'static str> {
        let borne_out = self
            .rows
            .iter()
            .filter(|&&row| star_point.is_borne_out(row))
            .count();
        if star_point.has_line_voltages() {
            Some("line-to-line voltages: they stay alike")
        } else if 5 * borne_out >= 4 * self.rows.len() {
            Some("currents: the sum of the phases is missing, or drives the displacement")
        } else if matches!(path, NeutralPath::Found { .. }) {
            Some("the resistance of the neutral path, from changes of load")
        } else {
            None
        }
    }

    fn severity(&self, view: &View<'_>, is_confirmed: bool) -> Severity {
        if self.longest_s() < (2 * view.interval_s()).max(120) {
            Severity::Notice
        } else if self.highest_v >= view.site.thresholds.displacement_danger_v && is_confirmed {
            Severity::Danger
        } else {
            Severity::Warning
        }
    }
}

pub(super) fn check(
    view: &View<'_>,
    star_point: &StarPoint,
    path: NeutralPath,
    diagnosis: &mut Diagnosis,
) {
    if view.node().is_none() {
        return;
    }
    let Some(volts) = view.by_phase(Quantity::Voltage) else {
        return diagnosis.needs(view, KIND, None, "the voltage of each phase to neutral");
    };
    let (report, from_s, to_s) = match (Displacement::of(view, star_point), path) {
        (Some(moved), path) => {
            if let Some(trace) = worst(view, star_point, &moved, &volts) {
                diagnosis.show(view, KIND, None, Trace::Voltages(trace));
            }
            let report = displaced(view, star_point, &moved, path, &volts);
            (report, moved.from_s, Some(moved.to_s))
        }
        (None, NeutralPath::Found { report, from_s }) => {
            let report = Report {
                caution: CAUTION,
                ..*report
            };
            (report, from_s, None)
        }
        (None, NeutralPath::Undetermined(needs)) => {
            diagnosis.nothing(view, KIND, None);
            return diagnosis.needs(view, KIND, None, needs);
        }
        (None, NeutralPath::Sound | NeutralPath::NotJudged) => {
            return diagnosis.nothing(view, KIND, None);
        }
    };
    diagnosis.found(view, KIND, None, report);
    if let Some(finding) = diagnosis.findings.last_mut() {
        finding.from = at(from_s);
        finding.to = to_s.map_or(finding.to, at);
    }
}

/// The finding of a star point that has moved, with what is known of the path.
fn displaced(
    view: &View<'_>,
    star_point: &StarPoint,
    moved: &Displacement,
    path: NeutralPath,
    volts: &[Logged<'_>; 3],
) -> Report {
    let confirmed = moved.confirmed_by(star_point, &path);
    let extreme = |better: fn(f64, f64) -> f64| {
        let of_row = |&row: &usize| volts.iter().filter_map(move |series| series.get(row));
        moved.rows.iter().flat_map(of_row).reduce(better)
    };
    let minutes = moved.longest_s() as f64 / 60.0;
    let from = view.local(moved.from_s);
    let time = moved.rows.len() as f64 * view.interval_s() as f64 / 60.0;
    let mut evidence = Evidence::default()
        .with("highest_displacement_v", moved.highest_v)
        .with("time_min", time)
        .with("longest_spell_min", minutes)
        .with("longest_spell_from", from)
        .maybe("highest_phase_voltage_v", extreme(f64::max))
        .maybe("lowest_phase_voltage_v", extreme(f64::min))
        .maybe("confirmed_by", confirmed)
        .with("could_also_be", COULD_ALSO_BE)
        .with("reading_that_decides", READING_THAT_DECIDES);
    let mut severity = moved.severity(view, confirmed.is_some());
    let when = if moved.spells == 1 {
        format!("for {minutes:.0} min from {}", format_local(from))
    } else {
        format!(
            "in {} spells, the longest for {minutes:.0} min from {}",
            moved.spells,
            format_local(from)
        )
    };
    let mut summary = format!(
        "the star point shifts by up to {:.0} V {when}: the neutral has too much resistance or is failing",
        moved.highest_v
    );
    if let NeutralPath::Found { report, .. } = path {
        severity = severity.min(report.severity);
        summary = format!("{summary}; {}", report.summary);
        for (name, value) in report.evidence.0 {
            if evidence.0.iter().all(|(known, _)| *known != name) {
                evidence.0.push((name, value));
            }
        }
    }
    Report {
        severity,
        summary,
        evidence,
        action: "inspect the neutral terminals with a thermal camera, from the meter towards the source; have the loop impedance measured; keep sensitive single-phase loads off until then".to_owned(),
        caution: CAUTION,
        source: SOURCE,
    }
}

/// The voltages of the interval in which the star point is furthest away.
fn worst(
    view: &View<'_>,
    star_point: &StarPoint,
    moved: &Displacement,
    volts: &[Logged<'_>; 3],
) -> Option<VoltageTrace> {
    let volts_of = |row: usize| star_point.displacement_v(row).unwrap_or(0.0);
    let row = moved
        .rows
        .iter()
        .copied()
        .reduce(|a, b| if volts_of(b) >= volts_of(a) { b } else { a })?;
    let [l1, l2, l3] = volts.map(|series| series.get(row));
    let phases = [l1?, l2?, l3?];
    let start = view.table().starts()[row];
    let lines = line_voltages(view).map(|lines| lines.map(|line| line.get(row)));
    match lines {
        Some([Some(a), Some(b), Some(c)]) => VoltageTrace::of_all(start, [a, b, c], phases),
        _ => VoltageTrace::of_phases(start, phases),
    }
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
