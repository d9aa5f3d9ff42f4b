//! A round of clamp readings after the work, against the list.

use chrono::{DateTime, Utc};
use num_complex::Complex64;
use schemars::JsonSchema;
use serde::Serialize;

use crate::machine_power::declared_kw;
use balance::{connection_of, standing_connection, turn};
use electrical::Phase;
use metering::{ClampReading, Logs, Round};
use site::{Connection, Machine, Measured, Site, Work};
use units::serial::utc;

/// What a clamp meter and two readings that are not quite of one moment may differ by, and a fixed
/// part. Common practice. (1, A)
const ALLOWED: (f64, f64) = (0.05, 1.0);
/// By how much the current of a machine differs from its plate while it is on. Common practice.
const PLATE: f64 = 0.3;
/// Standard deviations that machines which nobody read may add: one reading in 370 lies outside them by chance.
const DEVIATIONS: f64 = 3.0;

/// The conductors of the supply in one round.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct RoundCheck {
    /// When it was read.
    #[serde(serialize_with = "utc")]
    pub at: DateTime<Utc>,
    /// L1, L2, L3 and neutral as read. (A)
    pub measured_a: [Option<f64>; 4],
    /// The same with every machine where the list has it. (A)
    pub predicted_a: [f64; 4],
    /// By how much a reading may differ from that: 5 % and 1 A of the clamp meter, and three standard deviations of
    /// what the machines that nobody read draw, which may be on or off. (A)
    pub allowed_a: [f64; 4],
    /// True where a round before the work says what the list lacks.
    pub rest_known: bool,
    /// Does every reading agree within that?
    pub agrees: bool,
    /// Each machine that alone, elsewhere, would explain the round, and where.
    pub explained_by: Vec<(String, Connection)>,
}

impl RoundCheck {
    /// Between which currents a reading of a conductor agrees with the list. (A)
    #[must_use]
    pub fn expected_a(&self, conductor: usize) -> (f64, f64) {
        let (amps, allowed) = (self.predicted_a[conductor], self.allowed_a[conductor]);
        ((amps - allowed).max(0.0), amps + allowed)
    }

    /// Is the range of every reading narrow enough for agreement to say something about the list: at most twice what
    /// the clamp meter alone allows?
    #[must_use]
    pub fn tests_the_list(&self) -> bool {
        let measured = self.measured_a.iter().zip(self.allowed_a);
        measured
            .filter_map(|(amps, allowed)| Some(((*amps)?, allowed)))
            .all(|(amps, allowed)| allowed <= 2.0 * (ALLOWED.0 * amps + ALLOWED.1))
    }
}

/// The last round since the work that reads the supply; `None` where there is none.
pub(super) fn judge(site: &Site, logs: &Logs, work: Option<&Work>) -> Option<RoundCheck> {
    let reads = |round: &&Round| round.of(Measured::SUPPLY).is_some();
    let is_after = |round: &&Round| work.is_none_or(|work| round.at >= work.done);
    let round = logs.rounds.iter().filter(reads).rfind(is_after)?;
    let earlier = work.and_then(|_| {
        logs.rounds
            .iter()
            .filter(reads)
            .rfind(|round| !is_after(round))
    });
    let was = |index: usize| {
        let moved = work.and_then(|work| work.moves.iter().find(|moved| moved.machine == index));
        moved.map_or_else(|| standing_connection(site, index), |moved| moved.from)
    };
    let before = earlier.map(|round| (sums(site, round, &was), round.of(Measured::SUPPLY)));
    let rest_known = before.is_some();
    let rest = before.map_or_else(UnlistedCurrents::default, |(sums, reading)| {
        rest(&sums, reading)
    });
    let reading = round.of(Measured::SUPPLY)?;
    let measured = [
        reading.phases_a[0],
        reading.phases_a[1],
        reading.phases_a[2],
        reading.neutral_a,
    ];
    let listed = |index: usize| standing_connection(site, index);
    let predict =
        |place: &dyn Fn(usize) -> Connection| conductors(&sums(site, round, place), &rest);
    let predicted = predict(&listed);
    let agrees = fits(&measured, &predicted);
    let mut explained_by = Vec::new();
    if !agrees {
        for (index, machine) in site.machines.iter().enumerate() {
            let Some(now) = turn(listed(index)) else {
                continue;
            };
            if matches!(listed(index), Connection::ThreePhase { .. }) {
                continue;
            }
            for other in (0..3).filter(|&other| other != now) {
                let moved = connection_of(listed(index), other);
                let place = |at: usize| if at == index { moved } else { listed(at) };
                if fits(&measured, &predict(&place)) {
                    explained_by.push((machine.name.clone(), moved));
                }
            }
        }
    }
    Some(RoundCheck {
        at: round.at,
        measured_a: measured,
        predicted_a: predicted.amps,
        allowed_a: [0, 1, 2, 3].map(|k| predicted.allowed(k, measured[k])),
        rest_known,
        agrees,
        explained_by,
    })
}

