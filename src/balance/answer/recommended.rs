//! Which moves can be recommended where figures have a range: those that help whatever the truth within it.

use crate::answer::figures::NodeFigures;
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
/// `fixed` are the units that the user keeps on a phase: these moves are not asked about.
pub(crate) fn recommended(
    posed: &Posed,
    expected: &ExpectedLoads,
    solution: &Solution,
    fixed: &[usize],
) -> Recommended {
    let now: Vec<Option<usize>> = posed
        .problem
        .units()
        .iter()
        .map(|unit| unit.current)
        .collect();
    let all = std::iter::once(&solution.choices);
    let plans = all.chain(
        solution
            .moves_curve
            .iter()
            .rev()
            .map(|point| &point.choices),
    );
    let mut best: Option<(f64, Recommended)> = None;
    let limits: Vec<Option<f64>> = posed
        .problem
        .nodes()
        .iter()
        .chain(&posed.circuits)
        .map(|node| node.phase_limit_a)
        .collect();
    let most_now = now
        .iter()
        .copied()
        .collect::<Option<Vec<usize>>>()
        .map(|now_turns| expected.figures(&expected.turns(&now, &now_turns), &limits));
    let mut seen: Vec<Vec<usize>> = Vec::new();
    for plan in plans {
        let pruned = prune(expected, &now, fixed, plan.clone());
        if seen.contains(&pruned.choices) {
            continue;
        }
        seen.push(pruned.choices.clone());
        let square = posed.problem.evaluate(&pruned.choices).mean_square;
        if best.as_ref().is_some_and(|(least, _)| *least <= square) {
            continue;
        }
        let after = expected.figures(&expected.turns(&now, &pruned.choices), &limits);
        let excess = |figures: &NodeFigures, limit: f64| -> f64 {
            let over = figures
                .phase_max_a
                .iter()
                .filter(|&&amps| is_above_limit(amps, limit));
            over.map(|amps| amps - limit).sum()
        };
        // A circuit that is over its limit may be so on another phase, but no further.
        let passes_more = after
            .iter()
            .zip(&limits)
            .enumerate()
            .any(|(place, (after, limit))| {
                limit.is_some_and(|limit| {
                    let was = most_now
                        .as_ref()
                        .map_or(0.0, |now| excess(&now[place], limit));
                    excess(after, limit) > was + 1e-6 * limit
                })
            });
        let stays = now
            .iter()
            .zip(&pruned.choices)
            .all(|(now, to)| *now == Some(*to));
        if !passes_more || stays {
            best = Some((square, pruned));
        }
    }
    best.map_or_else(
        || prune(expected, &now, fixed, solution.choices.clone()),
        |(_, plan)| plan,
    )
}

/// Leaves out the move that helps least often, until all that are left help in nearly all draws.
fn prune(
    expected: &ExpectedLoads,
    now: &[Option<usize>],
    fixed: &[usize],
    mut choices: Vec<usize>,
) -> Recommended {
    loop {
        let helps = helps(expected, now, &choices);
        let droppable = helps
            .iter()
            .enumerate()
            .filter_map(|(unit, share)| Some((unit, (*share)?)))
            .filter(|(unit, _)| now[*unit].is_some() && !fixed.contains(unit));
        let least = droppable.min_by(|one, other| one.1.total_cmp(&other.1));
        match least {
            Some((unit, share)) if share < HELPS => {
                choices[unit] = now[unit].unwrap_or(choices[unit]);
            }
            _ => return Recommended { choices, helps },
        }
    }
}

fn helps(expected: &ExpectedLoads, now: &[Option<usize>], choices: &[usize]) -> Vec<Option<f64>> {
    let with = expected.neutral_of_draws(0, &expected.turns(now, choices));
    (0..choices.len())
        .map(|unit| {
            if now[unit] == Some(choices[unit]) {
                return None;
            }
            let mut without = choices.to_vec();
            without[unit] = now[unit]?;
            let without = expected.neutral_of_draws(0, &expected.turns(now, &without));
            let lower = with
                .iter()
                .zip(&without)
                .filter(|(with, without)| with < without);
            Some(lower.count() as f64 / with.len().max(1) as f64)
        })
        .collect()
}
