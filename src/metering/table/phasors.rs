//! Phase currents of a log as phasors, each in the frame of its own phase voltage.

use num_complex::Complex64;

use super::interval_table::IntervalTable;
use super::logged::Logged;
use super::origin::Origin;
use electrical::Phase;
use site::Quantity;

/// Where the angle of a current comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum AngleBasis {
    /// From the logged active and reactive power.
    Powers,
    /// From the logged power factor, or from apparent and active power, taken as lagging.
    PowerFactor,
    /// Nothing is logged: taken as in phase with its voltage.
    Unity,
}

/// Phase currents of a log: magnitude as logged (or from power), lagging negative. (A)
#[derive(Clone, Debug)]
pub struct PhasePhasors {
    /// One series per phase, `None` where an interval has no reading.
    pub series: [Vec<Option<Complex64>>; 3],
    /// The weakest basis of the angles on any phase.
    pub angle: AngleBasis,
    /// True where magnitudes are logged currents, false where they come from power and voltage.
    pub current_logged: bool,
}

/// The phasors of a three-phase log; `None` unless each phase has a current or a power.
///
/// `phase_voltage_v` is the nominal voltage to neutral, used where no voltage is logged.
pub(crate) fn phase_phasors(table: &IntervalTable, phase_voltage_v: f64) -> Option<PhasePhasors> {
    let mut angle = AngleBasis::Powers;
    let mut current_logged = true;
    let mut series = Vec::new();
    for phase in Phase::ALL {
        let one = one_phase(table, phase, phase_voltage_v)?;
        angle = angle.max(one.angle);
        current_logged &= one.current_logged;
        series.push(one.series);
    }
    Some(PhasePhasors {
        series: series.try_into().ok()?,
        angle,
        current_logged,
    })
}

impl PhasePhasors {
    /// Sum of the three in one interval, in the common frame; `None` where one has no reading. (A)
    #[must_use]
    pub fn sum(&self, row: usize) -> Option<Complex64> {
        Phase::ALL
            .into_iter()
            .map(|phase| Some(phase.direction() * self.series[phase.index()][row]?))
            .sum()
    }

    /// The three in one interval, each from its own voltage; `None` where one has no reading. (A)
    #[must_use]
    pub fn at(&self, row: usize) -> Option<[Complex64; 3]> {
        let [l1, l2, l3] = &self.series;
        Some([l1[row]?, l2[row]?, l3[row]?])
    }
}

struct OnePhase {
    series: Vec<Option<Complex64>>,
    angle: AngleBasis,
    current_logged: bool,
}

fn one_phase(table: &IntervalTable, phase: Phase, phase_voltage_v: f64) -> Option<OnePhase> {
    let current = table.values(Quantity::Current(phase));
    let active = table.values(Quantity::ActivePower(Some(phase)));
    let reactive = table.values(Quantity::ReactivePower(Some(phase)));
    let factor = table.values(Quantity::PowerFactor(Some(phase)));
    let voltage = table.values(Quantity::Voltage(phase));
    let rows = table.len();
    let at = |column: Option<Logged<'_>>, row: usize| column?.get(row);
    if current.is_none() && active.is_none() {
        return None;
    }
    let origin = |quantity| table.origin(quantity);
    let assumed = matches!(
        origin(Quantity::ReactivePower(Some(phase))),
        Some(Origin::Estimated { .. })
    );
    let by_powers = active.is_some() && reactive.is_some();
    let angle = match (by_powers, factor) {
        (true, _) if !assumed => AngleBasis::Powers,
        (true, _) | (_, Some(_)) => AngleBasis::PowerFactor,
        _ => AngleBasis::Unity,
    };
    let direction = |row: usize| -> Complex64 {
        match angle {
            _ if by_powers => match (at(active, row), at(reactive, row)) {
                (Some(p), Some(q)) if p != 0.0 || q != 0.0 => Complex64::new(p, -q) / p.hypot(q),
                _ => Complex64::ONE,
            },
            AngleBasis::PowerFactor => at(factor, row).map_or(Complex64::ONE, |factor| {
                let share = factor.abs().min(1.0);
                Complex64::new(share, -(1.0 - share * share).sqrt())
            }),
            AngleBasis::Powers | AngleBasis::Unity => match at(active, row) {
                Some(p) if p < 0.0 => -Complex64::ONE,
                _ => Complex64::ONE,
            },
        }
    };
    let series = (0..rows)
        .map(|row| {
            let magnitude = match current {
                Some(current) => current.get(row),
                None => at(active, row).map(|kw| {
                    let kvar = at(reactive, row).unwrap_or(0.0);
                    let volts = at(voltage, row).unwrap_or(phase_voltage_v);
                    kw.hypot(kvar) * 1000.0 / volts
                }),
            };
            magnitude.map(|amps| direction(row) * amps)
        })
        .collect();
    Some(OnePhase {
        series,
        angle,
        current_logged: origin(Quantity::Current(phase)) == Some(Origin::Measured),
    })
}
