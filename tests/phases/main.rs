//! Loads whose phases are hidden, found again: those of a published feeder from their meters and the supply's, those of
//! invented workshops from switching tests and clamp readings.

mod metered_shops;
mod metered_sun;
mod supply_alone;
mod voltage_shops;
mod workshop;

use std::fmt::Write as _;
use std::path::PathBuf;

use phases::changes::{PowerRecord, RecordedLoad, TrialConnection, estimate};
use simulated::Dice;
use statistics::LeastSquares;

/// The European Low Voltage Test Feeder (IEEE PES): 55 loads, their phases, and a day of minutes. (kW)
struct Feeder {
    phases: Vec<usize>,
    powers: Vec<Vec<f64>>,
}

impl Feeder {
    fn read() -> Option<Feeder> {
        let named = std::env::var_os("TAPOFF_SHARED").map(PathBuf::from);
        let folder = named
            .clone()
            .unwrap_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared"))
            .join("data/european-lv");
        if !folder.exists() {
            assert!(
                named.is_none(),
                "TAPOFF_SHARED is set, but {} is not there",
                folder.display()
            );
            return None;
        }
        let machines = std::fs::read_to_string(folder.join("machines.csv")).ok()?;
        let loads = std::fs::read_to_string(folder.join("meters/loads.csv")).ok()?;
        let phase = |line: &str| match line.split(',').nth(2) {
            Some("L1") => 0,
            Some("L2") => 1,
            _ => 2,
        };
        let phases: Vec<usize> = machines.lines().skip(1).map(phase).collect();
        let mut powers = vec![Vec::new(); phases.len()];
        for line in loads.lines().skip(1) {
            for (series, cell) in powers.iter_mut().zip(line.split(',').skip(1)) {
                series.push(cell.parse().expect("a power"));
            }
        }
        Some(Feeder { phases, powers })
    }
}

/// How a trial's meters and supply are.
#[derive(Clone, Copy, Debug)]
struct Setting {
    minutes: usize,
    class: f64,
    unmetered: f64,
    offset_s: f64,
    hours: usize,
}

/// Errors of a meter of a class (IEC 62053-21): a gain within the class, and a scatter of a fifth of it from one
/// reading to the next; readings in watts.
fn metered(true_kw: &[f64], class: f64, dice: &mut Dice) -> Vec<f64> {
    let gain = 1.0 + class / 100.0 * (dice.normal() / 2.0).clamp(-1.0, 1.0);
    true_kw
        .iter()
        .map(|kw| {
            let scatter = 1.0 + class / 500.0 * dice.normal();
            (kw * gain * scatter * 1000.0).round() / 1000.0
        })
        .collect()
}

/// Means over so many minutes of a series that is read so many minutes late.
fn averaged(minutes: &[f64], over: usize, late: f64) -> Vec<f64> {
    let last = minutes.len() as i64 - 1;
    let at = |minute: i64| minutes[minute.clamp(0, last) as usize];
    let whole = late.floor();
    let part = late - whole;
    let shifted: Vec<f64> = (0..minutes.len() as i64)
        .map(|minute| {
            let first = minute + whole as i64;
            (1.0 - part) * at(first) + part * at(first + 1)
        })
        .collect();
    shifted
        .chunks_exact(over)
        .map(|chunk| chunk.iter().sum::<f64>() / over as f64)
        .collect()
}

/// The record of one trial, and the phases that it hides.
fn trial(feeder: &Feeder, setting: Setting, seed: u64) -> PowerRecord {
    let mut dice = Dice::new(seed.wrapping_mul(7919).wrapping_add(31));
    let minutes = feeder.powers[0].len();
    let mut supply = vec![vec![0.0; minutes]; 3];
    for (load, &phase) in feeder.powers.iter().zip(&feeder.phases) {
        for (sum, kw) in supply[phase].iter_mut().zip(load) {
            *sum += kw;
        }
    }
    // Loads without a meter: others' profiles at another time of day, on any phase, until their part is reached.
    let total: f64 = supply.iter().flatten().sum();
    let wanted = total * setting.unmetered / (1.0 - setting.unmetered);
    let mut reached = 0.0;
    while reached < wanted {
        let profile = &feeder.powers[(dice.share() * 55.0) as usize];
        let shift = (dice.share() * minutes as f64) as usize;
        let phase = (dice.share() * 3.0) as usize;
        let own: f64 = profile.iter().sum();
        let part = ((wanted - reached) / own).min(1.0);
        for (minute, sum) in supply[phase].iter_mut().enumerate() {
            *sum += part * profile[(minute + shift) % minutes];
        }
        reached += part * own;
    }
    let from = 17 * 60 - setting.hours.min(17) * 60;
    let window = if setting.hours >= 24 {
        0..minutes
    } else {
        from..from + setting.hours * 60
    };
    let single = |values: Vec<f64>| values.into_iter().map(|kw| kw as f32).collect();
    let supply: Vec<Vec<f32>> = supply
        .iter()
        .map(|phase| {
            let read = averaged(&phase[window.clone()], setting.minutes, 0.0);
            single(metered(&read, setting.class, &mut dice))
        })
        .collect();
    let loads = feeder
        .powers
        .iter()
        .map(|load| {
            let late = setting.offset_s / 60.0 * dice.between(-1.0, 1.0);
            let read = averaged(&load[window.clone()], setting.minutes, late);
            let read = metered(&read, setting.class, &mut dice);
            RecordedLoad {
                series: vec![single(read)],
                connections: to_neutral(),
                gain_error: setting.class / 100.0,
                own_clock: setting.offset_s > 0.0,
            }
        })
        .collect();
    let rows = supply[0].len();
    PowerRecord {
        step_s: setting.minutes as f64 * 60.0,
        runs: std::iter::once(0..rows).collect(),
        supply,
        loads,
    }
}

