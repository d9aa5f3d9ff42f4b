//! Invented workshops: a list that knows no phase, a day's log of the supply in minutes or rounds of clamp readings, and
//! each machine switched on and off once on purpose while the others work.

use std::fmt::Write as _;

use message::Messages;
use metering::{Period, read_logs};
use num_complex::Complex64;
use phases::{PhaseStatus, identify};
use simulated::Dice;
use site::read_site;

use super::Calibration;

/// Simulated steps of time. (s)
const STEP_S: usize = 20;
const STEPS: usize = 86_400 / STEP_S;
/// Machines on a circuit.
const ON_CIRCUIT: usize = 4;

/// What is known besides the list.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Seen {
    /// A switching test of each machine, in the log.
    Tests,
    /// So many rounds of readings of every circuit.
    Rounds(usize),
    /// A switching test of each machine between two rounds of its circuit.
    TestsByClamp,
    /// The log of the supply alone, so many days; half of the machines have a schedule.
    LogAlone(usize),
}

impl Seen {
    fn days(self) -> usize {
        match self {
            Seen::LogAlone(days) => days,
            _ => 1,
        }
    }
}

struct Machine {
    /// As on its plate. (kW)
    rated_kw: f64,
    factor: f64,
    /// Complex power while on. (kVA)
    power: Complex64,
    /// 0 to 2: to neutral; 3 to 5: between two phases.
    connection: usize,
    on: Vec<bool>,
    /// The step of its test: on, and off fifteen steps later.
    test: usize,
    /// Schedule of the list, from the first hour to the last.
    hours: Option<(usize, usize)>,
}

/// Schedules of workshops with a log alone.
const HOURS: [(usize, usize); 4] = [(7, 16), (6, 12), (13, 20), (19, 23)];

const CONNECTIONS: [&str; 6] = ["L1", "L2", "L3", "L1-L2", "L2-L3", "L3-L1"];

impl Machine {
    fn new(dice: &mut Dice, index: usize, seen: Seen) -> Machine {
        let rated_kw = (dice.scale(0.4, 6.0) * 20.0).ceil() / 20.0;
        let factor = (dice.between(0.7, 1.0) * 100.0).round() / 100.0;
        let kw = rated_kw * (0.15 * dice.normal()).exp();
        let true_factor = (factor + 0.03 * dice.normal()).clamp(0.5, 1.0);
        let lag = (1.0 - true_factor * true_factor).sqrt() / true_factor;
        let connection = if dice.share() < 0.1 { 3 } else { 0 } + (dice.share() * 3.0) as usize;
        let mut on = vec![false; STEPS * seen.days()];
        let (stays_on, stays_off) = (dice.scale(3.0, 400.0), dice.scale(30.0, 1500.0));
        let mut now = dice.share() < 0.3;
        for on in &mut on {
            let leaves = if now { stays_on } else { stays_off };
            now ^= dice.share() < 1.0 / leaves;
            *on = now;
        }
        // Off before the test, on for five minutes, off again.
        let test = 30 * 60 * 60 / (4 * STEP_S) + index * 36 + (dice.share() * 3.0) as usize;
        let mut hours = None;
        if let Seen::LogAlone(_) = seen {
            hours = (dice.share() < 0.5).then(|| HOURS[(dice.share() * 4.0) as usize]);
            let inside = |step: usize| {
                let hour = step * STEP_S / 3600 % 24;
                hours.is_none_or(|(from, to)| (from..to).contains(&hour))
            };
            for (step, on) in on.iter_mut().enumerate() {
                *on &= inside(step);
            }
        } else {
            on[test - 9..test + 24].fill(false);
            on[test..test + 15].fill(true);
        }
        Machine {
            rated_kw,
            factor,
            power: Complex64::new(kw, kw * lag),
            connection,
            on,
            test,
            hours,
        }
    }

    /// Complex power on each phase while on. (kVA)
    fn phases(&self) -> [Complex64; 3] {
        let mut of = [Complex64::ZERO; 3];
        if self.connection < 3 {
            of[self.connection] = self.power;
        } else {
            // I = (S/U_12)* leaves by the first and returns by the second; U_12 = √3·U_1∠30°.
            let first = self.connection - 3;
            let turn = Complex64::from_polar(3.0_f64.sqrt().recip(), -std::f64::consts::PI / 6.0);
            of[first] = self.power * turn;
            of[(first + 1) % 3] = self.power * turn.conj();
        }
        of
    }
}

