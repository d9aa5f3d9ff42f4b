//! Loads whose meter logs a voltage and no power: which of the supply's phases it follows.

use std::fmt::Write as _;

use message::Messages;
use metering::{Period, read_logs};
use phases::{PhaseStatus, identify};
use simulated::Dice;
use site::read_site;

use super::Calibration;

/// A supply whose phases share most of their movement, and a meter of a load behind a cable: its own drop, a gain within its
/// class (0.5 %), a scatter from reading to reading, a clock up to two minutes late.
fn shop(seed: u64, over: usize, days: usize) -> (tempfile::TempDir, usize) {
    let mut dice = Dice::new(seed.wrapping_mul(7_368_787).wrapping_add(5));
    let minutes = 1440 * days;
    let truth = (dice.share() * 3.0) as usize;
    let (mut common, mut apart) = (0.0, [0.0; 3]);
    let volts: Vec<[f64; 3]> = (0..minutes)
        .map(|_| {
            common = 0.99 * common + 0.4 * dice.normal();
            for one in &mut apart {
                // Loads of one phase switch now and then.
                let step = if dice.share() < 0.05 { 1.5 } else { 0.1 };
                *one = 0.97 * *one + step * dice.normal();
            }
            apart.map(|one| 236.0 + common + one)
        })
        .collect();
    let late = (dice.share() * 3.0) as usize;
    let gain = 1.0 + 0.0025 * dice.normal();
    let mut on = false;
    let mut own = Vec::with_capacity(minutes);
    for minute in 0..minutes {
        on ^= dice.share() < 0.02;
        let drop = if on { 2.0 } else { 0.0 };
        own.push((volts[(minute + late).min(minutes - 1)][truth] - drop) * gain);
    }
    let mut main = String::from("time,U1,U2,U3,I1,I2,I3,P1,P2,P3\n");
    let mut sub = String::from("time,U\n");
    for block in 0..minutes / over {
        let minute = block * over;
        let stamp = format!(
            "2026-03-{:02} {:02}:{:02}",
            9 + minute / 1440,
            minute / 60 % 24,
            minute % 60
        );
        let mean =
            |of: &dyn Fn(usize) -> f64| (minute..minute + over).map(of).sum::<f64>() / over as f64;
        let [a, b, c] = [0, 1, 2].map(|k: usize| mean(&|at| volts[at][k]));
        let _ = writeln!(main, "{stamp},{a:.1},{b:.1},{c:.1},4,4,4,0.9,0.9,0.9");
        let read = mean(&|at| own[at]) + 0.2 * dice.normal();
        let _ = writeln!(sub, "{stamp},{read:.1}");
    }
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| {
        std::fs::write(folder.path().join(name), text).expect("written");
    };
    write("main.csv", &main);
    write("sub.csv", &sub);
    write(
        "machines.csv",
        "machine,circuit,connection,power_kw\nheater,supply,unknown,2\n",
    );
    write(
        "site.toml",
        r#"[site]
name = "Shop"
[supply]
line_voltage_v = 400
phase_limit_a = 63
[[meter]]
id = "main"
measures = "supply"
files = "main.csv"
[meter.columns]
voltage_l1_v = "U1"
voltage_l2_v = "U2"
voltage_l3_v = "U3"
current_l1_a = "I1"
current_l2_a = "I2"
current_l3_a = "I3"
active_power_l1_kw = "P1"
active_power_l2_kw = "P2"
active_power_l3_kw = "P3"
[[meter]]
id = "sub"
measures = "heater"
files = "sub.csv"
[meter.columns]
voltage_l1_v = "U"
"#,
    );
    (folder, truth)
}

fn trial(shops: u64, over: usize, days: usize) -> Calibration {
    let mut calibration = Calibration::default();
    for seed in 1..=shops {
        let (folder, truth) = shop(seed, over, days);
        let (site, _) = read_site(folder.path()).expect("a sound site");
        let mut messages = Messages::new();
        let logs = read_logs(&site, Period::default(), &mut messages);
        assert!(!messages.has_errors(), "{messages:?}");
        let found = identify(&site, &logs);
        let load = &found.loads[0];
        if load.status != PhaseStatus::NotMeasured {
            let right = load.options[0].connection.name() == ["L1", "L2", "L3"][truth];
            calibration.0.push((load.options[0].probability, right));
        }
    }
    calibration
}

/// Five minutes for a day: nearly all loads are found by their voltage, and what is found is right.
#[test]
fn a_voltage_shows_the_phase_of_its_load() {
    let found = trial(8, 5, 1);
    assert!(found.0.len() >= 7, "{}", found.text());
    let certain = found.0.iter().filter(|one| one.0 >= 0.95);
    assert!(certain.clone().all(|one| one.1), "{}", found.text());
    assert!(certain.count() >= 6, "{}", found.text());
}

#[test]
#[ignore = "a trial of some minutes, by hand"]
#[expect(clippy::print_stdout, reason = "the trial's table is for reading")]
fn voltage_shops() {
    for (over, days) in [(1, 1), (5, 1), (15, 1), (15, 5), (30, 1), (30, 5)] {
        let found = trial(100, over, days);
        let right = found.0.iter().filter(|one| one.1).count();
        println!(
            "{over} min, {days} days: {right} right of {} judged, of 100;{}",
            found.0.len(),
            found.text()
        );
    }
}
