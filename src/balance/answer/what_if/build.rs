//! From the problem to the data of the what-if board.

use num_complex::Complex64;
use rayon::prelude::*;

use super::board::{NEUTRAL, Slot, TrialBoard, TrialNode, TrialPlan, TrialUnit, Wave};
use super::intervals::{affordable, allocations, deciding, largest, random_steps};
use super::moments::moments;
use crate::pose::connections::{connection_at, connection_now, moves_with_circuit};
use crate::pose::from_site::Posed;
use crate::problem::currents::Currents;
use crate::problem::problem::{Problem, ProblemNode};
use crate::problem::solution::Solution;
use site::Site;

/// Series that flow through the nodes, each once.
#[derive(Default)]
struct Waves<'p> {
    series: Vec<&'p [Complex64]>,
    /// Places of each unit's three positions, once they are there.
    of_units: Vec<Option<[Option<usize>; 3]>>,
}

impl<'p> Waves<'p> {
    fn add(&mut self, currents: &'p Currents) -> [Option<usize>; 3] {
        [0, 1, 2].map(|position| {
            currents.series(position).map(|series| {
                self.series.push(series);
                self.series.len() - 1
            })
        })
    }

    fn of_unit(&mut self, problem: &'p Problem, unit: usize) -> [Option<usize>; 3] {
        if let Some(places) = self.of_units[unit] {
            return places;
        }
        let places = self.add(&problem.units()[unit].currents);
        self.of_units[unit] = Some(places);
        places
    }

    fn slots(&mut self, problem: &'p Problem, node: &'p ProblemNode) -> Vec<Slot> {
        let mut slots = Vec::new();
        let mut put = |unit: Option<usize>, places: [Option<usize>; 3]| {
            for (position, wave) in places.into_iter().enumerate() {
                if let Some(wave) = wave {
                    slots.push(Slot {
                        wave,
                        unit,
                        position,
                    });
                }
            }
        };
        put(None, self.add(&node.fixed));
        for share in &node.shares {
            let places = match &share.part {
                Some(part) => self.add(part),
                None => self.of_unit(problem, share.unit),
            };
            put(Some(share.unit), places);
        }
        if !node.fixed.neutral_alone().is_empty() {
            self.series.push(node.fixed.neutral_alone());
            slots.push(Slot {
                wave: self.series.len() - 1,
                unit: None,
                position: NEUTRAL,
            });
        }
        slots
    }
}

/// The data of the what-if board, from the problem and its solution.
pub(crate) fn trial_board(site: &Site, posed: &Posed, solution: &Solution) -> TrialBoard {
    let problem = &posed.problem;
    let nodes: Vec<&ProblemNode> = shown_nodes(problem).collect();
    let mut waves = Waves {
        of_units: vec![None; problem.units().len()],
        ..Waves::default()
    };
    let slots: Vec<Vec<Slot>> = nodes
        .iter()
        .map(|node| waves.slots(problem, node))
        .collect();
    let plans = plans(solution);
    let mut known: Vec<Vec<usize>> = problem.current().into_iter().collect();
    known.push(solution.choices.clone());
    known.extend(plans.iter().map(|plan| plan.turns.clone()));
    let budget = affordable(problem);
    let kept = deciding(problem, &allocations(problem, &known, budget / 2));
    let mut board = TrialBoard {
        units: units(site, posed, solution),
        nodes: trial_nodes(&nodes, slots, &waves, &kept, problem.intervals()),
        waves: waves
            .series
            .iter()
            .map(|series| Wave::new(&kept.iter().map(|&i| series[i]).collect::<Vec<_>>()))
            .collect(),
        start_s: kept.iter().map(|&i| posed.grid.starts[i]).collect(),
        intervals: problem.intervals(),
        plans,
        compared: 0,
        largest_miss_pct: 0.0,
    };
    compare(
        &mut board,
        problem,
        &random_steps(problem, &known, budget - budget / 2, 2),
    );
    board
}

