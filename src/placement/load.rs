//! The new machine as a load: its current at its rating, while starting and over time.

use num_complex::Complex64;

use super::chosen_intervals::only;
use balance::{Currents, MachineSeries, Standing};
use metering::Logs;
use site::{Connection, NewMachine, Site};

/// A new machine with its currents.
#[derive(Clone, Debug)]
pub(super) struct NewLoad {
    pub(super) new: NewMachine,
    /// Design current of one machine in each of its phases, rms with its harmonics. (A)
    pub(super) design_a: f64,
    /// Fundamental of the whole row at its rating, at turn 0, each relative to its own phase voltage. (A)
    pub(super) rated: [Complex64; 3],
    /// The same with one machine starting.
    pub(super) starting: Option<[Complex64; 3]>,
    /// Over the intervals, as it is expected to run.
    pub(super) expected: MachineSeries,
    /// Over the intervals, at its rating whenever it runs; its own log where it has one.
    pub(super) highest: Currents,
    /// Third harmonic as a share of the fundamental.
    pub(super) third_harmonic: f64,
}

impl NewLoad {
    pub(super) fn new(site: &Site, logs: &Logs, standing: &Standing, new: &NewMachine) -> NewLoad {
        let machine = &new.machine;
        let rated = currents_at_rating(site, new, 1.0, None);
        let with_harmonics = (1.0 + machine.third_harmonic.powi(2)).sqrt();
        let design_a = rated[0].norm() * with_harmonics / f64::from(machine.quantity);
        let starting = new
            .start
            .map(|start| currents_at_rating(site, new, start.ratio, Some(start.power_factor)));
        let mut at_rating = machine.clone();
        at_rating.utilisation_factor = 1.0;
        NewLoad {
            design_a,
            rated,
            starting,
            expected: standing.new_machine(site, logs, machine),
            highest: standing.new_machine(site, logs, &at_rating).currents,
            third_harmonic: machine.third_harmonic,
            new: new.clone(),
        }
    }

    /// Does its third harmonic flow in the neutral?
    pub(super) fn has_neutral(&self) -> bool {
        self.new.machine.connection.has_neutral()
    }

    /// Expected third harmonic that it adds in the neutral, whatever its phase. (A)
    pub(super) fn third_in_neutral_a(&self, interval: usize) -> f64 {
        if !self.has_neutral() {
            return 0.0;
        }
        let amps = (0..3).map(|position| self.expected.currents.at(position, interval).norm());
        self.third_harmonic * amps.sum::<f64>()
    }

    /// Expected power, P + jQ. [kW, kvar]
    pub(super) fn expected_power(&self, interval: usize) -> Complex64 {
        let active = self.expected.power_kw[interval];
        // The ratio of the two does not depend on the voltage.
        let rated = self.new.machine.rated_power(230.0);
        let reactive_share = if rated.re > 0.0 {
            rated.im / rated.re
        } else {
            0.0
        };
        Complex64::new(active, active * reactive_share)
    }

    /// At its rating, in some of the intervals only.
    pub(super) fn only(&self, intervals: &[usize]) -> NewLoad {
        NewLoad {
            highest: only(&self.highest, intervals),
            ..self.clone()
        }
    }

    /// Does it generate? Its output may then meet any load, from none to the largest.
    pub(super) fn generates(&self) -> bool {
        self.new.machine.generates()
    }

    /// Does anything say how much it gives over a year?
    pub(super) fn output_is_declared(&self) -> bool {
        let machine = &self.new.machine;
        machine.meter.is_some() || machine.schedule.is_some() || machine.utilisation_factor < 1.0
    }

    pub(super) fn is_three_phase(&self) -> bool {
        matches!(self.new.machine.connection, Connection::ThreePhase { .. })
    }

    /// Phases that it loads at a turn, with the position of each.
    pub(super) fn phases(&self, turn: usize) -> impl Iterator<Item = (usize, usize)> + '_ {
        (0..3)
            .filter(|&position| self.rated[position].norm() > 0.0)
            .map(move |position| (position, (position + turn) % 3))
    }

    /// Largest rms current of the row while one machine starts. (A)
    pub(super) fn starting_a(&self) -> Option<f64> {
        let start = self.new.start?;
        let others = f64::from(self.new.machine.quantity) - 1.0;
        Some(self.design_a * (start.ratio + others))
    }
}

/// Currents of the row with one machine at a multiple of its rating.
fn currents_at_rating(
    site: &Site,
    new: &NewMachine,
    ratio: f64,
    power_factor: Option<f64>,
) -> [Complex64; 3] {
    let machine = &new.machine;
    let volts = site.supply.phase_voltage_v();
    let row = machine.flow() * machine.rated_power(volts);
    let one = row / f64::from(machine.quantity);
    let first = power_factor.map_or(one, |factor| {
        Complex64::new(factor, (1.0 - factor * factor).sqrt()) * one.norm()
    });
    let power = row - one + first * ratio;
    let across = match machine.connection {
        Connection::Between(_) | Connection::AnyPair => site.supply.line_voltage_v,
        Connection::ThreePhase { .. } => 3.0 * volts,
        Connection::ToNeutral(_) | Connection::Any | Connection::Unknown => volts,
    };
    let current = power.conj() * 1000.0 / across;
    let currents = match machine.connection {
        Connection::ToNeutral(_) | Connection::Any | Connection::Unknown => {
            Currents::to_neutral(vec![current])
        }
        Connection::Between(_) | Connection::AnyPair => Currents::between_phases(&[current]),
        Connection::ThreePhase { .. } => Currents::new([0; 3].map(|_| Some(vec![current]))),
    };
    [0, 1, 2].map(|position| currents.at(position, 0))
}
