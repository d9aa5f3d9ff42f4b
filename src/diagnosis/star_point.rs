//! Where the star point is at each reading, and whether a phase or the neutral is gone.
//!
//! Three voltages to neutral give the side of an equal-sided triangle and the star point in it. Where the neutral is open,
//! the side stays what it was and the star point moves; where a phase is lost, no triangle of that side fits. Logged
//! line-to-line voltages give the triangle by themselves. Where both explanations fit, the currents decide, or both stand.

use num_complex::Complex64;

use super::thresholds as limits;
use super::view::View;
use super::voltage_triangle::VoltageTrace;
use electrical::{Phase, PhasePair};
use metering::Logged;
use site::Quantity;

/// No cable in use has more from source to meter; what lies above is no joint any more. (Ω)
const OPEN_OHM: f64 = 0.5;
/// No source in use is so unequal. Common practice. (V)
const OPEN_V: f64 = 10.0;

/// Less is no load. Common practice. (A)
const NO_CURRENT_A: f64 = 0.5;

/// One reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Moment {
    /// Displacement of the star point, where a triangle fits. (V)
    displacement_v: Option<f64>,
    /// Which phases are lost.
    lost: [bool; 3],
    /// The neutral carries no current that would explain the displacement.
    is_open: bool,
    /// The currents are known, and bear the displacement out.
    is_borne_out: bool,
}

/// The readings of a meter.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct StarPoint {
    moments: Vec<Moment>,
    has_line_voltages: bool,
}

impl StarPoint {
    /// Without the voltage of each phase nothing is known of any reading.
    pub(super) fn of(view: &View<'_>) -> StarPoint {
        let Some(volts) = view.by_phase(Quantity::Voltage) else {
            return StarPoint::default();
        };
        let lines = line_voltages(view);
        let usual_v = usual_voltage(view, &volts);
        let phasors = view.analysis().phasors();
        let moments = (0..view.table().len())
            .map(|row| {
                let [Some(l1), Some(l2), Some(l3)] = volts.map(|volts| volts.get(row)) else {
                    return Moment::default();
                };
                let reading = VoltageReading {
                    volts: [l1, l2, l3],
                    lines: lines.and_then(|lines| {
                        let [a, b, c] = lines.map(|line| line.get(row));
                        Some([a?, b?, c?])
                    }),
                    amps: phasors.and_then(|phasors| phasors.at(row)),
                    usual_v,
                    nominal_v: view.nominal_v(),
                };
                reading.judge()
            })
            .collect();
        StarPoint {
            moments,
            has_line_voltages: lines.is_some(),
        }
    }

    pub(super) fn has_line_voltages(&self) -> bool {
        self.has_line_voltages
    }

    pub(super) fn displacement_v(&self, row: usize) -> Option<f64> {
        self.moments[row].displacement_v
    }

    pub(super) fn is_lost(&self, row: usize, phase: Phase) -> bool {
        self.moments[row].lost[phase.index()]
    }

    /// Is the neutral open, so that its current says nothing of its resistance?
    pub(super) fn is_open(&self, row: usize) -> bool {
        self.moments.get(row).is_some_and(|moment| moment.is_open)
    }

    pub(super) fn is_borne_out(&self, row: usize) -> bool {
        self.moments[row].is_borne_out
    }
}

/// The voltages between the lines, where all three are logged.
pub(super) fn line_voltages<'s>(view: &View<'s>) -> Option<[Logged<'s>; 3]> {
    let [a, b, c] = PhasePair::ALL.map(|pair| view.table().values(Quantity::LineVoltage(pair)));
    Some([a?, b?, c?])
}

/// Median of all phase voltages; the nominal one where that is none that a supply has.
fn usual_voltage(view: &View<'_>, volts: &[Logged<'_>; 3]) -> f64 {
    let mut known: Vec<f64> = volts
        .iter()
        .flat_map(|series| series.iter().flatten())
        .collect();
    let nominal = view.nominal_v();
    if known.is_empty() {
        return nominal;
    }
    let middle = known.len() / 2;
    let (_, median, _) = known.select_nth_unstable_by(middle, f64::total_cmp);
    if (*median / nominal - 1.0).abs() < 0.15 {
        *median
    } else {
        nominal
    }
}