/// The supply, and what has a limit of its own and carries a load that can be moved.
fn shown_nodes(problem: &Problem) -> impl Iterator<Item = &ProblemNode> {
    problem
        .nodes()
        .iter()
        .enumerate()
        .filter_map(|(index, node)| {
            let limited = node.phase_limit_a.is_some() || node.neutral_limit_a.is_some();
            let changes = node
                .shares
                .iter()
                .any(|share| problem.units()[share.unit].choices.len() > 1);
            (index == 0 || limited && changes).then_some(node)
        })
}

fn trial_nodes(
    nodes: &[&ProblemNode],
    slots: Vec<Vec<Slot>>,
    waves: &Waves<'_>,
    kept: &[usize],
    intervals: usize,
) -> Vec<TrialNode> {
    let mut pairs: Vec<(usize, usize)> = slots.iter().flat_map(|slots| pairs_of(slots)).collect();
    pairs.sort_unstable();
    pairs.dedup();
    let moments = moments(&waves.series, &pairs);
    nodes
        .iter()
        .zip(slots)
        .map(|(node, slots)| TrialNode {
            id: node.name.clone(),
            phase_limit_a: node.phase_limit_a,
            neutral_limit_a: node.neutral_limit_a,
            moments: pairs_of(&slots).map(|pair| moments[&pair]).collect(),
            beyond_mean_square: node.beyond_square_sum(intervals) / intervals as f64,
            unresolved_square: [0, 1, 2].map(|k| node.unresolved_square[k]),
            beyond_a: if node.beyond.is_empty() {
                Vec::new()
            } else {
                kept.iter().map(|&interval| node.beyond[interval]).collect()
            },
            slots,
        })
        .collect()
}

/// The waves of each pair of slots, row after row of the upper triangle.
fn pairs_of(slots: &[Slot]) -> impl Iterator<Item = (usize, usize)> {
    slots
        .iter()
        .enumerate()
        .flat_map(move |(first, a)| slots[first..].iter().map(move |b| (a.wave, b.wave)))
}

fn plans(solution: &Solution) -> Vec<TrialPlan> {
    solution
        .moves_curve
        .iter()
        .map(|point| TrialPlan {
            moves: point.moves,
            turns: point.choices.clone(),
        })
        .collect()
}

fn units(site: &Site, posed: &Posed, solution: &Solution) -> Vec<TrialUnit> {
    posed
        .problem
        .units()
        .iter()
        .zip(posed.members.iter().zip(&solution.choices))
        .map(|(unit, (members, &plan))| {
            let first = members.first().copied();
            let kinds: Vec<_> = members
                .iter()
                .map(|&machine| connection_now(site, machine))
                .collect();
            TrialUnit {
                machines: members.clone(),
                circuit: first
                    .and_then(|machine| moves_with_circuit(site, machine))
                    .map(|circuit| site.circuits[circuit].id.clone()),
                at: first.map_or_else(String::new, |machine| {
                    site.node_name(site.machines[machine].tapped_off).to_owned()
                }),
                choices: unit
                    .choices
                    .iter()
                    .map(|&turn| {
                        let at_turn = kinds.iter().map(|&kind| connection_at(kind, turn));
                        (turn, at_turn.collect())
                    })
                    .collect(),
                now: unit.current,
                plan,
                moves: unit.moves,
            }
        })
        .collect()
}

/// By how much the chosen intervals miss the largest currents, in allocations they were not chosen for.
fn compare(board: &mut TrialBoard, problem: &Problem, allocations: &[Vec<usize>]) {
    let nodes: Vec<&ProblemNode> = shown_nodes(problem).collect();
    let misses: Vec<f64> = allocations
        .par_iter()
        .map(|turns| {
            let figures = board.figures(turns);
            let misses = nodes.iter().zip(&figures).flat_map(|(node, told)| {
                let [l1, l2, l3] = told.phase_max_a;
                largest(problem, node, turns)
                    .into_iter()
                    .zip([l1, l2, l3, told.neutral_max_a])
                    .filter(|(all, _)| *all > 0.0)
                    .map(|(all, told)| 100.0 * (all - told) / all)
            });
            misses.fold(0.0, f64::max)
        })
        .collect();
    board.compared = allocations.len();
    board.largest_miss_pct = misses.into_iter().fold(0.0, f64::max);
}
