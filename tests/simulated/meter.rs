//! The meter, its wiring and what it logs.

use std::ops::Range;

use num_complex::Complex64;

use crate::circuit::{BackFeed, Circuit, Wires};
use crate::dice::Dice;
use crate::loads::Workshop;

/// A column of a log: its quantity's name and one value per row.
pub type Column = (String, Vec<Option<f64>>);

/// A fault that holds from one share of the log to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// More resistance in a phase. (Ω)
    Joint(usize, f64),
    /// More resistance in the neutral. (Ω)
    NeutralJoint(f64),
    /// The neutral is open; a way back through earth of so many ohms is left.
    NeutralOpen(f64),
    /// A phase of the source is lost.
    PhaseLost(usize),
    /// The fuse of a phase is blown; motors that run on give it this share of its voltage.
    FuseBlown(usize, f64),
    /// A current transformer is turned round.
    Reversed(usize),
    /// What is read of a phase's current is this part of the truth.
    Ratio(usize, f64),
    /// The currents of two channels are swapped.
    Swapped(usize, usize),
    /// Each current is read with the voltage of the phase before.
    Rotated,
    /// A voltage lead is off.
    LeadOff(usize),
    /// A voltage repeats its last value.
    VoltageStuck(usize),
    /// Current and powers of a phase repeat their last values.
    CurrentStuck(usize),
    /// A current transformer is open.
    CurrentOpen(usize),
    /// A generator on a phase gives so many amperes while the sun shines.
    Sun(usize, f64),
    /// The conductors of two phases are swapped behind the meter: their loads change places.
    LoadsExchanged(usize, usize),
    /// A standby generator feeds the installation.
    Generator,
    /// Another logger, with one decimal place less.
    CoarserLogger,
    /// Every second row is that of another logger: readings half a per cent apart.
    TwoLoggers,
}

/// How the log is made.
#[derive(Clone, Debug)]
pub struct Meter {
    /// Seed of loads and noise.
    pub seed: u64,
    /// First row, Unix seconds.
    pub from_s: i64,
    /// Length of a row. (s)
    pub interval_s: i64,
    /// Length of the log. (days)
    pub days: f64,
    /// Is the neutral logged?
    pub neutral: bool,
    /// Are the voltages between the lines logged?
    pub lines: bool,
    /// Is the frequency logged?
    pub frequency: bool,
    /// Line and neutral conductors. (Ω)
    pub wires: Wires,
}

impl Meter {
    /// Minutes from Monday 9 March 2026, 00:00 UTC, on a supply of 22 mΩ per conductor.
    #[must_use]
    pub fn of_seed(seed: u64, days: f64) -> Meter {
        Meter {
            seed,
            from_s: 1_773_014_400,
            interval_s: 60,
            days,
            neutral: true,
            lines: false,
            frequency: false,
            wires: Wires {
                line: [Complex64::new(0.022, 0.008); 3],
                neutral: Complex64::new(0.022, 0.006),
                earth: f64::INFINITY,
                back_feed: None,
            },
        }
    }

    fn rows(&self) -> usize {
        (self.days * 86_400.0 / self.interval_s as f64).round() as usize
    }

    /// Starts of the rows.
    #[must_use]
    pub fn starts(&self) -> Vec<i64> {
        (0..self.rows() as i64)
            .map(|row| self.from_s + row * self.interval_s)
            .collect()
    }
}

