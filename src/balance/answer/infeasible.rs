//! Where no allocation keeps within all limits: which limit, where, when, by how much, and which would be enough.

use chrono::{DateTime, FixedOffset};
use schemars::JsonSchema;
use serde::Serialize;

use crate::pose::from_site::Posed;
use crate::pose::grid::{AnalysisGrid, at};
use crate::problem::problem::{Problem, ProblemNode, above};
use crate::problem::proof::Proof;
use crate::problem::settings::Settings;
use crate::problem::solution::Solution;
use crate::solve::solve;
use crate::work::work_order::conductor_name;
use electrical::Phase;
use site::Site;

/// Most solutions with changed limits that are searched for.
const MOST_TRIALS: usize = 8;

/// Work of each, in evaluated changes.
const TRIAL_WORK: u64 = 1_000_000;

/// Why no plan keeps within all limits.
#[derive(Clone, Debug, Default, PartialEq, JsonSchema, Serialize)]
pub struct Infeasible {
    /// Is it certain that no allocation keeps every limit?
    pub is_certain: bool,
    /// Has the plan shown the smallest overload of all that were found, as a mean over the period? Otherwise it has
    /// fewer moves, and an overload within 1 A of the smallest.
    pub is_smallest: bool,
    /// Conductors that the plan shown overloads.
    pub limits: Vec<OverloadedConductor>,
    /// Boards without enough ways for the plan shown.
    pub ways: Vec<MissingWays>,
    /// Limits as they would have to be.
    pub needed: Vec<NeededLimit>,
    /// True where it is certain that a lower limit would not be enough, with the other limits unchanged.
    pub needed_is_least: bool,
    /// Arguments without which every limit could be kept, as they were given.
    pub causes: Vec<String>,
    /// Fewest moves that keep every limit, where `--max-moves` is too low.
    pub fewest_moves: Option<usize>,
}

/// A conductor over its limit, in its worst interval.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct OverloadedConductor {
    /// `supply`, or the board's id.
    pub node: String,
    /// L1, L2, L3 or N.
    pub conductor: &'static str,
    /// The limit. (A)
    pub limit_a: f64,
    /// Largest current of an interval after the moves. (A)
    pub current_a: f64,
    /// By how much it is over the limit. (A)
    pub excess_a: f64,
    /// Start of that interval, local time.
    #[serde(serialize_with = "units::serial::local")]
    pub at: DateTime<FixedOffset>,
    /// Number of intervals over the limit.
    pub intervals: usize,
}

/// A board without enough single-pole ways.
#[derive(Clone, Debug, PartialEq, Eq, JsonSchema, Serialize)]
pub struct MissingWays {
    /// The board.
    pub board: String,
    /// L1, L2 or L3.
    pub phase: &'static str,
    /// Ways that the movable loads would take.
    pub needed: usize,
    /// Free ways for them.
    pub free: usize,
}

/// A limit that would have to be higher.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct NeededLimit {
    /// `supply`, or the board's id.
    pub node: String,
    /// `phase` or `neutral`.
    pub kind: &'static str,
    /// The limit as it is. (A)
    pub limit_a: f64,
    /// The limit that would be enough. (A)
    pub needed_a: f64,
}

/// The reasons; `shown` is the plan that is given, `words` are the fixes as the user wrote them.
pub(crate) fn infeasible(
    site: &Site,
    posed: &Posed,
    settings: &Settings,
    solution: &Solution,
    shown: &[usize],
    words: &[String],
) -> Infeasible {
    let problem = &posed.problem;
    let is_exact = solution.proof == Proof::Optimal;
    let mut answer = Infeasible {
        is_certain: is_exact,
        is_smallest: shown == solution.choices,
        limits: overloaded(site, problem, &posed.grid, shown),
        ways: missing_ways(problem, shown),
        ..Infeasible::default()
    };
    blame(&mut answer, problem, settings, words);
    let only_currents = solution.excess.ways == 0 && solution.excess.moves == 0;
    (answer.needed, answer.needed_is_least) = needed(
        problem,
        settings,
        &solution.choices,
        only_currents,
        is_exact,
    );
    answer
}

