//! The European Low Voltage Test Feeder of the IEEE PES Test Feeder working group: 55 single-phase
//! loads, one day in minutes. The data are not part of this project; tests that need them say so
//! and pass when they are absent.

use std::path::PathBuf;

use num_complex::Complex64;
use tapoff::balance::{Currents, Problem, ProblemNode, Unit};

/// Power factor and voltage to neutral of every load, as published.
const POWER_FACTOR: f64 = 0.95;
const VOLTAGE_V: f64 = 230.0;

/// Published phases and currents of the feeder.
pub(crate) struct EuropeanLv {
    phases: Vec<usize>,
    /// Per load, magnitude per minute. [A]
    currents: Vec<Vec<f64>>,
}

impl EuropeanLv {
    /// Reads the data, or says that they are not there.
    pub(crate) fn read() -> Option<Self> {
        let named = std::env::var_os("TAPOFF_SHARED").map(PathBuf::from);
        let shared = named
            .clone()
            .unwrap_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared"));
        let folder = shared.join("data/european-lv");
        let machines = std::fs::read_to_string(folder.join("machines.csv"));
        let loads = std::fs::read_to_string(folder.join("meters/loads.csv"));
        let (Ok(machines), Ok(loads)) = (machines, loads) else {
            assert!(
                named.is_none(),
                "TAPOFF_SHARED is set, but {} is not there",
                folder.display()
            );
            writeln_skipped(&folder.display().to_string());
            return None;
        };
        let phases = machines
            .lines()
            .skip(1)
            .map(|line| match line.split(',').nth(2) {
                Some("L1") => 0,
                Some("L2") => 1,
                Some("L3") => 2,
                other => panic!("unexpected connection {other:?}"),
            })
            .collect::<Vec<_>>();
        let mut currents = vec![Vec::new(); phases.len()];
        for line in loads.lines().skip(1) {
            for (series, cell) in currents.iter_mut().zip(line.split(',').skip(1)) {
                let kilowatts: f64 = cell.parse().expect("a power in kW");
                series.push(kilowatts * 1000.0 / (VOLTAGE_V * POWER_FACTOR));
            }
        }
        Some(Self { phases, currents })
    }

    /// The first `loads` loads, all free, with the published phases as they are now.
    pub(crate) fn problem(&self, loads: usize) -> Problem {
        let lag = Complex64::from_polar(1.0, -POWER_FACTOR.acos());
        let units = (0..loads)
            .map(|i| Unit {
                name: format!("LOAD{}", i + 1),
                currents: Currents::to_neutral(self.currents[i].iter().map(|a| a * lag).collect()),
                choices: vec![0, 1, 2],
                current: Some(self.phases[i]),
                moves: 1,
            })
            .collect();
        Problem::new(
            self.currents[0].len(),
            units,
            ProblemNode::default(),
            Vec::new(),
            Vec::new(),
        )
        .expect("a sound problem")
    }
}

#[expect(clippy::print_stderr, reason = "a skipped test must say so")]
fn writeln_skipped(folder: &str) {
    eprintln!("skipped: {folder} is not there");
}