fn clock(step: usize) -> String {
    let seconds = step * STEP_S;
    format!(
        "2026-03-{:02} {:02}:{:02}",
        9 + seconds / 86_400,
        seconds / 3600 % 24,
        seconds / 60 % 60
    )
}

/// The folder's files and the true connections.
fn shop(seed: u64, count: usize, seen: Seen) -> (tempfile::TempDir, Vec<usize>) {
    let mut dice = Dice::new(seed.wrapping_mul(104_729).wrapping_add(7));
    let machines: Vec<Machine> = (0..count)
        .map(|index| Machine::new(&mut dice, index, seen))
        .collect();
    // A fifth as many that nobody listed, or as many as `UNLISTED` says.
    let unlisted = std::env::var("UNLISTED").ok();
    let unlisted = unlisted.and_then(|text| text.parse().ok());
    let others: Vec<Machine> = (0..unlisted.unwrap_or(count / 5))
        .map(|index| Machine::new(&mut dice, index, seen))
        .collect();
    let mut site = String::from(
        "[site]\nname = \"Shop\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = 400\n",
    );
    for circuit in 0..count.div_ceil(ON_CIRCUIT) {
        let _ = write!(
            site,
            "[[circuit]]\nid = \"C{circuit}\"\nboard = \"supply\"\n"
        );
    }
    let mut list = String::from(
        "machine,circuit,connection,power_kw,power_factor,utilisation_factor,schedule\n",
    );
    for (from, to) in HOURS {
        let _ = write!(
            site,
            "[[schedule]]\nname = \"from {from}\"\ndays = \"Mon-Sun\"\nfrom = \"{from:02}:00\"\nto = \"{to:02}:00\"\n"
        );
    }
    for (index, machine) in machines.iter().enumerate() {
        let used = machine.on.iter().filter(|on| **on).count() as f64 / machine.on.len() as f64;
        let schedule = machine
            .hours
            .map_or(String::new(), |(from, _)| format!("from {from}"));
        let _ = writeln!(
            list,
            "M{index},C{},unknown,{},{},{:.2},{schedule}",
            index / ON_CIRCUIT,
            machine.rated_kw,
            machine.factor,
            used.clamp(0.05, 1.0)
        );
    }
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| {
        std::fs::write(folder.path().join(name), text).expect("written");
    };
    let at = |step: usize, members: &mut dyn Iterator<Item = &Machine>| {
        let mut sums = [Complex64::ZERO; 3];
        for machine in members.filter(|machine| machine.on[step]) {
            for (sum, own) in sums.iter_mut().zip(machine.phases()) {
                *sum += own;
            }
        }
        sums
    };
    match seen {
        Seen::Tests | Seen::LogAlone(_) => {
            site.push_str("[[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"main.csv\"\nstamp = \"start\"\n");
            let mut log = String::from(
                "time,active_power_l1_kw,active_power_l2_kw,active_power_l3_kw,reactive_power_l1_kvar,reactive_power_l2_kvar,reactive_power_l3_kvar\n",
            );
            for minute in 0..1440 * seen.days() {
                let mut mean = [Complex64::ZERO; 3];
                for step in 3 * minute..3 * minute + 3 {
                    let sums = at(step, &mut machines.iter().chain(&others));
                    for (mean, sum) in mean.iter_mut().zip(sums) {
                        *mean += sum / 3.0;
                    }
                }
                let mut read = || 1.0 + 0.002 * dice.normal();
                let parts: Vec<f64> = mean.iter().map(|one| one.re * read()).collect();
                let reactive: Vec<f64> = mean.iter().map(|one| one.im * read()).collect();
                let _ = write!(log, "{}", clock(3 * minute));
                for value in parts.iter().chain(&reactive) {
                    let _ = write!(log, ",{value:.2}");
                }
                log.push('\n');
            }
            write("main.csv", &log);
            if seen != Seen::Tests {
                write("site.toml", &site);
                write("machines.csv", &list);
                return (
                    folder,
                    machines.iter().map(|machine| machine.connection).collect(),
                );
            }
            let mut tests = String::from("time,machine,state\n");
            for (index, machine) in machines.iter().enumerate() {
                // The watch is up to 40 s off.
                let watch = |dice: &mut Dice| (dice.share() * 5.0) as usize;
                let on = machine.test + watch(&mut dice) - 2;
                let off = machine.test + 15 + watch(&mut dice) - 2;
                let _ = writeln!(
                    tests,
                    "{},M{index},on\n{},M{index},off",
                    clock(on),
                    clock(off)
                );
            }
            write("switching.csv", &tests);
        }
        Seen::Rounds(_) | Seen::TestsByClamp => {
            let mut readings = String::from("time,at,l1_a,l2_a,l3_a,round\n");
            let mut tests = String::from("time,machine,state\n");
            let mut read = |step: usize, circuit: usize, round: usize| {
                let from = circuit * ON_CIRCUIT;
                let members = &machines[from..(from + ON_CIRCUIT).min(count)];
                let sums = at(step, &mut members.iter());
                let amps: Vec<String> = sums
                    .iter()
                    .map(|sum| {
                        let amps = sum.norm() * 1000.0 / (400.0 / 3.0_f64.sqrt());
                        let error = (0.02 * amps + 0.3) / 1.96 * dice.normal();
                        format!("{:.1}", (amps + error).max(0.0))
                    })
                    .collect();
                let _ = writeln!(
                    readings,
                    "{},C{circuit},{},{round}",
                    clock(step),
                    amps.join(",")
                );
            };
            if let Seen::Rounds(rounds) = seen {
                for round in 0..rounds {
                    for circuit in 0..count.div_ceil(ON_CIRCUIT) {
                        read(1200 + 240 * round + 3 * circuit, circuit, round);
                    }
                }
            } else {
                for (index, machine) in machines.iter().enumerate() {
                    read(machine.test - 6, index / ON_CIRCUIT, 2 * index);
                    read(machine.test + 9, index / ON_CIRCUIT, 2 * index + 1);
                    let _ = writeln!(tests, "{},M{index},on", clock(machine.test));
                }
                write("switching.csv", &tests);
            }
            write("readings.csv", &readings);
        }
    }
    write("site.toml", &site);
    write("machines.csv", &list);
    (
        folder,
        machines.iter().map(|machine| machine.connection).collect(),
    )
}