/// Conductors over their limit under an allocation.
pub(super) fn overloaded(
    site: &Site,
    problem: &Problem,
    grid: &AnalysisGrid,
    turns: &[usize],
) -> Vec<OverloadedConductor> {
    let mut found = Vec::new();
    for node in problem.nodes() {
        let series = super::figures::NodeSeries::new(&problem.node_currents(node, turns));
        let conductors = series.phases_a.iter().chain([&series.neutral_a]);
        for (conductor, amps) in conductors.enumerate() {
            let limit = if conductor == 3 {
                node.neutral_limit_a
            } else {
                node.phase_limit_a
            };
            let over = |amps: f64| above(amps, limit);
            let intervals = amps.iter().filter(|&&amps| over(amps) > 0.0).count();
            let worst = (0..amps.len())
                .rev()
                .max_by(|&a, &b| amps[a].total_cmp(&amps[b]));
            let (Some(worst), Some(limit_a), true) = (worst, limit, intervals > 0) else {
                continue;
            };
            found.push(OverloadedConductor {
                node: node.name.clone(),
                conductor: conductor_name(conductor),
                limit_a,
                current_a: amps[worst],
                excess_a: amps[worst] - limit_a,
                at: at(grid.starts[worst])
                    .with_timezone(&site.timezone)
                    .fixed_offset(),
                intervals,
            });
        }
    }
    found
}

fn missing_ways(problem: &Problem, turns: &[usize]) -> Vec<MissingWays> {
    let mut found = Vec::new();
    for board in problem.ways() {
        let mut needed = [0; 3];
        for &(unit, ways) in &board.uses {
            for (position, count) in ways.into_iter().enumerate() {
                needed[(position + turns[unit]) % 3] += count;
            }
        }
        for phase in Phase::ALL {
            let (needed, free) = (needed[phase.index()], board.free[phase.index()]);
            if needed > free {
                found.push(MissingWays {
                    board: board.name.clone(),
                    phase: phase.name(),
                    needed,
                    free,
                });
            }
        }
    }
    found
}

/// A quick look whether limits can be kept.
fn trial(settings: &Settings) -> Settings {
    Settings {
        search_work: settings.search_work.min(TRIAL_WORK),
        proof_work: 0,
        curve_moves: 0,
        ..settings.clone()
    }
}

/// Names the arguments without which every limit could be kept.
fn blame(answer: &mut Infeasible, problem: &Problem, settings: &Settings, words: &[String]) {
    let asked = trial(settings);
    let feasible = |settings: &Settings| solve(problem, settings).feasible;
    let max_moves = settings.max_moves.map(|most| format!("--max-moves {most}"));
    let free_moves = Settings {
        max_moves: None,
        ..asked.clone()
    };
    if let (Some(word), Some(most)) = (&max_moves, settings.max_moves) {
        let solution = solve(problem, &free_moves);
        if solution.feasible {
            answer.causes.push(word.clone());
            answer.fewest_moves = Some(fewest_moves(problem, &asked, most, solution.moves));
            return;
        }
    }
    if words.is_empty() {
        return;
    }
    let flag = |word: &String| format!("--fix {word}");
    for (index, word) in words.iter().enumerate() {
        if asked.is_late() {
            return;
        }
        let mut less = asked.clone();
        less.fixed.remove(index);
        if feasible(&less) {
            answer.causes.push(flag(word));
        }
    }
    if !answer.causes.is_empty() {
        return;
    }
    let none = |settings: &Settings| Settings {
        fixed: Vec::new(),
        ..settings.clone()
    };
    if words.len() > 1 && feasible(&none(&asked)) {
        answer.causes = words.iter().map(flag).collect();
    } else if let Some(word) = max_moves
        && feasible(&none(&free_moves))
    {
        answer.causes = words.iter().map(flag).chain([word]).collect();
    }
}