struct VoltageReading {
    volts: [f64; 3],
    lines: Option<[f64; 3]>,
    amps: Option<[Complex64; 3]>,
    usual_v: f64,
    nominal_v: f64,
}

impl VoltageReading {
    fn judge(&self) -> Moment {
        let lost = Phase::ALL.map(|phase| self.looks_lost(phase.index()));
        let triangle = match self.lines {
            Some(lines) => VoltageTrace::of_all(0, lines, self.volts),
            None => VoltageTrace::of_phases(0, self.volts),
        };
        let fits = triangle.filter(|triangle| self.is_equal_sided(triangle));
        let Some((triangle, star)) = fits.and_then(|triangle| Some((triangle, triangle.star?)))
        else {
            return Moment {
                lost,
                ..Moment::default()
            };
        };
        let displacement_v = star.norm();
        let moved = displacement_v / self.usual_v;
        let neutral = self.amps.map(|amps| sum_of_currents(&triangle, star, amps));
        let all: f64 = self.amps.iter().flatten().map(|amps| amps.norm()).sum();
        // A source with unequal phases drives through equal loads as much neutral current as its inequality is of all.
        let is_missing = neutral.is_some_and(|neutral| neutral.norm() < moved / 3.0 * all);
        // Current that returns through a resistance, be it earth, lifts the star point in its own direction.
        let drives = neutral.is_some_and(|neutral| {
            let ohm = star / neutral;
            ohm.re > 0.7 * ohm.norm()
        });
        let nothing_flows = neutral.is_some() && all < NO_CURRENT_A && moved > 0.3;
        let mut moment = Moment {
            displacement_v: Some(displacement_v),
            lost,
            is_open: neutral
                .is_some_and(|neutral| displacement_v > OPEN_V + OPEN_OHM * neutral.norm()),
            is_borne_out: is_missing || drives || nothing_flows,
        };
        if self.lines.is_some() || !lost.contains(&true) {
            // The triangle stands: no phase is lost.
            moment.lost = [false; 3];
        } else if self.has_no_current(lost) && !is_missing && !nothing_flows {
            moment.displacement_v = None;
            moment.is_open = false;
        } else if is_missing || nothing_flows {
            moment.lost = [false; 3];
        }
        moment
    }

    /// Is a phase low as one that is lost, with or without voltage fed back, while the others stay?
    fn looks_lost(&self, phase: usize) -> bool {
        let own = self.volts[phase];
        let highest = self.volts.iter().copied().fold(0.0, f64::max);
        let alone = own < limits::LOST_SHARE * self.nominal_v
            && highest > limits::LIVE_SHARE * self.nominal_v;
        let fed_back = own < limits::FED_BACK_SHARE * highest.min(self.usual_v)
            && highest > 0.5 * self.nominal_v;
        (alone || fed_back) && highest < limits::RAISED_SHARE * self.usual_v
    }

    fn is_equal_sided(&self, triangle: &VoltageTrace) -> bool {
        let usual = 3.0_f64.sqrt() * self.usual_v;
        let tolerance = limits::TRIANGLE_TOLERANCE;
        let sides = triangle.line_voltages();
        let mean = sides.iter().sum::<f64>() / 3.0;
        let highest = self.volts.iter().copied().fold(0.0, f64::max);
        // No source raises a phase so far: then the triangle may be as unequal as supplies are.
        let raised = highest > 1.2 * self.usual_v;
        let whole = if raised || self.lines.is_some() {
            2.0
        } else {
            1.0
        } * tolerance;
        (mean / usual - 1.0).abs() <= whole
            && sides
                .iter()
                .all(|side| (side / mean - 1.0).abs() <= tolerance)
    }

    fn has_no_current(&self, lost: [bool; 3]) -> bool {
        self.amps.is_some_and(|amps| {
            amps.iter()
                .zip(lost)
                .all(|(amps, lost)| !lost || amps.norm() < NO_CURRENT_A)
        })
    }
}

/// Sum of currents that are known against their own voltages, which point from the star point to the corners.
fn sum_of_currents(triangle: &VoltageTrace, star: Complex64, amps: [Complex64; 3]) -> Complex64 {
    triangle
        .corners
        .iter()
        .zip(amps)
        .map(|(corner, amps)| {
            let volts = corner - star;
            if volts.norm() > 0.0 {
                volts / volts.norm() * amps
            } else {
                Complex64::ZERO
            }
        })
        .sum()
}
