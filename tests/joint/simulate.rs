//! Invented logs of a supply with a joint of known resistance. Voltages and currents are complex and made
//! to agree in steps of twenty seconds; only their minute means, rounded like a meter's, are
//! handed out. Nothing of the estimator is used.

use diagnosis::joint::PhaseReadings;
use num_complex::Complex64;
use simulated::Dice;

const STEP_S: f64 = 20.0;
const STEPS: usize = 3;

/// What is true of a log.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Truth {
    pub(crate) phase: usize,
    /// At the start and at the end. (Ω)
    pub(crate) joint_ohm: (f64, f64),
    /// How much the three lines differ by themselves. (Ω)
    pub(crate) lines_ohm: [f64; 3],
}

impl Truth {
    /// Resistance of a phase above the mean of the others at a share of the log. (Ω)
    pub(crate) fn extra(&self, phase: usize, share: f64) -> f64 {
        let joint = self.joint_ohm.0 + (self.joint_ohm.1 - self.joint_ohm.0) * share;
        let own = |k: usize| self.lines_ohm[k] + if k == self.phase { joint } else { 0.0 };
        let others: f64 = (0..3).filter(|&k| k != phase).map(own).sum();
        own(phase) - 0.5 * others
    }
}

/// What is drawn at random about a log.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scene {
    pub(crate) days: usize,
    /// Multiplies all loads.
    pub(crate) size: f64,
    /// Wandering of each phase by itself, standard deviation. (V)
    pub(crate) wander_v: f64,
    pub(crate) wander_s: f64,
    /// Daily pattern of each phase by itself, amplitude. (V)
    pub(crate) daily_v: f64,
    /// A neighbour on one phase who keeps the same working hours. (V)
    pub(crate) neighbour_v: f64,
    pub(crate) truth: Truth,
}

impl Scene {
    pub(crate) fn random(chance: &mut Dice, joint: Option<bool>) -> Scene {
        let phase = (chance.share() * 3.0) as usize;
        let joint_ohm = match joint {
            None => (0.0, 0.0),
            Some(growing) => {
                let ohm = chance.scale(0.002, 0.050);
                if growing {
                    (ohm * chance.between(0.0, 0.5), ohm)
                } else {
                    (ohm, ohm)
                }
            }
        };
        Scene {
            days: chance.between(3.0, 28.0) as usize,
            size: chance.scale(0.5, 2.0),
            wander_v: chance.between(0.0, 1.0),
            wander_s: chance.scale(900.0, 21_600.0),
            daily_v: chance.between(0.0, 1.0),
            neighbour_v: chance.between(0.0, 0.5),
            truth: Truth {
                phase,
                joint_ohm,
                lines_ohm: std::array::from_fn(|_| chance.between(-0.0003, 0.0003)),
            },
        }
    }
}

#[derive(Clone, Copy)]
enum Habit {
    /// Fixed resistance at its rated power at 230 V.
    Heater,
    /// Fixed power.
    Motor,
}

struct Load {
    phases: Vec<usize>,
    habit: Habit,
    /// Per phase, at 230 V. [W, var]
    power: Complex64,
    mean_on_s: f64,
    mean_off_s: f64,
    day_only: bool,
    on: bool,
}

fn loads(chance: &mut Dice, size: f64) -> Vec<Load> {
    (0..16)
        .map(|index| {
            let three_phase = index % 4 == 0;
            let phases = if three_phase {
                vec![0, 1, 2]
            } else {
                vec![(chance.share() * 3.0) as usize]
            };
            let heater = !three_phase && chance.share() < 0.5;
            let watts = size * chance.scale(300.0, 4000.0);
            let lag = if heater {
                0.0
            } else {
                chance.between(0.1, 0.9)
            };
            Load {
                phases,
                habit: if heater { Habit::Heater } else { Habit::Motor },
                power: Complex64::new(watts, watts * lag),
                mean_on_s: chance.scale(60.0, 7200.0),
                mean_off_s: chance.scale(120.0, 14_400.0),
                day_only: chance.share() < 0.7,
                on: false,
            }
        })
        .collect()
}

