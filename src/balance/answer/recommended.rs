//! Which moves can be recommended where figures have a range: those that help whatever the truth within it.

use super::enough::enough;
use super::plan::{Plan, Recommended};
use crate::expected::ExpectedLoads;
use crate::pose::from_site::Posed;
use crate::problem::objective::Objective;
use crate::problem::settings::Settings;
use crate::problem::solution::Solution;
use electrical::is_above_limit;

/// A move is recommended if it lowers the neutral in at least this share of the draws.
const HELPS: f64 = 0.95;

/// What is recommended, and the best that could be.
pub(crate) struct Recommendation {
    pub(crate) plan: Recommended,
    /// All the moves that add anything.
    pub(crate) all_moves: Vec<usize>,
}

/// Of the plans found, the one that has moves enough; where figures have a range, among those whose every move helps in
/// nearly all draws.
///
/// A move that a limit needs is kept whatever it does to the neutral, and so is one of the units in `fixed`, which the
/// user keeps on a phase. `overloaded`: the plan where no allocation keeps the limits; each of its moves makes an
/// overload smaller, or may.
pub(crate) fn recommended(
    posed: &Posed,
    settings: &Settings,
    solution: &Solution,
    overloaded: Option<Vec<usize>>,
    fixed: &[usize],
) -> Recommendation {
    let candidates = Candidates {
        posed,
        // Another objective than the neutral is not judged by what its moves do to the neutral.
        expected: posed
            .expected
            .as_ref()
            .filter(|_| settings.objective == Objective::NeutralRms),
        now: posed
            .problem
            .units()
            .iter()
            .map(|unit| unit.current)
            .collect(),
        fixed,
    };
    if let Some(choices) = overloaded {
        return Recommendation {
            all_moves: choices.clone(),
            plan: candidates.whole(choices),
        };
    }
    let plans = candidates.plans(solution);
    let best = plans
        .iter()
        .min_by(|one, other| one.mean_square.total_cmp(&other.mean_square));
    let best = best.map(|plan| plan.recommended.choices.clone());
    let plan = enough(plans, solution.mean_square_now, settings).map(|plan| plan.recommended);
    Recommendation {
        plan: plan.unwrap_or_else(|| candidates.whole(solution.choices.clone())),
        all_moves: best.unwrap_or_else(|| solution.choices.clone()),
    }
}

struct Candidates<'a> {
    posed: &'a Posed,
    /// `None` where the figures are measured.
    expected: Option<&'a ExpectedLoads>,
    now: Vec<Option<usize>>,
    fixed: &'a [usize],
}

impl Candidates<'_> {
    /// The best allocation and those with fewer moves; none where every one of them would take a place further over its
    /// limit than now.
    fn plans(&self, solution: &Solution) -> Vec<Plan> {
        let best = (&solution.choices, solution.mean_square);
        let fewer = solution.with_fewer_moves.iter();
        let fewer = fewer.map(|plan| (&plan.choices, plan.mean_square));
        // Of plans with range the curve may have a better one, once the moves that may not help are left out.
        let curve = solution.moves_curve.iter().rev();
        let curve = curve
            .filter(|point| self.expected.is_some() && point.feasible)
            .map(|point| (&point.choices, point.mean_square));
        let mut plans: Vec<Plan> = Vec::new();
        for (choices, mean_square) in std::iter::once(best).chain(fewer).chain(curve) {
            let plan = match self.expected {
                Some(expected) => self.pruned(expected, choices.clone()),
                None => self.whole(choices.clone()),
            };
            let same = |other: &Plan| other.recommended.choices == plan.choices;
            if plans.iter().any(same) || self.passes_more_than_now(&plan.choices) {
                continue;
            }
            plans.push(Plan {
                mean_square: match self.expected {
                    Some(_) => self.posed.problem.evaluate(&plan.choices).mean_square,
                    None => mean_square,
                },
                moves: self.posed.problem.moves(&plan.choices),
                recommended: plan,
            });
        }
        plans
    }

    /// A plan with all of its moves.
    fn whole(&self, choices: Vec<usize>) -> Recommended {
        let helps = self
            .expected
            .map_or_else(Vec::new, |expected| self.helps(expected, &choices));
        Recommended { choices, helps }
    }

    /// Leaves out the move that helps least often, until all that may be left out help in nearly all draws.
    fn pruned(&self, expected: &ExpectedLoads, choices: Vec<usize>) -> Recommended {
        let whole = |choices: Vec<usize>| Recommended {
            helps: self.helps(expected, &choices),
            choices,
        };
        let mut plan = whole(choices);
        loop {
            let doubtful = plan.helps.iter().enumerate();
            let doubtful = doubtful
                .filter_map(|(unit, share)| Some((unit, (*share)?)))
                .filter(|(unit, share)| *share < HELPS && !self.fixed.contains(unit))
                .filter_map(|(unit, share)| Some((self.without(&plan.choices, unit)?, share)))
                .filter(|(without, _)| self.posed.problem.evaluate(without).excess.is_none());
            match doubtful.min_by(|one, other| one.1.total_cmp(&other.1)) {
                Some((without, _)) => plan = whole(without),
                None => return plan,
            }
        }
    }

    /// A plan less the move of one unit; `None` where the unit has no phase to stay on.
    fn without(&self, choices: &[usize], unit: usize) -> Option<Vec<usize>> {
        let mut without = choices.to_vec();
        without[unit] = self.now[unit]?;
        Some(without)
    }

    fn helps(&self, expected: &ExpectedLoads, choices: &[usize]) -> Vec<Option<f64>> {
        let neutral = |choices: &[usize]| {
            let turns = expected.turns(&self.now, choices);
            expected.neutral_of_draws(0, &turns)
        };
        let with = neutral(choices);
        (0..choices.len())
            .map(|unit| {
                if self.now[unit] == Some(choices[unit]) {
                    return None;
                }
                let without = neutral(&self.without(choices, unit)?);
                let pairs = with.iter().zip(&without);
                let lower = pairs.filter(|(with, without)| with < without).count();
                Some(lower as f64 / with.len().max(1) as f64)
            })
            .collect()
    }

    /// Is a place expected to pass its limit further than now? A circuit may do so on another phase, but no further.
    fn passes_more_than_now(&self, choices: &[usize]) -> bool {
        let Some(expected) = self.expected else {
            return false;
        };
        let now: Option<Vec<usize>> = self.now.iter().copied().collect();
        if now.as_deref() == Some(choices) {
            return false;
        }
        let maxima = |choices: &[usize]| {
            let turns = expected.turns(&self.now, choices);
            expected.phase_maxima(&turns, self.posed.places.len())
        };
        let (after, now) = (maxima(choices), now.as_deref().map(maxima));
        let nodes = self.posed.problem.nodes().iter();
        let limits = nodes
            .chain(&self.posed.circuits)
            .map(|node| node.phase_limit_a);
        let excess = |amps: &[f64; 3], limit: f64| -> f64 {
            let over = amps.iter().filter(|&&amps| is_above_limit(amps, limit));
            over.map(|amps| amps - limit).sum()
        };
        limits.enumerate().any(|(place, limit)| {
            limit.is_some_and(|limit| {
                let was = now.as_ref().map_or(0.0, |now| excess(&now[place], limit));
                excess(&after[place], limit) > was + 1e-6 * limit
            })
        })
    }
}
