//! As few moves as do it: which of several plans is urged, and what the moves beyond it would add.

use super::infeasible::{OverloadedConductor, overloaded};
use super::moves::connections;
use super::plan::Plan;
use crate::answer::result::OptionalMove;
use crate::pose::from_site::Posed;
use crate::pose::grid::AnalysisGrid;
use crate::problem::objective::Objective;
use crate::problem::problem::{Problem, above};
use crate::problem::settings::Settings;
use crate::problem::solution::Solution;
use crate::solve::solve;
use crate::work::effect::{Effects, PlannedChange};
use electrical::Phase;
use site::Site;

/// Overloads that differ by less count as equal, where no plan keeps the limits: fewer moves then decide. (A)
const EQUAL_OVERLOAD_A: f64 = 1.0;

/// A reduction of a neutral current that two readings of a clamp meter, each ±(2 % + 0.3 A), cannot show: nobody should
/// isolate a board for it. Common practice for the meter's error; the readings' errors add as squares. (A)
///
/// ```text
/// 25 A: √2·(0.02·25 + 0.3) = 1.1 A
/// ```
pub(super) fn small_gain_a(neutral_rms_a: f64) -> f64 {
    std::f64::consts::SQRT_2 * (0.02 * neutral_rms_a + 0.3)
}

/// Of plans that keep the limits, the one with the fewest moves that takes enough of the gain; the best where all moves
/// are asked for.
///
/// `now` is the minimised quantity now, as a mean square. (A²)
pub(super) fn enough(mut plans: Vec<Plan>, now: Option<f64>, settings: &Settings) -> Option<Plan> {
    let best = position_of_least(&plans, |plan| plan.mean_square)?;
    let (Some(enough_pct), Some(now)) = (settings.enough_pct, now) else {
        return Some(plans.swap_remove(best));
    };
    // A loss goes with the square of a current: it is a share of the mean square that is gained.
    let amount = |mean_square: f64| match settings.objective {
        Objective::NeutralLoss => mean_square,
        _ => mean_square.sqrt(),
    };
    let (now, least) = (amount(now), amount(plans[best].mean_square));
    let possible = now - least;
    let is_small = settings.objective == Objective::NeutralRms && possible < small_gain_a(now);
    // Where the neutral has nothing to gain, only the limits ask for moves, if anything does.
    let reach = if possible <= 0.0 || is_small {
        f64::INFINITY
    } else {
        (now - possible * enough_pct / 100.0) * (1.0 + 1e-12)
    };
    let fewest = (0..plans.len())
        .filter(|&plan| amount(plans[plan].mean_square) <= reach)
        .min_by(|&one, &other| {
            let (one, other) = (&plans[one], &plans[other]);
            let fewer = one.moves.cmp(&other.moves);
            fewer.then(one.mean_square.total_cmp(&other.mean_square))
        });
    Some(plans.swap_remove(fewest.unwrap_or(best)))
}

/// Where no allocation keeps the limits: the plan with the smallest overload that moves nothing onto a conductor that
/// is over its limit and stays further over it than now: that is a danger, whatever it does for another conductor.
pub(super) fn least_overload(
    site: &Site,
    (problem, grid): (&Problem, &AnalysisGrid),
    settings: &Settings,
    solution: &Solution,
) -> Vec<usize> {
    let plan = |solution: &Solution| fewest_of_least(site, (problem, grid), settings, solution);
    let first = plan(solution);
    let Some(standing) = problem.current() else {
        return first;
    };
    let now = overloaded(site, problem, grid, &standing);
    let raised = |turns: &[usize]| raised(&now, &overloaded(site, problem, grid, turns));
    let mut turns = first.clone();
    let mut allowed = problem.clone();
    for _ in 0..=now.len() {
        let conductors = raised(&turns);
        if conductors.is_empty() {
            return turns;
        }
        for (name, phase) in conductors {
            let of_name = problem.nodes().iter().filter(|node| node.name == name);
            of_name.for_each(|node| allowed.keep_off(node, phase));
        }
        turns = plan(&solve(&allowed, settings));
    }
    // Not to move raises nothing; the user may ask for a move all the same.
    let is_kept = |&(unit, turn): &(usize, usize)| standing[unit] == turn;
    if settings.fixed.iter().all(is_kept) {
        standing
    } else {
        first
    }
}