/// Between `too_few` and `enough`; more moves never make it harder.
fn fewest_moves(problem: &Problem, settings: &Settings, too_few: usize, enough: usize) -> usize {
    let (mut low, mut high) = (too_few, enough.max(too_few + 1));
    while high - low > 1 && !settings.is_late() {
        let middle = low.midpoint(high);
        let within = Settings {
            max_moves: Some(middle),
            ..settings.clone()
        };
        if solve(problem, &within).feasible {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}

/// Largest phase current and largest neutral of each node.
fn largest(problem: &Problem, turns: &[usize]) -> Vec<[f64; 2]> {
    problem
        .nodes()
        .iter()
        .map(|node| {
            let series = super::figures::NodeSeries::new(&problem.node_currents(node, turns));
            let most = |amps: &Vec<f64>| amps.iter().copied().fold(0.0, f64::max);
            let phase = series.phases_a.iter().map(most).fold(0.0, f64::max);
            [phase, most(&series.neutral_a)]
        })
        .collect()
}

fn limits_of(node: &ProblemNode) -> [Option<f64>; 2] {
    [node.phase_limit_a, node.neutral_limit_a]
}

/// Raises the exceeded limits by one common factor, as little as possible.
///
/// Each solution that keeps the raised limits says how little would have done for it; the next has
/// to do with less, until none is found.
fn needed(
    problem: &Problem,
    settings: &Settings,
    turns: &[usize],
    only_currents: bool,
    mut is_least: bool,
) -> (Vec<NeededLimit>, bool) {
    let mut currents = largest(problem, turns);
    let raised: Vec<[bool; 2]> = problem
        .nodes()
        .iter()
        .zip(&currents)
        .map(|(node, amps)| [0, 1].map(|kind| above(amps[kind], limits_of(node)[kind]) > 0.0))
        .collect();
    if !raised.iter().flatten().any(|&raised| raised) {
        return (Vec::new(), false);
    }
    let asked = trial(settings);
    let mut ended = false;
    for _ in 0..MOST_TRIALS {
        if !only_currents || settings.is_late() {
            break;
        }
        let factor = 1.0 + (common_factor(problem, &raised, &currents) - 1.0) * (1.0 - 1e-6);
        let Some(relaxed) = relaxed(problem, &raised, factor) else {
            break;
        };
        let solution = solve(&relaxed, &asked);
        if !solution.feasible {
            ended = true;
            is_least &= solution.proof == Proof::Optimal;
            break;
        }
        currents = largest(problem, &solution.choices);
    }
    let nodes = problem.nodes().iter().zip(&currents).zip(&raised);
    let needed = nodes
        .flat_map(|((node, amps), raised)| {
            [0, 1].into_iter().filter_map(move |kind| {
                let limit_a = limits_of(node)[kind]?;
                raised[kind].then(|| NeededLimit {
                    node: node.name.clone(),
                    kind: ["phase", "neutral"][kind],
                    limit_a,
                    needed_a: amps[kind].max(limit_a),
                })
            })
        })
        .collect();
    (needed, ended && is_least)
}

fn common_factor(problem: &Problem, raised: &[[bool; 2]], currents: &[[f64; 2]]) -> f64 {
    let mut factor: f64 = 1.0;
    for ((node, raised), amps) in problem.nodes().iter().zip(raised).zip(currents) {
        for kind in 0..2 {
            if let (true, Some(limit)) = (raised[kind], limits_of(node)[kind]) {
                factor = factor.max(amps[kind] / limit);
            }
        }
    }
    factor
}

/// The problem with some limits multiplied.
fn relaxed(problem: &Problem, raised: &[[bool; 2]], factor: f64) -> Option<Problem> {
    let mut nodes: Vec<ProblemNode> = problem
        .nodes()
        .iter()
        .zip(raised)
        .map(|(node, raised)| {
            let times = |limit: Option<f64>, raised: bool| {
                limit.map(|limit| if raised { limit * factor } else { limit })
            };
            ProblemNode {
                phase_limit_a: times(node.phase_limit_a, raised[0]),
                neutral_limit_a: times(node.neutral_limit_a, raised[1]),
                ..node.clone()
            }
        })
        .collect();
    let supply = nodes.remove(0);
    Problem::new(
        problem.intervals(),
        problem.units().to_vec(),
        supply,
        nodes,
        problem.ways().to_vec(),
    )
    .ok()
}
