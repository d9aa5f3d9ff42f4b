//! Small random problems for tests, and their best allocation by trying everything.

use num_complex::Complex64;
use proptest::test_runner::{Config, FileFailurePersistence};

use crate::problem::currents::Currents;
use crate::problem::feeder_resistance::FeederResistance;
use crate::problem::problem::{Problem, ProblemNode, Share, Unit, Ways};
use crate::search::incumbent::Incumbent;
use crate::search::random::Dice;

/// So many cases, and finds kept with the tests.
pub(crate) fn config(cases: u32) -> Config {
    let finds = FileFailurePersistence::Direct(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../tests/regressions/balance.txt"
    ));
    Config {
        cases,
        failure_persistence: Some(Box::new(finds)),
        ..Config::default()
    }
}

/// What a random problem may contain.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Kind {
    pub(crate) units: usize,
    pub(crate) intervals: usize,
    /// All to neutral, equal power factors, nothing fixed, no limits.
    pub(crate) plain: bool,
    pub(crate) limits: bool,
}

/// A random problem: the same for the same seed.
pub(crate) fn random_problem(seed: u64, kind: Kind) -> Problem {
    let mut dice = Dice::new(seed);
    let units: Vec<Unit> = (0..kind.units)
        .map(|i| random_unit(i, &mut dice, kind))
        .collect();
    let mut supply = ProblemNode {
        name: "supply".to_owned(),
        ..ProblemNode::default()
    };
    if !kind.plain && dice.below(2) == 0 {
        supply.fixed = Currents::new([0; 3].map(|_| Some(series(&mut dice, kind, true))));
        supply.beyond = (0..kind.intervals).map(|_| dice.below(5) as f64).collect();
        // Dice of their own: what else is drawn stays as it was.
        let mut more = Dice::new(seed ^ 0b1011);
        if more.below(2) == 0 {
            supply.fixed = supply
                .fixed
                .with_neutral_alone(series(&mut more, kind, true));
            supply.unresolved_square = [0; 4].map(|_| more.below(9) as f64);
        }
    }
    let mut others = Vec::new();
    let mut ways = Vec::new();
    if kind.limits {
        supply.phase_limit_a =
            Some(12.0 + (6 * kind.units + dice.below(4 * kind.units)) as f64 / 2.0);
        supply.neutral_limit_a = (dice.below(2) == 0).then(|| 10.0 + dice.below(20) as f64);
        // Of units whose machines are spread over places, a board feeds a part.
        let shares = (0..kind.units)
            .filter(|_| dice.below(2) == 0)
            .map(|unit| Share {
                unit,
                part: (unit % 3 == 1)
                    .then(|| units[unit].currents.scaled(&vec![0.5; kind.intervals])),
            })
            .collect();
        others.push(ProblemNode {
            name: "board".to_owned(),
            shares,
            phase_limit_a: Some(15.0 + dice.below(15) as f64),
            ..ProblemNode::default()
        });
        ways.push(Ways {
            name: "board".to_owned(),
            free: [0; 3].map(|_| dice.below(kind.units)),
            uses: (0..kind.units / 2).map(|unit| (unit, [1, 0, 0])).collect(),
        });
    }
    Problem::new(kind.intervals, units, supply, others, ways).expect("a sound problem")
}

/// As [`random_problem`], with feeders on every node.
pub(crate) fn random_problem_with_feeders(seed: u64, kind: Kind) -> Problem {
    let problem = random_problem(seed, kind);
    let mut dice = Dice::new(seed ^ 3);
    let mut nodes = problem.nodes().iter().map(|node| ProblemNode {
        feeder: Some(FeederResistance {
            phase_ohm: 0.001 * (1 + dice.below(200)) as f64,
            neutral_ohm: 0.001 * (1 + dice.below(400)) as f64,
        }),
        ..node.clone()
    });
    let supply = nodes.next().expect("the supply");
    let others = nodes.collect();
    Problem::new(
        kind.intervals,
        problem.units().to_vec(),
        supply,
        others,
        problem.ways().to_vec(),
    )
    .expect("a sound problem")
}

fn random_unit(i: usize, dice: &mut Dice, kind: Kind) -> Unit {
    let shape = if kind.plain { 0 } else { dice.below(6) };
    let currents = match shape {
        4 => Currents::between_phases(&series(dice, kind, false)),
        5 => Currents::new([0; 3].map(|_| Some(series(dice, kind, false)))),
        _ => Currents::to_neutral(series(dice, kind, false)),
    };
    let choices = match dice.below(8) {
        0 if !kind.plain => vec![0, 2],
        1 if !kind.plain => vec![1],
        _ => vec![0, 1, 2],
    };
    Unit {
        name: format!("unit {i}"),
        currents,
        current: (kind.plain || dice.below(5) > 0).then(|| dice.below(3)),
        choices,
        moves: 1 + dice.below(2),
    }
}

fn series(dice: &mut Dice, kind: Kind, small: bool) -> Vec<Complex64> {
    let angle = if kind.plain {
        -0.3
    } else {
        -(dice.below(60) as f64).to_radians()
    };
    let largest = if small { 6 } else { 20 };
    let runs = dice.below(3);
    (0..kind.intervals)
        .map(|_| {
            let idle = dice.below(4) < runs;
            let magnitude = if idle {
                0.0
            } else {
                dice.below(largest * 100) as f64 / 100.0
            };
            Complex64::from_polar(magnitude, angle)
        })
        .collect()
}

/// The best allocation by evaluating each one from the series.
pub(crate) fn brute_force(problem: &Problem, max_moves: Option<usize>, scale: f64) -> Incumbent {
    let mut best: Option<Incumbent> = None;
    let mut digits = vec![0; problem.units().len()];
    loop {
        let turns: Vec<usize> = problem
            .units()
            .iter()
            .zip(&digits)
            .map(|(unit, &d)| unit.choices[d])
            .collect();
        let mut evaluation = problem.evaluate(&turns);
        evaluation.excess.moves = max_moves.map_or(0, |most| evaluation.moves.saturating_sub(most));
        let record = Incumbent { turns, evaluation };
        if best.as_ref().is_none_or(|best| record.beats(best, scale)) {
            best = Some(record);
        }
        let Some(place) = (0..digits.len())
            .rev()
            .find(|&i| digits[i] + 1 < problem.units()[i].choices.len())
        else {
            return best.expect("at least one allocation");
        };
        digits[place] += 1;
        digits[place + 1..].fill(0);
    }
}

/// Every allocation within the choices of the units.
pub(crate) fn all_turns(problem: &Problem) -> impl Iterator<Item = Vec<usize>> + use<> {
    let choices: Vec<Vec<usize>> = problem
        .units()
        .iter()
        .map(|unit| unit.choices.clone())
        .collect();
    let count: usize = choices.iter().map(Vec::len).product();
    (0..count).map(move |mut number| {
        choices
            .iter()
            .map(|list| {
                let turn = list[number % list.len()];
                number /= list.len();
                turn
            })
            .collect()
    })
}