#[test]
#[ignore = "a long trial, by hand"]
#[expect(clippy::print_stdout, reason = "the trial's table is for reading")]
fn workshops() {
    let shops = std::env::var("SHOPS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(30);
    let only = std::env::var("SEEN").unwrap_or_default();
    for seen in [
        Seen::Tests,
        Seen::TestsByClamp,
        Seen::Rounds(3),
        Seen::Rounds(10),
        Seen::LogAlone(5),
        Seen::LogAlone(14),
    ] {
        if !format!("{seen:?}").contains(&only) {
            continue;
        }
        let mut calibration = Calibration::default();
        let (mut right, mut wrong, mut open, mut settled_wrong) = (0, 0, 0, 0);
        for seed in 1..=shops {
            let (folder, truth) = shop(seed, 20, seen);
            let (site, _) = read_site(folder.path()).expect("a sound site");
            let mut messages = Messages::new();
            let logs = read_logs(&site, Period::default(), &mut messages);
            assert!(!messages.has_errors(), "{messages:?}");
            for (load, truth) in identify(&site, &logs).loads.iter().zip(truth) {
                let first = load.options[0];
                let is_right = first.connection.name() == CONNECTIONS[truth];
                match load.status {
                    PhaseStatus::NotMeasured => open += 1,
                    _ if is_right => right += 1,
                    _ => wrong += 1,
                }
                if load.status != PhaseStatus::NotMeasured {
                    calibration.0.push((first.probability, is_right));
                    settled_wrong += usize::from(load.is_settled() && !is_right);
                }
            }
        }
        println!(
            "{seen:?}: right {right}, wrong {wrong}, not measured {open}, found and wrong {settled_wrong};{}",
            calibration.text()
        );
        // What is called found is wrong in a twentieth of the cases at most, by its own probability.
        let found = calibration.0.iter().filter(|one| one.0 >= 0.95).count();
        assert!(
            20 * settled_wrong <= found.max(20),
            "{settled_wrong} of {found}"
        );
    }
}