/// Conductors over their limit now and further over it then; `None` is a neutral.
fn raised(
    now: &[OverloadedConductor],
    then: &[OverloadedConductor],
) -> Vec<(String, Option<Phase>)> {
    let pairs = then.iter().filter_map(|over| {
        let of_both =
            |was: &&OverloadedConductor| (&was.node, was.conductor) == (&over.node, over.conductor);
        now.iter().find(of_both).map(|was| (was, over))
    });
    pairs
        .filter(|(was, over)| above(over.current_a, Some(was.current_a)) > 0.0)
        .map(|(_, over)| {
            let phase = Phase::ALL
                .into_iter()
                .find(|phase| phase.name() == over.conductor);
            (over.node.clone(), phase)
        })
        .collect()
}

/// Where no allocation keeps the limits: of the best and those with fewer moves, the fewest moves whose overload is
/// within 1 A of the smallest. One that takes a further conductor over its limit comes last: it would make a second
/// fault of one.
fn fewest_of_least(
    site: &Site,
    (problem, grid): (&Problem, &AnalysisGrid),
    settings: &Settings,
    solution: &Solution,
) -> Vec<usize> {
    let best = || solution.choices.clone();
    let Some(now) = problem.current().filter(|_| settings.enough_pct.is_some()) else {
        return best();
    };
    let now = overloaded(site, problem, grid, &now);
    let is_new = |conductor: &OverloadedConductor| {
        !now.iter()
            .any(|over| (&over.node, over.conductor) == (&conductor.node, conductor.conductor))
    };
    let fewer = solution
        .with_fewer_moves
        .iter()
        .map(|plan| plan.choices.clone());
    let plans = fewer
        .chain([best()])
        .filter(|turns| problem.ways().iter().all(|board| board.missing(turns) == 0));
    let plans: Vec<(bool, f64, Vec<usize>)> = plans
        .map(|turns| {
            let over = overloaded(site, problem, grid, &turns);
            let largest = over
                .iter()
                .map(|conductor| conductor.excess_a)
                .fold(0.0, f64::max);
            (over.iter().any(is_new), largest, turns)
        })
        .collect();
    let smallest = plans
        .iter()
        .map(|(new, over, _)| (*new, *over))
        .min_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
    let Some((new, smallest)) = smallest else {
        return best();
    };
    let near = plans
        .into_iter()
        .filter(|(is_new, over, _)| *is_new == new && *over <= smallest + EQUAL_OVERLOAD_A);
    let fewest = near.min_by_key(|(_, _, turns)| problem.moves(turns));
    fewest.map_or_else(best, |(_, _, turns)| turns)
}

/// From the plan to the best one, step by step, each with a lower neutral than the one before.
pub(super) fn optional_moves(
    site: &Site,
    posed: &Posed,
    plan: &[usize],
    best: &[usize],
) -> Vec<OptionalMove> {
    let differing = (0..plan.len()).filter(|&unit| plan[unit] != best[unit]);
    let changes: Vec<PlannedChange> = differing
        .map(|unit| PlannedChange {
            unit,
            from: Some(plan[unit]),
            to: best[unit],
        })
        .collect();
    let turns: Vec<Option<usize>> = plan.iter().copied().map(Some).collect();
    let effects = Effects::from(&posed.problem, &turns, &changes);
    let (from, to) = (
        connections(site, posed, plan),
        connections(site, posed, best),
    );
    let mut made = vec![false; changes.len()];
    let mut reached = effects.rms(&made);
    let mut out: Vec<OptionalMove> = Vec::new();
    // Changes that help only together are one step.
    let mut step = 1;
    let mut of_step: Vec<usize> = Vec::new();
    while let Some(next) =
        (0..changes.len())
            .filter(|&change| !made[change])
            .min_by(|&one, &other| {
                let added = |change| effects.added(&made, change);
                added(one).total_cmp(&added(other))
            })
    {
        made[next] = true;
        of_step.push(next);
        let neutral_rms_a = effects.rms(&made);
        let is_last = made.iter().all(|made| *made);
        if neutral_rms_a >= reached && !is_last {
            continue;
        }
        let machines = of_step
            .drain(..)
            .flat_map(|change| &posed.members[changes[change].unit]);
        out.extend(machines.map(|&machine| OptionalMove {
            step,
            machine: site.machines[machine].name.clone(),
            from: from[machine].1,
            to: to[machine].1,
            neutral_rms_a,
        }));
        reached = neutral_rms_a;
        step += 1;
    }
    out
}

fn position_of_least(plans: &[Plan], of: impl Fn(&Plan) -> f64) -> Option<usize> {
    (0..plans.len()).min_by(|&one, &other| of(&plans[one]).total_cmp(&of(&plans[other])))
}