/// Fundamental phase currents of all machines, and the sum of their third harmonics to neutral.
#[derive(Default)]
struct MachineCurrents {
    phases: [Complex64; 3],
    third_a: f64,
    /// Of the phase currents, from machines that were not read. (A²)
    variance: [f64; 3],
    /// The same of the neutral's.
    neutral_variance: f64,
}

impl MachineCurrents {
    /// A machine that was not read adds what it may draw more or less than expected.
    fn vary(&mut self, machine: &Machine, conductors: &[usize], to_neutral: bool, mean_a: f64) {
        let on = machine.on_share().clamp(f64::MIN_POSITIVE, 1.0);
        // While it is on it draws mean_a/on: p·(m² + τ²) − (p·m)², with τ = PLATE·m.
        let variance = (mean_a / on).powi(2) * on * (1.0 + PLATE * PLATE - on);
        for &k in conductors {
            self.variance[k] += variance;
        }
        let third = machine.third_harmonic * conductors.len() as f64;
        self.neutral_variance += variance * (f64::from(u8::from(to_neutral)) + third * third);
    }
}

/// What the supply carried beyond the machines, and how well that is known.
#[derive(Default)]
struct UnlistedCurrents {
    phases: [Complex64; 3],
    variance: [f64; 3],
    neutral_variance: f64,
}

/// L1, L2, L3 and neutral, with the standard deviation that machines without a reading add. (A)
struct Predicted {
    amps: [f64; 4],
    deviation: [f64; 4],
}

impl Predicted {
    fn allowed(&self, conductor: usize, measured: Option<f64>) -> f64 {
        let amps = measured.unwrap_or(self.amps[conductor]);
        ALLOWED.0 * amps + ALLOWED.1 + DEVIATIONS * self.deviation[conductor]
    }
}

fn sums(site: &Site, round: &Round, place: &dyn Fn(usize) -> Connection) -> MachineCurrents {
    let mut sums = MachineCurrents::default();
    for (index, machine) in site.machines.iter().enumerate() {
        let connection = place(index);
        let Some(turn) = turn(connection) else {
            continue;
        };
        let current = current(site, round, index, connection);
        if round.of(Measured::Machine(index)).is_none() {
            let loaded: Vec<usize> = match connection {
                Connection::Between(_) => vec![turn, (turn + 1) % 3],
                Connection::ThreePhase { .. } => vec![0, 1, 2],
                _ => vec![turn],
            };
            sums.vary(machine, &loaded, loaded.len() == 1, current.norm());
        }
        let lead = Complex64::from_polar(1.0, std::f64::consts::FRAC_PI_6);
        match connection {
            Connection::Between(_) => {
                sums.phases[turn] += current * lead;
                sums.phases[(turn + 1) % 3] += current * lead.conj();
            }
            Connection::ThreePhase { .. } => {
                for k in 0..3 {
                    let read = round
                        .of(Measured::Machine(index))
                        .and_then(|one| one.phases_a[k]);
                    let own = read.map_or(current, |amps| {
                        direction(machine) * fundamental(machine, amps)
                    });
                    sums.phases[k] += own;
                    sums.third_a += machine.third_harmonic * own.norm();
                }
            }
            _ => {
                sums.phases[turn] += current;
                sums.third_a += machine.third_harmonic * current.norm();
            }
        }
    }
    sums
}

