//! Other data than the feeder's: invented workshops with a meter at each machine, with and without a photovoltaic system.
//! No figure of the model was chosen with them.

use phases::changes::{PowerRecord, RecordedLoad, estimate};
use simulated::Dice;

use super::{Calibration, averaged, largest, metered, to_neutral};

const MINUTES: usize = 1440;

/// Power of a machine in each minute: a thermostat that cycles, a machine that is switched by hand and works now more, now
/// less, or one that runs by a clock. (kW)
fn profile(dice: &mut Dice) -> Vec<f64> {
    let rated = dice.scale(0.3, 8.0);
    let kind = (dice.share() * 3.0) as usize;
    let (from, to) = match kind {
        0 => (0, MINUTES),
        1 => (420 + (dice.share() * 60.0) as usize, 960),
        _ => {
            let from = (dice.share() * 1000.0) as usize;
            (from, from + 60 + (dice.share() * 300.0) as usize)
        }
    };
    let (stays_on, stays_off) = (dice.scale(3.0, 40.0), dice.scale(5.0, 90.0));
    let (mut on, mut share) = (kind == 2, 1.0_f64);
    (0..MINUTES)
        .map(|minute| {
            if kind < 2 {
                on ^= dice.share() < 1.0 / if on { stays_on } else { stays_off };
            }
            if kind == 1 {
                share = (share + 0.15 * dice.normal()).clamp(0.3, 1.0);
            }
            let runs = on && (from..to).contains(&minute);
            if runs { rated * share } else { 0.0 }
        })
        .collect()
}

/// A clear sky with clouds that pass, the same on each phase, drawn as negative. (kW)
pub(super) fn sun(dice: &mut Dice, peak: f64) -> Vec<f64> {
    let mut cloud = 1.0_f64;
    (0..MINUTES)
        .map(|minute| {
            cloud = (cloud + 0.08 * dice.normal()).clamp(0.25, 1.0);
            let angle = std::f64::consts::PI * (minute as f64 - 390.0) / 720.0;
            -peak
                * cloud
                * angle.sin().max(0.0)
                * f64::from(u8::from((390..1110).contains(&minute)))
        })
        .collect()
}

/// A record of so many machines, and the phases that it hides.
fn shop(seed: u64, over: usize, unmetered: usize, peak: f64) -> (PowerRecord, Vec<usize>) {
    let mut dice = Dice::new(seed.wrapping_mul(15_485_863).wrapping_add(99));
    let mut supply = vec![vec![0.0; MINUTES]; 3];
    let add = |sum: &mut Vec<f64>, own: &[f64]| {
        for (sum, kw) in sum.iter_mut().zip(own) {
            *sum += kw;
        }
    };
    let machines: Vec<(usize, Vec<f64>)> = (0..30)
        .map(|_| ((dice.share() * 3.0) as usize, profile(&mut dice)))
        .collect();
    for (phase, own) in &machines {
        add(&mut supply[*phase], own);
    }
    for _ in 0..unmetered {
        let phase = (dice.share() * 3.0) as usize;
        add(&mut supply[phase], &profile(&mut dice));
    }
    if peak > 0.0 {
        let sun = sun(&mut dice, peak);
        for phase in &mut supply {
            add(phase, &sun);
        }
    }
    let read = |series: &[f64], dice: &mut Dice| -> Vec<f32> {
        let read = metered(&averaged(series, over, 0.0), 1.0, dice);
        read.into_iter().map(|kw| kw as f32).collect()
    };
    let supply: Vec<Vec<f32>> = supply.iter().map(|phase| read(phase, &mut dice)).collect();
    let truth = machines.iter().map(|(phase, _)| *phase).collect();
    let loads = machines
        .iter()
        .map(|(_, own)| RecordedLoad {
            series: vec![read(own, &mut dice)],
            connections: to_neutral(),
            gain_error: 0.01,
            own_clock: false,
        })
        .collect();
    let record = PowerRecord {
        step_s: 60.0 * over as f64,
        runs: std::iter::once(0..supply[0].len()).collect(),
        supply,
        loads,
    };
    (record, truth)
}

#[test]
#[ignore = "a trial of some minutes, by hand"]
#[expect(clippy::print_stdout, reason = "the trial's table is for reading")]
fn metered_shops() {
    let shops = std::env::var("SHOPS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(20);
    let mut all = Calibration::default();
    for over in [5, 15, 30] {
        for unmetered in [6, 30] {
            for peak in [0.0, 5.0] {
                let mut calibration = Calibration::default();
                for seed in 1..=shops {
                    let (record, truth) = shop(seed, over, unmetered, peak);
                    let found = estimate(&record, seed).expect("intervals");
                    for (load, truth) in found.loads.iter().zip(truth) {
                        // A machine that never ran cannot be placed, and is not said to be.
                        let best = largest([0, 1, 2].map(|k: usize| load.probabilities[k]));
                        calibration
                            .0
                            .push((load.probabilities[best], best == truth));
                    }
                }
                let right = calibration.0.iter().filter(|one| one.1).count();
                println!(
                    "{over} min, {unmetered} machines without a meter, sun {peak} kW a phase: {right} of {} right;{}",
                    calibration.0.len(),
                    calibration.text()
                );
                all.0.extend(calibration.0);
            }
        }
    }
    println!("all: {}", all.text());
    // Of those said to be between 85 and 99 % sure, as many are right as is said, within 6 %.
    let said: Vec<&(f64, bool)> = all
        .0
        .iter()
        .filter(|one| (0.85..0.99).contains(&one.0))
        .collect();
    let mean = said.iter().map(|one| one.0).sum::<f64>() / said.len() as f64;
    let right = said.iter().filter(|one| one.1).count() as f64 / said.len() as f64;
    assert!((mean - right).abs() < 0.06, "said {mean}, right {right}");
}