fn changes(series: &[f32]) -> Vec<f64> {
    series
        .windows(2)
        .map(|pair| f64::from(pair[1] - pair[0]))
        .collect()
}

/// The phase whose changes correlate most with those of the load.
fn by_correlation(record: &PowerRecord) -> Vec<usize> {
    let supply: Vec<Vec<f64>> = record.supply.iter().map(|one| changes(one)).collect();
    record
        .loads
        .iter()
        .map(|load| {
            let own = changes(&load.series[0]);
            let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
            largest([0, 1, 2].map(|phase| {
                product(&own, &supply[phase]) / product(&supply[phase], &supply[phase]).sqrt()
            }))
        })
        .collect()
}

/// The phase with the largest coefficient, each phase fitted by all loads; `None` where there are too few intervals.
fn by_least_squares(record: &PowerRecord) -> Option<Vec<usize>> {
    let columns: Vec<Vec<f64>> = record
        .loads
        .iter()
        .map(|load| changes(&load.series[0]))
        .collect();
    let fits: Vec<LeastSquares> = record
        .supply
        .iter()
        .map(|phase| LeastSquares::fit(&columns, &changes(phase)))
        .collect::<Option<_>>()?;
    let of =
        |load: usize| [0, 1, 2].map(|phase: usize| fits[phase].coefficients()[load].unwrap_or(0.0));
    Some((0..columns.len()).map(|load| largest(of(load))).collect())
}

fn largest(of: [f64; 3]) -> usize {
    (0..3).fold(0, |best, at| if of[at] > of[best] { at } else { best })
}

/// How often what is said with a probability is true.
#[derive(Clone, Debug, Default)]
struct Calibration(Vec<(f64, bool)>);

impl Calibration {
    fn text(&self) -> String {
        let mut text = String::new();
        for (low, high) in [
            (0.0, 0.5),
            (0.5, 0.7),
            (0.7, 0.85),
            (0.85, 0.95),
            (0.95, 0.99),
            (0.99, 0.999),
            (0.999, 1.1),
        ] {
            let own: Vec<&(f64, bool)> = self
                .0
                .iter()
                .filter(|one| one.0 >= low && one.0 < high)
                .collect();
            if !own.is_empty() {
                let said = own.iter().map(|one| one.0).sum::<f64>() / own.len() as f64;
                let right = own.iter().filter(|one| one.1).count();
                let _ = write!(
                    text,
                    " {:.3}→{:.3} ({})",
                    said,
                    right as f64 / own.len() as f64,
                    own.len()
                );
            }
        }
        text
    }
}

fn measure(feeder: &Feeder, setting: Setting, seeds: u64) -> (String, Calibration) {
    let mut calibration = Calibration::default();
    let (mut right, mut all, mut plain, mut squares, mut fewest) = (0, 0, 0, Some(0), 55);
    let started = std::time::Instant::now();
    for seed in 1..=seeds {
        let record = trial(feeder, setting, seed);
        let found = estimate(&record, seed).expect("intervals");
        let count = |phases: &[usize]| {
            phases
                .iter()
                .zip(&feeder.phases)
                .filter(|(a, b)| a == b)
                .count()
        };
        let mut own = 0;
        for (load, &truth) in found.loads.iter().zip(&feeder.phases) {
            let p = [0, 1, 2].map(|k: usize| load.probabilities[k]);
            let best = largest(p);
            own += usize::from(best == truth);
            calibration.0.push((p[best], best == truth));
        }
        right += own;
        fewest = fewest.min(own);
        all += usize::from(own == 55);
        plain += count(&by_correlation(&record));
        squares = squares.and_then(|sum| Some(sum + count(&by_least_squares(&record)?)));
    }
    // All changes at once say no less than each load's alone.
    assert!(right >= plain, "{right} against {plain}, {setting:?}");
    let mean = |sum: usize| sum as f64 / seeds as f64;
    let squares = squares.map_or_else(|| "–".to_owned(), |sum| format!("{:.1}", mean(sum)));
    let row = format!(
        "{:>3} min {:>3} h class {:<3} {:>3.0} % unmetered offset {:>3.0} s: right {:.2} fewest {fewest} all in {all}/{seeds}, correlation {:.1}, least squares {squares}, {:.2} s each",
        setting.minutes,
        setting.hours,
        setting.class,
        100.0 * setting.unmetered,
        setting.offset_s,
        mean(right),
        mean(plain),
        started.elapsed().as_secs_f64() / seeds as f64
    );
    (row, calibration)
}

