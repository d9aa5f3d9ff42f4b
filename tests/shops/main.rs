//! Invented workshops without a logger: the plan made from a list and rounds of clamp-meter readings, against the truth.
//!
//! Each load is on or off with a probability of its own; the list is decent (ratings within ±20 %, utilisation factors
//! within ±0.15) or poor (ratings off by a factor of 1.6 as one standard deviation, utilisation factors within ±0.25, a
//! tenth of the phases wrong, one load in twelve missing). Three rounds are read, with the error of the clamp meter, at
//! all places, at supply and boards, at the supply, or not at all. The truth is calculated here from the loads as they
//! are, with the mean square of a sum of independent switches.

use std::fmt::Write as _;

use balance::{BalanceResult, Settings, balance};
use message::Messages;
use metering::{Period, read_logs};
use num_complex::Complex64;
use simulated::Dice;
use site::read_site;

const ROUNDS: usize = 3;

#[derive(Clone, Copy, PartialEq)]
enum Depth {
    All,
    Boards,
    Supply,
    None,
}

struct True {
    circuit: usize,
    amps: Complex64,
    phase: usize,
    on: f64,
    /// As listed: amperes, phase, utilisation factor.
    listed: Option<(f64, usize, f64)>,
}

struct Shop {
    loads: Vec<True>,
    board_of: Vec<usize>,
    states: Vec<Vec<bool>>,
    errors: Vec<f64>,
}

/// Says of a circuit whether it is counted.
type Circuits<'s> = Box<dyn Fn(usize) -> bool + 's>;

impl Shop {
    fn of_seed(seed: u64, poor: bool) -> Shop {
        let mut dice = Dice::new(seed.wrapping_mul(6364).wrapping_add(17));
        let count = 8 + (dice.share() * 33.0) as usize;
        let circuits = count / 2 + 1;
        let board_of = (0..circuits)
            .map(|_| (dice.share() * 2.0) as usize)
            .collect();
        let loads: Vec<True> = (0..count)
            .map(|_| {
                let rated = dice.scale(2.0, 32.0);
                let factor = dice.between(0.75, 1.0);
                let direction = Complex64::new(factor, -(1.0 - factor * factor).sqrt());
                let off = if poor {
                    1.6_f64.powf(dice.normal())
                } else {
                    dice.between(0.8, 1.2)
                };
                let phase = (dice.share() * 3.0) as usize;
                let on = dice.between(0.1, 0.9);
                let spread = if poor { 0.25 } else { 0.15 };
                let listed_on = (on + dice.between(-spread, spread)).clamp(0.02, 1.0);
                let is_missing = poor && dice.share() < 1.0 / 12.0;
                let listed_phase = if poor && dice.share() < 0.1 {
                    (phase + 1) % 3
                } else {
                    phase
                };
                True {
                    circuit: (dice.share() * circuits as f64) as usize,
                    amps: direction * rated * off,
                    phase,
                    on,
                    listed: (!is_missing).then_some((rated, listed_phase, listed_on)),
                }
            })
            .collect();
        let states = (0..ROUNDS)
            .map(|_| loads.iter().map(|load| dice.share() < load.on).collect())
            .collect();
        let errors = (0..ROUNDS * 3 * (circuits + 3))
            .map(|_| dice.normal())
            .collect();
        Shop {
            loads,
            board_of,
            states,
            errors,
        }
    }

    /// Sum of what is on, of a phase, at the supply (`None`), a board or a circuit. (A)
    fn sum(&self, round: usize, phase: usize, here: impl Fn(usize) -> bool) -> f64 {
        let on = self.loads.iter().zip(&self.states[round]);
        on.filter(|(load, on)| **on && load.phase == phase && here(load.circuit))
            .map(|(load, _)| load.amps)
            .sum::<Complex64>()
            .norm()
    }

