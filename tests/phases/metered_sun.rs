//! The feeder with a photovoltaic system that has a meter: its log takes part in the comparison, whatever way its meter
//! counts, so that clouds are not taken for loads.

use std::fmt::Write as _;

use message::Messages;
use metering::{Period, read_logs};
use phases::identify;
use simulated::Dice;
use site::read_site;

use super::metered_shops::sun;
use super::{Calibration, Feeder, averaged, metered};

/// How the system is connected, and how its meter counts.
#[derive(Clone, Copy, Debug)]
struct System {
    /// On one phase, in the list as unknown, or on all three.
    phase: Option<usize>,
    /// Power at noon, all phases together. (kW)
    peak_kw: f64,
    /// What it makes is positive, as the meters of inverters have it.
    counts_up: bool,
    /// Without a log and without a row in the list, to compare with.
    is_seen: bool,
}

/// A day of means over so many minutes, meters of class 1: a folder as a user has it.
fn folder(feeder: &Feeder, over: usize, system: System, seed: u64) -> tempfile::TempDir {
    let mut dice = Dice::new(seed.wrapping_mul(48_271).wrapping_add(5));
    let minutes = feeder.powers[0].len();
    let sun = sun(&mut dice, system.peak_kw);
    let mut supply = vec![vec![0.0; minutes]; 3];
    for (load, &phase) in feeder.powers.iter().zip(&feeder.phases) {
        for (sum, kw) in supply[phase].iter_mut().zip(load) {
            *sum += kw;
        }
    }
    for (k, phase) in supply.iter_mut().enumerate() {
        let share = match system.phase {
            Some(only) => f64::from(u8::from(only == k)),
            // Inverters are even to within a per cent or two.
            None => (1.0 + 0.01 * dice.normal()) / 3.0,
        };
        for (sum, kw) in phase.iter_mut().zip(&sun) {
            *sum += share * kw;
        }
    }
    let read = |series: &[f64], dice: &mut Dice| metered(&averaged(series, over, 0.0), 1.0, dice);
    let mut columns: Vec<(String, Vec<f64>)> = (0..3)
        .map(|k| (format!("P{}", k + 1), read(&supply[k], &mut dice)))
        .collect();
    for (load, series) in feeder.powers.iter().enumerate() {
        columns.push((format!("H{load}"), read(series, &mut dice)));
    }
    let sign = if system.counts_up { -1.0 } else { 1.0 };
    let own = read(&sun, &mut dice);
    columns.push(("PV".to_owned(), own.iter().map(|kw| sign * kw).collect()));

    let mut log = String::from("time");
    for (name, _) in &columns {
        let _ = write!(log, ",{name}");
    }
    for row in 0..minutes / over {
        let minute = row * over;
        let _ = write!(log, "\n2026-06-10 {:02}:{:02}", minute / 60, minute % 60);
        for (_, values) in &columns {
            let _ = write!(log, ",{:.3}", values[row]);
        }
    }
    let mut site = String::from(
        "[site]\nname = \"Feeder\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = 400\n\
         [[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"log.csv\"\nstamp = \"start\"\nclass = \"1\"\n\
         columns = { active_power_l1_kw = \"P1\", active_power_l2_kw = \"P2\", active_power_l3_kw = \"P3\" }\n",
    );
    let mut list = String::from("machine,circuit,connection,power_kw,role,meter\n");
    let mut machine = |name: &str, connection: &str, kw: f64, role: &str| {
        let _ = write!(
            site,
            "[[meter]]\nid = \"m{name}\"\nmeasures = \"{name}\"\nfiles = \"log.csv\"\nstamp = \"start\"\nclass = \"1\"\n\
             columns = {{ active_power_kw = \"{name}\" }}\n"
        );
        let _ = writeln!(list, "{name},supply,{connection},{kw},{role},m{name}");
    };
    for load in 0..feeder.powers.len() {
        machine(&format!("H{load}"), "unknown", 5.0, "load");
    }
    if system.is_seen {
        let connection = if system.phase.is_some() {
            "unknown"
        } else {
            "3ph"
        };
        machine("PV", connection, system.peak_kw, "generation");
    }
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| {
        std::fs::write(folder.path().join(name), text).expect("written");
    };
    write("site.toml", &site);
    write("machines.csv", &list);
    write("log.csv", &log);
    folder
}

/// How many of the 55 loads are right, whether the system itself is, and what was said with which probability.
fn right(
    feeder: &Feeder,
    over: usize,
    system: System,
    seed: u64,
    calibration: &mut Calibration,
) -> (usize, Option<bool>) {
    let folder = folder(feeder, over, system, seed);
    let (site, _) = read_site(folder.path()).expect("a sound site");
    let mut messages = Messages::new();
    let logs = read_logs(&site, Period::default(), &mut messages);
    assert!(!messages.has_errors(), "{messages:?}");
    let loads = identify(&site, &logs).loads;
    let names = ["L1", "L2", "L3"];
    let mut count = 0;
    for (load, &phase) in loads.iter().zip(&feeder.phases) {
        let first = load.options[0];
        let is_right = first.connection.name() == names[phase];
        count += usize::from(is_right);
        calibration.0.push((first.probability, is_right));
    }
    let own = system
        .phase
        .filter(|_| system.is_seen)
        .map(|phase| loads[feeder.powers.len()].options[0].connection.name() == names[phase]);
    (count, own)
}

/// Quarter-hours of a day with 10 kW of sun on each phase, or on one: nearly all loads are right whichever way the
/// system's meter counts.
#[test]
fn a_metered_system_does_not_hide_the_loads() {
    let Some(feeder) = Feeder::read() else { return };
    for (phase, peak_kw) in [(None, 30.0), (Some(1), 10.0)] {
        for counts_up in [true, false] {
            let system = System {
                phase,
                peak_kw,
                counts_up,
                is_seen: true,
            };
            let mut calibration = Calibration::default();
            let (count, own) = right(&feeder, 15, system, 1, &mut calibration);
            assert!(count >= 53, "{count} of 55, {system:?}");
            assert_ne!(own, Some(false), "{system:?}");
        }
    }
}

#[test]
#[ignore = "a trial of some minutes, by hand"]
#[expect(clippy::print_stdout, reason = "the trial's table is for reading")]
fn metered_sun() {
    let Some(feeder) = Feeder::read() else { return };
    let seeds: u64 = std::env::var("SEEDS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(20);
    for over in [1, 5, 15, 30] {
        for (phase, peak_kw) in [(None, 30.0), (Some(1), 10.0)] {
            for is_seen in [true, false] {
                let system = System {
                    phase,
                    peak_kw,
                    counts_up: true,
                    is_seen,
                };
                let mut calibration = Calibration::default();
                let (mut sum, mut fewest, mut placed) = (0, 55, 0);
                for seed in 1..=seeds {
                    let (count, own) = right(&feeder, over, system, seed, &mut calibration);
                    sum += count;
                    fewest = fewest.min(count);
                    placed += u64::from(own == Some(true));
                }
                println!(
                    "{over:>2} min, sun {peak_kw} kW {}, {}: right {:.2} fewest {fewest}, the system itself {};{}",
                    if phase.is_some() {
                        "on one phase"
                    } else {
                        "on three phases"
                    },
                    if is_seen { "metered" } else { "not metered" },
                    sum as f64 / seeds as f64,
                    if phase.is_some() && is_seen {
                        format!("{placed} of {seeds}")
                    } else {
                        "–".to_owned()
                    },
                    calibration.text()
                );
            }
        }
    }
}
