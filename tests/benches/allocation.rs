//! How the allocation grows with loads and intervals, and what limits and unequal power factors cost.
//!
//! `cargo bench --bench allocation` prints one line for each case.

#![expect(clippy::print_stdout, reason = "its table is what it is for")]

use std::f64::consts::TAU;
use std::time::Instant;

use num_complex::Complex64;
use tapoff::balance::{Currents, Problem, ProblemNode, Proof, Settings, Share, Unit, Ways, solve};

/// Numbers that are the same on every machine: the high bits of a multiplicative sequence.
struct Numbers(u64);

impl Numbers {
    fn below_one(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// Loads that come and go through the day, each with its own hours, size and power factor.
fn currents(numbers: &mut Numbers, intervals: usize, angle: f64) -> Vec<Complex64> {
    let size = 2.0 + 18.0 * numbers.below_one().powi(2);
    let (peak, width) = (numbers.below_one(), 0.1 + 0.3 * numbers.below_one());
    let runs = 0.2 + 0.6 * numbers.below_one();
    let mut on = false;
    (0..intervals)
        .map(|t| {
            let day = (t as f64 / 96.0).fract();
            let hours = (0.5 + 0.5 * (TAU * (day - peak)).cos()).powf(1.0 / width);
            if numbers.below_one() < 0.2 {
                on = numbers.below_one() < runs * (0.2 + 0.8 * hours);
            }
            Complex64::from_polar(if on { size } else { 0.02 * size }, angle)
        })
        .collect()
}

fn to_neutral(name: usize, series: Vec<Complex64>) -> Unit {
    Unit {
        name: format!("load {name}"),
        currents: Currents::to_neutral(series),
        choices: vec![0, 1, 2],
        current: Some(name % 3),
        moves: 1,
    }
}

/// All to neutral, equal power factors, nothing fixed, no limits.
fn plain(seed: u64, loads: usize, intervals: usize) -> Problem {
    let mut numbers = Numbers(seed);
    let units = (0..loads)
        .map(|i| to_neutral(i, currents(&mut numbers, intervals, -0.3)))
        .collect();
    Problem::new(
        intervals,
        units,
        ProblemNode::default(),
        Vec::new(),
        Vec::new(),
    )
    .expect("sound parts")
}

/// Power factors from 0.7 lagging to 0.95 leading, loads between two phases, groups that cost two moves, a
/// remainder that stays, limits of supply and boards, and few ways.
fn constrained(seed: u64, loads: usize, intervals: usize) -> Problem {
    let mut numbers = Numbers(seed);
    let (lagging, leading) = (-0.7_f64.acos(), 0.95_f64.acos());
    let units: Vec<Unit> = (0..loads)
        .map(|i| {
            let angle = lagging + (leading - lagging) * i as f64 / (loads - 1) as f64;
            let series = currents(&mut numbers, intervals, angle);
            let mut unit = to_neutral(i, series);
            if i % 10 == 9 {
                let series: Vec<Complex64> =
                    (0..intervals).map(|t| unit.currents.at(0, t)).collect();
                unit.currents = Currents::between_phases(&series);
            }
            unit.moves = 1 + usize::from(i % 7 == 3);
            unit
        })
        .collect();
    let stays = [0, 1, 2].map(|_| Some(currents(&mut numbers, intervals, -0.4)));
    let fixed = Currents::new(stays);
    let board = |name: &str, members: std::ops::Range<usize>| ProblemNode {
        name: name.to_owned(),
        shares: members.map(|unit| Share { unit, part: None }).collect(),
        ..ProblemNode::default()
    };
    let mut boards = [board("DB1", 0..loads / 2), board("DB2", loads / 2..loads)];
    let mut supply = ProblemNode {
        name: "supply".to_owned(),
        fixed,
        ..ProblemNode::default()
    };
    // Limits a little above what an even spread needs, so that they bind on the way.
    let total = |node: &ProblemNode, units: &[Unit]| -> f64 {
        (0..intervals)
            .map(|t| {
                node.shares
                    .iter()
                    .map(|share| units[share.unit].currents.at(0, t).norm())
                    .sum::<f64>()
            })
            .fold(0.0, f64::max)
    };
    for board in &mut boards {
        board.phase_limit_a = Some(0.55 * total(board, &units));
    }
    let both: f64 = boards.iter().map(|board| total(board, &units)).sum();
    supply.phase_limit_a = Some(0.5 * both + 20.0);
    let ways = Ways {
        name: "DB1".to_owned(),
        free: [loads / 5; 3],
        uses: (0..loads / 2)
            .filter(|i| i % 10 != 9)
            .map(|unit| (unit, [1, 0, 0]))
            .collect(),
    };
    Problem::new(intervals, units, supply, boards.to_vec(), vec![ways]).expect("sound parts")
}

fn timed(problem: &Problem, settings: &Settings) -> (f64, f64, Proof, bool) {
    let begun = Instant::now();
    let solution = solve(problem, settings);
    let taken = begun.elapsed().as_secs_f64();
    (
        taken,
        solution.mean_square.sqrt(),
        solution.proof,
        solution.feasible,
    )
}

fn main() {
    let whole = Settings {
        curve_moves: 0,
        ..Settings::default()
    };
    let fold = Settings {
        search_work: 0,
        proof_work: 0,
        ..whole.clone()
    };
    println!("30 loads; intervals: folding time away, then search and proof");
    for intervals in [96, 960, 8_760, 52_560, 525_600] {
        let problem = plain(1, 30, intervals);
        let (folding, ..) = timed(&problem, &fold);
        let (all, amps, proof, _) = timed(&problem, &whole);
        let rest = all - folding;
        println!("{intervals:>8}  {folding:8.4} s  {rest:8.4} s  {amps:.6} A  {proof:?}");
    }
    println!("1440 intervals; loads: time, neutral, proof");
    for loads in [10, 20, 30, 40, 50, 60, 80, 120, 200] {
        let (taken, amps, proof, _) = timed(&plain(2, loads, 1440), &whole);
        println!("{loads:>8}  {taken:8.3} s  {amps:.6} A  {proof:?}");
    }
    println!(
        "30 loads, power factors 0.7 lagging to 0.95 leading, limits, ways, a remainder; seeds"
    );
    for seed in 1..=8 {
        let (taken, amps, proof, kept) = timed(&constrained(seed, 30, 1344), &whole);
        println!("{seed:>8}  {taken:8.3} s  {amps:.6} A  {proof:?}, limits kept: {kept}");
    }
}