    fn readings(&self, depth: Depth) -> Option<String> {
        let mut places: Vec<(String, Circuits<'_>)> =
            vec![("supply".to_owned(), Box::new(|_| true))];
        if depth != Depth::Supply {
            for board in 0..2 {
                let on_board = move |circuit: usize| self.board_of[circuit] == board;
                places.push((format!("DB{board}"), Box::new(on_board)));
            }
        }
        if depth == Depth::All {
            for own in 0..self.board_of.len() {
                places.push((format!("C{own}"), Box::new(move |circuit| circuit == own)));
            }
        }
        let mut text = "time,at,l1_a,l2_a,l3_a\n".to_owned();
        let mut errors = self.errors.iter();
        for round in 0..ROUNDS {
            for (name, here) in &places {
                write!(text, "2026-03-{:02} 10:00,{name}", 9 + round).expect("text");
                for phase in 0..3 {
                    let amps = self.sum(round, phase, here);
                    let error = (0.02 * amps + 0.3) / 1.96 * errors.next().expect("an error");
                    write!(text, ",{:.2}", (amps + error).abs()).expect("text");
                }
                text.push('\n');
            }
        }
        (depth != Depth::None).then_some(text)
    }

    /// The plan of the program, from the list as it is or as it ought to be.
    fn plan(&self, depth: Depth, is_true: bool) -> BalanceResult {
        let folder = tempfile::tempdir().expect("a folder");
        let mut toml =
            "[site]\nname = 'Shop'\n[supply]\nline_voltage_v = 398.3717\nphase_limit_a = 600\n"
                .to_owned();
        for board in 0..2 {
            write!(toml, "[[board]]\nid = 'DB{board}'\nfed_from = 'supply'\n").expect("text");
        }
        for (circuit, board) in self.board_of.iter().enumerate() {
            write!(
                toml,
                "[[circuit]]\nid = 'C{circuit}'\nboard = 'DB{board}'\n"
            )
            .expect("text");
        }
        let mut list =
            "machine,circuit,connection,current_a,power_factor,utilisation_factor\n".to_owned();
        for (number, load) in self.loads.iter().enumerate() {
            let listed = if is_true {
                Some((load.amps.norm(), load.phase, load.on))
            } else {
                load.listed
            };
            if let Some((amps, phase, on)) = listed {
                let factor = load.amps.re / load.amps.norm();
                writeln!(
                    list,
                    "M{number},C{},L{},{amps:.3},{factor:.5},{on:.4}",
                    load.circuit,
                    phase + 1
                )
                .expect("text");
            }
        }
        let write = |name: &str, text: &str| {
            std::fs::write(folder.path().join(name), text).expect("a file");
        };
        write("site.toml", &toml);
        write("machines.csv", &list);
        if let Some(readings) = self.readings(depth) {
            write("readings.csv", &readings);
        }
        let (site, _) = read_site(folder.path()).expect("a sound site");
        let mut messages = Messages::new();
        let logs = read_logs(&site, Period::default(), &mut messages);
        assert!(!messages.has_errors(), "{:?}", messages.all());
        let settings = Settings {
            search_work: 500_000,
            proof_work: 0,
            curve_moves: 8,
            ..Settings::default()
        };
        balance(&site, &logs, &settings).expect("a plan")
    }

    /// Root mean square of the neutral when the plan's moves are made. (A)
    fn neutral(&self, plan: Option<&BalanceResult>) -> f64 {
        let (mut sum, mut variance) = (Complex64::ZERO, 0.0);
        for (number, load) in self.loads.iter().enumerate() {
            let name = format!("M{number}");
            let moved = plan.and_then(|plan| plan.moves.iter().find(|moved| moved.machine == name));
            let phase = moved.map_or(load.phase, |moved| match moved.to.to_string().as_str() {
                "L1" => 0,
                "L2" => 1,
                _ => 2,
            });
            let turn = Complex64::from_polar(1.0, -(phase as f64) * std::f64::consts::TAU / 3.0);
            sum += load.amps * turn * load.on;
            variance += load.on * (1.0 - load.on) * load.amps.norm_sqr();
        }
        (sum.norm_sqr() + variance).sqrt()
    }
}

/// What came of one way to know.
#[derive(Debug, Default)]
struct Outcome {
    shops: usize,
    covered: usize,
    worse: usize,
    gain: f64,
    moves: usize,
}

fn trial(shops: u64, poor: bool, depth: Depth, is_true: bool) -> Outcome {
    let mut outcome = Outcome::default();
    for seed in 0..shops {
        let shop = Shop::of_seed(seed, poor);
        let plan = shop.plan(depth, is_true);
        let (before, after) = (shop.neutral(None), shop.neutral(Some(&plan)));
        let range = plan.after.neutral_rms_low_a..=plan.after.neutral_rms_high_a;
        outcome.shops += 1;
        outcome.covered += usize::from(range.contains(&after));
        outcome.worse += usize::from(after > before * (1.0 + 1e-9));
        outcome.gain += (1.0 - after / before) / shops as f64;
        outcome.moves += plan.moves.len();
    }
    outcome
}

#[expect(clippy::print_stdout, reason = "the table is what the trial is for")]
fn table(shops: u64) -> Vec<(bool, &'static str, Outcome)> {
    let mut rows = Vec::new();
    for poor in [false, true] {
        for (name, depth, is_true) in [
            ("truth known", Depth::None, true),
            ("list alone", Depth::None, false),
            ("supply read", Depth::Supply, false),
            ("supply and boards read", Depth::Boards, false),
            ("all read", Depth::All, false),
        ] {
            let outcome = trial(shops, poor, depth, is_true);
            let list = if poor { "poor" } else { "decent" };
            println!(
                "{list:6} {name:22} gain {:.3}, {:.1} moves, {} of {} within the range, {} worse",
                outcome.gain,
                outcome.moves as f64 / outcome.shops as f64,
                outcome.covered,
                outcome.shops,
                outcome.worse
            );
            rows.push((poor, name, outcome));
        }
    }
    rows
}

/// A few, in every run of the tests.
#[test]
fn plans_of_lists_and_readings_keep_what_they_say() {
    for depth in [Depth::None, Depth::Supply] {
        let outcome = trial(12, false, depth, false);
        assert!(outcome.covered >= 11 && outcome.worse == 0, "{outcome:?}");
        assert!(outcome.gain > 0.1, "{outcome:?}");
    }
}

/// Ten ways to know. What forty workshops gave: ranges held the truth in 37, 40, 37 and 35 of 40 (decent; list alone, supply,
/// boards, all read) and in 5, 34, 36 and 35 (poor: a list alone cannot show that it is worse than it says); reduction of
/// the neutral 0.242, 0.208, 0.234, 0.248 of 0.264 with the truth known, and 0.187, 0.176, 0.184, 0.199 of 0.320; plans
/// that made it worse: none of the decent ones, 4, 0, 0 and 2 of the poor. The limits here leave room for twenty;
/// `SHOPS` in the environment takes another number.
#[test]
#[ignore = "some minutes"]
fn invented_workshops() {
    let given = std::env::var("SHOPS").ok();
    let shops = given.map_or(20, |count| count.parse().expect("a number of workshops"));
    let share = |part: f64| (part * shops as f64).round() as usize;
    let rows = table(shops);
    let gain = |poor: bool, name: &str| {
        let row = rows.iter().find(|row| row.0 == poor && row.1 == name);
        row.expect("a row").2.gain
    };
    for (poor, name, outcome) in &rows {
        let alone = *name == "list alone";
        if !(*poor && alone) {
            assert!(outcome.covered >= share(0.75), "{name}: {outcome:?}");
        }
        assert!(
            outcome.worse <= if *poor { share(0.15) } else { share(0.005) },
            "{name}: {outcome:?}"
        );
        let least = gain(*poor, "list alone") - 0.06;
        assert!(outcome.gain >= least, "{name}: {outcome:?}");
    }
}