fn rounded(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

/// The log of a scene.
pub(crate) fn simulate(scene: &Scene, chance: &mut Dice) -> PhaseReadings {
    let turn = 2.0 * std::f64::consts::PI / 3.0;
    let directions = [0.0, -turn, turn].map(|angle| Complex64::from_polar(1.0, angle));
    let line = Complex64::new(chance.between(0.01, 0.06), chance.between(0.005, 0.04));
    let reactances: [f64; 3] = std::array::from_fn(|_| chance.between(-0.001, 0.001));
    let neutral_line = Complex64::new(chance.between(0.01, 0.06), chance.between(0.0, 0.02));
    let levels: [f64; 3] = std::array::from_fn(|_| chance.normal() * 0.5);
    let patterns: [[f64; 2]; 3] =
        std::array::from_fn(|_| [chance.share() * 24.0, chance.share() * 12.0]);
    let neighbour = (chance.share() * 3.0) as usize;
    let mut loads = loads(chance, scene.size);
    let mut wander = [0.0; 3];
    let mut common = 0.0;
    let mut sag = 0.0;
    let minutes = scene.days * 1440;
    let mut readings = PhaseReadings {
        interval_s: 60,
        ..PhaseReadings::default()
    };
    let mut volts = directions.map(|direction| direction * 235.0);
    // An Ornstein–Uhlenbeck step keeps the deviation.
    let drift = |value: &mut f64, deviation: f64, constant: f64, chance: &mut Dice| {
        let keep = (-STEP_S / constant).exp();
        *value = keep * *value + deviation * (1.0 - keep * keep).sqrt() * chance.normal();
    };
    for minute in 0..minutes {
        let hour = (minute % 1440) as f64 / 60.0;
        let working = (7.5..16.5).contains(&hour) && (minute / 1440) % 7 < 5;
        let share = minute as f64 / minutes as f64;
        let joint =
            scene.truth.joint_ohm.0 + (scene.truth.joint_ohm.1 - scene.truth.joint_ohm.0) * share;
        let mut sums = [[0.0; 3]; 3];
        for _ in 0..STEPS {
            drift(&mut common, 1.0, 1800.0, chance);
            // The neighbour's day begins with ours, within some minutes.
            sag += (f64::from(u8::from(working)) * scene.neighbour_v - sag) * STEP_S / 600.0;
            let source: [Complex64; 3] = std::array::from_fn(|k| {
                drift(&mut wander[k], scene.wander_v, scene.wander_s, chance);
                let [one, two] = patterns[k];
                let daily = scene.daily_v
                    * (0.7 * ((hour - one) * std::f64::consts::TAU / 24.0).cos()
                        + 0.3 * ((hour - two) * std::f64::consts::TAU / 12.0).cos());
                let near = if k == neighbour { sag } else { 0.0 };
                directions[k]
                    * (236.0
                        + 2.0 * ((hour + 2.0) * std::f64::consts::TAU / 24.0).cos()
                        + common
                        + levels[k]
                        + wander[k]
                        + daily
                        - near)
            });
            for load in &mut loads {
                let may = working || !load.day_only;
                let mean = if load.on {
                    load.mean_on_s
                } else {
                    load.mean_off_s
                };
                if load.on && !may {
                    load.on = false;
                } else if may && chance.share() < STEP_S / mean {
                    load.on = !load.on;
                }
            }
            let mut currents = [Complex64::ZERO; 3];
            for _ in 0..4 {
                currents = [Complex64::ZERO; 3];
                for load in loads.iter().filter(|load| load.on) {
                    for &k in &load.phases {
                        currents[k] += match load.habit {
                            Habit::Heater => volts[k] * (load.power.re / (230.0 * 230.0)),
                            Habit::Motor => (load.power / volts[k]).conj(),
                        };
                    }
                }
                let neutral: Complex64 = currents.iter().sum();
                for k in 0..3 {
                    let extra =
                        scene.truth.lines_ohm[k] + if k == scene.truth.phase { joint } else { 0.0 };
                    volts[k] = source[k]
                        - (line + Complex64::new(extra, reactances[k])) * currents[k]
                        - neutral_line * neutral;
                }
            }
            for k in 0..3 {
                let power = volts[k] * currents[k].conj();
                sums[k][0] += volts[k].norm() / STEPS as f64;
                sums[k][1] += power.re / STEPS as f64;
                sums[k][2] += power.im / STEPS as f64;
            }
        }
        readings.starts.push(1_773_014_400 + 60 * minute as i64);
        for (k, [volts, watts, vars]) in sums.into_iter().enumerate() {
            let volts = rounded(volts, 0.1);
            let current = Complex64::new(rounded(watts, 10.0), -rounded(vars, 10.0)) / volts;
            readings.voltage_v[k].push(volts);
            readings.level_v[k].push(volts);
            readings.current_a[k].push(current);
        }
    }
    readings
}