/// Fundamental current per conductor: as read in the round, else as declared for its hour. (A)
fn current(site: &Site, round: &Round, index: usize, connection: Connection) -> Complex64 {
    let machine = &site.machines[index];
    let read = round.of(Measured::Machine(index)).map(|one| {
        let amps: Vec<f64> = one.phases_a.iter().flatten().copied().collect();
        amps.iter().sum::<f64>() / amps.len().max(1) as f64
    });
    let amps = read.map_or_else(
        || {
            let at = round.at.timestamp();
            let volts = match connection {
                Connection::Between(_) | Connection::AnyPair => site.supply.line_voltage_v,
                Connection::ThreePhase { .. } => 3.0 * site.supply.phase_voltage_v(),
                _ => site.supply.phase_voltage_v(),
            };
            let factor = machine.power_factor.max(f64::MIN_POSITIVE);
            declared_kw(site, machine, (at, at + 60)) * 1000.0 / factor / volts
        },
        |amps| fundamental(machine, amps),
    );
    direction(machine) * amps
}

/// The fundamental of a current that is rms with its third harmonic. (A)
fn fundamental(machine: &Machine, amps: f64) -> f64 {
    amps / (1.0 + machine.third_harmonic.powi(2)).sqrt()
}

/// Of a machine's current against its voltage, lagging negative.
fn direction(machine: &Machine) -> Complex64 {
    let reactive = (1.0 - machine.power_factor.powi(2)).max(0.0).sqrt();
    Complex64::new(
        machine.power_factor,
        if machine.leading { reactive } else { -reactive },
    )
}

/// What the supply's phases carried beyond the listed machines, at the angle of those.
fn rest(sums: &MachineCurrents, reading: Option<&ClampReading>) -> UnlistedCurrents {
    let phases = [0, 1, 2].map(|k| {
        let Some(amps) = reading.and_then(|reading| reading.phases_a[k]) else {
            return Complex64::ZERO;
        };
        let own = sums.phases[k];
        let direction = if own.norm() > 0.0 {
            own / own.norm()
        } else {
            Complex64::ONE
        };
        direction * amps - own
    });
    UnlistedCurrents {
        phases,
        variance: sums.variance,
        neutral_variance: sums.neutral_variance,
    }
}

/// L1, L2, L3 and neutral, as a clamp meter would show them.
fn conductors(sums: &MachineCurrents, rest: &UnlistedCurrents) -> Predicted {
    let phases = [0, 1, 2].map(|k| sums.phases[k] + rest.phases[k]);
    let neutral: Complex64 = Phase::ALL
        .iter()
        .map(|phase| phase.direction() * phases[phase.index()])
        .sum();
    let [l1, l2, l3] = phases.map(Complex64::norm);
    let [a, b, c] = [0, 1, 2].map(|k| (sums.variance[k] + rest.variance[k]).sqrt());
    let n = (sums.neutral_variance + rest.neutral_variance).sqrt();
    Predicted {
        amps: [l1, l2, l3, neutral.norm().hypot(sums.third_a)],
        deviation: [a, b, c, n],
    }
}

fn fits(measured: &[Option<f64>; 4], predicted: &Predicted) -> bool {
    measured.iter().enumerate().all(|(k, &measured)| {
        measured
            .is_none_or(|amps| (amps - predicted.amps[k]).abs() <= predicted.allowed(k, Some(amps)))
    })
}