/// A day of quarter-hours, meters of class 1, a tenth unmetered: nearly all are right, and what is said to be certain is.
#[test]
fn quarter_hours_of_a_day_show_nearly_all_phases() {
    let Some(feeder) = Feeder::read() else { return };
    let setting = Setting {
        minutes: 15,
        class: 1.0,
        unmetered: 0.1,
        offset_s: 0.0,
        hours: 24,
    };
    for seed in [1, 2] {
        let found = estimate(&trial(&feeder, setting, seed), seed).expect("intervals");
        let mut right = 0;
        for (load, &truth) in found.loads.iter().zip(&feeder.phases) {
            let best = largest([0, 1, 2].map(|k: usize| load.probabilities[k]));
            right += usize::from(best == truth);
            assert!(best == truth || load.probabilities[best] < 0.99, "{load:?}");
        }
        assert!(right >= 53, "{right} of 55");
    }
}

#[test]
#[ignore = "a long trial, by hand"]
#[expect(clippy::print_stdout, reason = "the trial's table is for reading")]
fn feeder_table() {
    let Some(feeder) = Feeder::read() else { return };
    let number = |name: &str, default: f64| {
        std::env::var(name)
            .ok()
            .and_then(|text| text.parse().ok())
            .unwrap_or(default)
    };
    let seeds = number("SEEDS", 20.0) as u64;
    let list = |name: &str, default: &str| -> Vec<f64> {
        let text = std::env::var(name).unwrap_or_else(|_| default.to_owned());
        text.split(',')
            .map(|one| one.parse().expect("a number"))
            .collect()
    };
    let mut total = Calibration::default();
    for hours in list("HOURS", "24") {
        for minutes in list("MINUTES", "1,5,15,30") {
            for class in list("CLASS", "0.5,1,2") {
                for unmetered in list("UNMETERED", "0,0.1,0.3") {
                    for offset_s in list("OFFSET", "0,120") {
                        let setting = Setting {
                            minutes: minutes as usize,
                            class,
                            unmetered,
                            offset_s,
                            hours: hours as usize,
                        };
                        let (row, calibration) = measure(&feeder, setting, seeds);
                        println!("{row}\n     {}", calibration.text());
                        total.0.extend(calibration.0);
                    }
                }
            }
        }
    }
    println!("all: {}", total.text());
}

/// 240 loads that switch at random and a year of minutes: the answer and the time that it takes.
#[test]
#[ignore = "two minutes and 1 GB, by hand"]
#[expect(clippy::print_stdout, reason = "the time is for reading")]
fn a_year_of_minutes() {
    const ROWS: usize = 365 * 1440;
    let number = |name: &str, default: usize| {
        let text = std::env::var(name).ok();
        text.and_then(|text| text.parse().ok()).unwrap_or(default)
    };
    let count = number("LOADS", 240);
    let mut dice = Dice::new(11);
    let mut supply = vec![vec![0.0_f32; ROWS]; 3];
    let mut truth = Vec::new();
    let loads: Vec<RecordedLoad> = (0..count)
        .map(|load| {
            let phase = load * 7 % 3;
            truth.push(phase);
            let (kw, often) = (dice.scale(0.3, 6.0), dice.scale(0.002, 0.05));
            let mut on = false;
            let mut unmetered = false;
            let series: Vec<f32> = supply[phase]
                .iter_mut()
                .map(|sum| {
                    on ^= dice.share() < often;
                    unmetered ^= dice.share() < often;
                    let drawn = if on { kw } else { 0.01 };
                    // A tenth as much again that has no meter.
                    *sum += (drawn + if unmetered { 0.1 * kw } else { 0.0 }) as f32;
                    (drawn * (1.0 + 0.01 * dice.between(-1.0, 1.0))) as f32
                })
                .collect();
            RecordedLoad {
                series: vec![series],
                connections: to_neutral(),
                gain_error: 0.01,
                own_clock: true,
            }
        })
        .collect();
    let record = PowerRecord {
        step_s: 60.0,
        runs: std::iter::once(0..ROWS).collect(),
        supply,
        loads,
    };
    let started = std::time::Instant::now();
    let found = estimate(&record, 1).expect("intervals");
    let seconds = started.elapsed().as_secs_f64();
    let best = |load: usize| largest([0, 1, 2].map(|k: usize| found.loads[load].probabilities[k]));
    let right = (0..count).filter(|&load| best(load) == truth[load]).count();
    println!(
        "{right} of {count} right in {seconds:.1} s, {} intervals",
        found.rows
    );
    assert_eq!(right, count);
}

/// The three phases, all alike.
fn to_neutral() -> Vec<TrialConnection> {
    (0..3)
        .map(|phase| {
            let mut shares = vec![0.0; 3];
            shares[phase] = 1.0;
            TrialConnection {
                prior: 1.0 / 3.0,
                shares: vec![shares],
            }
        })
        .collect()
}
