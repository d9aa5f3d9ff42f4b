//! Which moves can be recommended where figures have a range: those that help whatever the truth within it.

use crate::expected::ExpectedLoads;
use crate::pose::from_site::Posed;
use crate::problem::solution::Solution;
use electrical::is_above_limit;

/// A move is recommended if it lowers the neutral in at least this share of the draws.
const HELPS: f64 = 0.95;

/// The plan that is recommended, and the share of the draws in which each of its changes helps.
pub(crate) struct Recommended {
    /// Turn of each unit.
    pub(crate) choices: Vec<usize>,
    /// For each unit that changes: the share of the draws in which the neutral is lower with its change than without. (1)
    pub(crate) helps: Vec<Option<f64>>,
}

/// Of the plans found, the one with the lowest neutral among those whose every move helps in nearly all draws.
///
/// A move that a limit needs is kept whatever it does to the neutral, and so is one of the units in `fixed`, which the
/// user keeps on a phase.
pub(crate) fn recommended(
    posed: &Posed,
    expected: &ExpectedLoads,
    solution: &Solution,
    fixed: &[usize],
) -> Recommended {
    let units = posed.problem.units().iter();
    let candidates = Candidates {
        posed,
        expected,
        now: units.map(|unit| unit.current).collect(),
        fixed,
    };
    if !solution.feasible {
        // Each of its moves makes an overload smaller, or may.
        return candidates.whole(solution.choices.clone());
    }
    let with_fewer = solution.moves_curve.iter().rev();
    let with_fewer = with_fewer.filter(|point| point.feasible);
    let plans = std::iter::once(&solution.choices).chain(with_fewer.map(|point| &point.choices));
    let mut seen: Vec<Vec<usize>> = Vec::new();
    let mut best: Option<(f64, Recommended)> = None;
    let now = candidates
        .now
        .iter()
        .copied()
        .collect::<Option<Vec<usize>>>();
    let maxima_now = now.as_ref().map(|now| candidates.maxima(now));
    for plan in plans {
        let pruned = candidates.pruned(plan.clone());
        if seen.contains(&pruned.choices) {
            continue;
        }
        seen.push(pruned.choices.clone());
        let square = posed.problem.evaluate(&pruned.choices).mean_square;
        if best.as_ref().is_some_and(|(least, _)| *least <= square) {
            continue;
        }
        let stays = now.as_ref() == Some(&pruned.choices);
        let maxima = candidates.maxima(&pruned.choices);
        if stays || !candidates.pass_more(&maxima, maxima_now.as_deref()) {
            best = Some((square, pruned));
        }
    }
    best.map_or_else(
        || candidates.whole(solution.choices.clone()),
        |(_, plan)| plan,
    )
}

struct Candidates<'a> {
    posed: &'a Posed,
    expected: &'a ExpectedLoads,
    now: Vec<Option<usize>>,
    fixed: &'a [usize],
}

impl Candidates<'_> {
    /// A plan with all of its moves.
    fn whole(&self, choices: Vec<usize>) -> Recommended {
        let helps = self.helps(&choices);
        Recommended { choices, helps }
    }

    /// Leaves out the move that helps least often, until all that may be left out help in nearly all draws.
    fn pruned(&self, choices: Vec<usize>) -> Recommended {
        let mut plan = self.whole(choices);
        loop {
            let doubtful = plan.helps.iter().enumerate();
            let doubtful = doubtful
                .filter_map(|(unit, share)| Some((unit, (*share)?)))
                .filter(|(unit, share)| *share < HELPS && !self.fixed.contains(unit))
                .filter_map(|(unit, share)| Some((self.without(&plan.choices, unit)?, share)))
                .filter(|(without, _)| self.posed.problem.evaluate(without).excess.is_none());
            match doubtful.min_by(|one, other| one.1.total_cmp(&other.1)) {
                Some((without, _)) => plan = self.whole(without),
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

    fn helps(&self, choices: &[usize]) -> Vec<Option<f64>> {
        let neutral = |choices: &[usize]| {
            let turns = self.expected.turns(&self.now, choices);
            self.expected.neutral_of_draws(0, &turns)
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

    /// Largest expected phase currents of each place. (A)
    fn maxima(&self, choices: &[usize]) -> Vec<[f64; 3]> {
        let turns = self.expected.turns(&self.now, choices);
        self.expected.phase_maxima(&turns, self.posed.places.len())
    }

    /// Does a place pass its limit further than now? A circuit may do so on another phase, but no further.
    fn pass_more(&self, after: &[[f64; 3]], now: Option<&[[f64; 3]]>) -> bool {
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
                let was = now.map_or(0.0, |now| excess(&now[place], limit));
                excess(&after[place], limit) > was + 1e-6 * limit
            })
        })
    }
}