/// The log of a workshop with faults, each over a part of it: shares of its length from 0 to 1.
#[must_use]
pub fn log(meter: &Meter, workshop: &Workshop, faults: &[(Fault, Range<f64>)]) -> Vec<Column> {
    let starts = meter.starts();
    let rows = starts.len();
    let admittances = workshop.admittances(&starts, meter.interval_s, meter.seed);
    let mut dice = Dice::new(meter.seed ^ 0x5eed);
    let directions =
        [0.0_f64, -120.0, 120.0].map(|degrees| Complex64::from_polar(1.0, degrees.to_radians()));
    let mut drift = [0.0; 4];
    let mut last: Option<[[f64; 4]; 3]> = None;
    let mut out: [[Vec<f64>; 4]; 3] = Default::default();
    let mut neutral = Vec::with_capacity(rows);
    let mut frequency = Vec::with_capacity(rows);
    let mut between: [Vec<f64>; 3] = Default::default();
    for (row, &start) in starts.iter().enumerate() {
        let share = row as f64 / rows as f64;
        let now: Vec<Fault> = faults
            .iter()
            .filter(|(_, when)| when.contains(&share))
            .map(|(fault, _)| *fault)
            .collect();
        // The source wanders: all phases together by volts, each by tenths.
        for (index, level) in drift.iter_mut().enumerate() {
            let size = if index == 3 { 0.25 } else { 0.03 };
            *level = 0.995 * *level + size * dice.normal();
        }
        let mut wires = meter.wires;
        let mut regulated = 1.0;
        let mut hz = 50.0 + 0.015 * dice.normal();
        let (mut single, three) = admittances[row];
        for fault in &now {
            match *fault {
                Fault::Joint(k, ohm) => wires.line[k] += ohm,
                Fault::NeutralJoint(ohm) => wires.neutral += ohm,
                Fault::NeutralOpen(earth) => {
                    wires.neutral = Complex64::new(1e7, 0.0);
                    wires.earth = earth;
                }
                Fault::LoadsExchanged(a, b) => single.swap(a, b),
                Fault::Generator => {
                    regulated = 1.055;
                    hz = 50.8 + 0.2 * dice.normal();
                    wires.line = wires.line.map(|ohm| ohm + Complex64::new(0.01, 0.03));
                }
                Fault::PhaseLost(k) => wires.line[k] = Complex64::new(1e7, 0.0),
                Fault::FuseBlown(k, share) => {
                    wires.line[k] = Complex64::new(1e7, 0.0);
                    wires.back_feed = Some(BackFeed {
                        phase: k,
                        volts: directions[k] * 232.0 * share,
                        admittance: Complex64::new(1.0, -1.0),
                    });
                }
                Fault::Sun(k, amps) => {
                    let hour = (start.rem_euclid(86_400)) as f64 / 3600.0;
                    let height = ((hour - 6.0) / 12.0 * std::f64::consts::PI).sin();
                    if (6.0..18.0).contains(&hour) {
                        let cloud = 0.7 + 0.3 * dice.share();
                        single[k] -= amps / 230.0 * height * cloud;
                    }
                }
                _ => {}
            }
        }
        let source = [0, 1, 2].map(|k| {
            directions[k] * regulated * (232.0 + drift[3] + drift[k] + [0.3, 0.0, -0.3][k])
        });
        let found = Circuit::solve(source, &wires, single, three);
        let mut read = [[0.0; 4]; 3];
        for (k, read) in read.iter_mut().enumerate() {
            let volts = found.volts[k] * (1.0 + 0.0004 * dice.normal());
            let mut from = k;
            let mut sign = 1.0;
            let mut ratio = 1.0;
            for fault in &now {
                match *fault {
                    Fault::Reversed(own) if own == k => sign = -1.0,
                    Fault::Ratio(own, part) if own == k => ratio = part,
                    Fault::Swapped(a, b) if a == k => from = b,
                    Fault::Swapped(a, b) if b == k => from = a,
                    Fault::Rotated => from = (k + 2) % 3,
                    _ => {}
                }
            }
            let amps = found.amps[from] * sign * ratio * (1.0 + 0.001 * dice.normal());
            let power = volts * amps.conj() / 1000.0;
            *read = [volts.norm(), amps.norm(), power.re, power.im];
            for fault in &now {
                let repeat = |part: usize| last.map_or(read[part], |last| last[k][part]);
                match *fault {
                    Fault::LeadOff(own) if own == k => *read = [0.0, read[1], 0.0, 0.0],
                    Fault::VoltageStuck(own) if own == k => read[0] = repeat(0),
                    Fault::CurrentStuck(own) if own == k => {
                        *read = [read[0], repeat(1), repeat(2), repeat(3)];
                    }
                    Fault::CurrentOpen(own) if own == k => *read = [read[0], 0.0, 0.0, 0.0],
                    _ => {}
                }
            }
            let is_second = now.contains(&Fault::TwoLoggers) && row % 2 == 1;
            let (of_volts, of_amps) = if is_second {
                (1.004, 0.995)
            } else {
                (1.0, 1.0)
            };
            let errors = [of_volts, of_amps, of_volts * of_amps, of_volts * of_amps];
            let places = if now.contains(&Fault::CoarserLogger) {
                10.0
            } else {
                1.0
            };
            for (part, value) in read.iter_mut().enumerate() {
                let step = places * [0.01, 0.01, 0.001, 0.001][part];
                *value = (*value * errors[part] / step).round() * step;
            }
        }
        last = Some(read);
        for (columns, read) in out.iter_mut().zip(read) {
            for (column, value) in columns.iter_mut().zip(read) {
                column.push(value);
            }
        }
        for (k, column) in between.iter_mut().enumerate() {
            let volts = (found.volts[k] - found.volts[(k + 1) % 3]).norm();
            column.push((volts * 100.0).round() / 100.0);
        }
        frequency.push((hz * 1000.0).round() / 1000.0);
        neutral.push((found.neutral.norm() * 100.0).round() / 100.0);
    }
    let mut columns: Vec<Column> = Vec::new();
    for (k, quantities) in out.into_iter().enumerate() {
        let names = [
            "voltage_l?_v",
            "current_l?_a",
            "active_power_l?_kw",
            "reactive_power_l?_kvar",
        ];
        for (name, values) in names.iter().zip(quantities) {
            let name = name.replace('?', &(k + 1).to_string());
            columns.push((name, values.into_iter().map(Some).collect()));
        }
    }
    if meter.neutral {
        columns.push((
            "current_n_a".to_owned(),
            neutral.into_iter().map(Some).collect(),
        ));
    }
    if meter.frequency {
        let values = frequency.into_iter().map(Some).collect();
        columns.push(("frequency_hz".to_owned(), values));
    }
    if meter.lines {
        for (name, values) in ["l1_l2", "l2_l3", "l3_l1"].iter().zip(between) {
            let values = values.into_iter().map(Some).collect();
            columns.push((format!("voltage_{name}_v"), values));
        }
    }
    columns
}
