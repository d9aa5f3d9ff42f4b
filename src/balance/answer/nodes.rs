//! Supply, boards and circuits before and after.

use crate::answer::figures::NodeSeries;
use crate::answer::result::NodeResult;
use crate::expected::ExpectedLoads;
use crate::pose::from_site::Posed;
use crate::problem::problem::ProblemNode;
use electrical::is_above_limit;
use site::Site;
use units::Basis;

/// Supply, boards and circuits.
pub(super) fn nodes(
    site: &Site,
    posed: &Posed,
    now: Option<&[usize]>,
    turns: &[usize],
) -> Vec<NodeResult> {
    if let Some(expected) = &posed.expected {
        return expected_nodes(site, posed, expected, now, turns);
    }
    posed
        .problem
        .nodes()
        .iter()
        .chain(&posed.circuits)
        .zip(posed.places.iter().zip(&posed.seen))
        .map(|(node, (&place, seen))| {
            let limit = node.phase_limit_a;
            let figures = |turns: &[usize]| series(posed, node, turns).figures(limit);
            let measured = seen.figures.as_ref();
            // Measured figures are reported as measured; only the others are calculated.
            let before =
                now.map(|now| measured.map_or_else(|| figures(now), |seen| seen.now.clone()));
            // Where nothing moves, nothing changes, not even in the last digit.
            let after = match &before {
                Some(before) if now == Some(turns) => before.clone(),
                _ => figures(turns),
            };
            NodeResult {
                id: site.node_name(place).to_owned(),
                basis: if seen.is_measured {
                    Basis::Measured
                } else {
                    Basis::Estimated
                },
                phase_limit_a: limit,
                neutral_limit_a: node.neutral_limit_a,
                before,
                after,
                model_difference_neutral_rms_a: measured.map(|seen| seen.difference.rms_a),
                model_difference_neutral_max_a: measured.map(|seen| seen.difference.max_a),
            }
        })
        .collect()
}

/// The same where there is no log.
fn expected_nodes(
    site: &Site,
    posed: &Posed,
    expected: &ExpectedLoads,
    now: Option<&[usize]>,
    turns: &[usize],
) -> Vec<NodeResult> {
    let units = posed.problem.units().iter().map(|unit| unit.current);
    let current: Vec<Option<usize>> = units.collect();
    let all: Vec<&ProblemNode> = posed
        .problem
        .nodes()
        .iter()
        .chain(&posed.circuits)
        .collect();
    let limits: Vec<Option<f64>> = all.iter().map(|node| node.phase_limit_a).collect();
    let figures = |turns: &[usize]| {
        let means = all
            .iter()
            .map(|node| series(posed, node, turns).figures(None));
        expected.figures(&expected.turns(&current, turns), means.collect(), &limits)
    };
    let before = now.map(figures);
    let after = figures(turns);
    all.iter()
        .zip(&posed.places)
        .zip(after)
        .enumerate()
        .map(|(at, ((node, &place), after))| NodeResult {
            id: site.node_name(place).to_owned(),
            basis: Basis::Estimated,
            phase_limit_a: node.phase_limit_a,
            neutral_limit_a: node.neutral_limit_a,
            before: before.as_ref().map(|before| before[at].clone()),
            after,
            model_difference_neutral_rms_a: None,
            model_difference_neutral_max_a: None,
        })
        .collect()
}

/// Circuits whose device the plan overloads further: no choice of phases keeps their limit.
pub(super) fn overloaded_circuits(site: &Site, nodes: &[NodeResult]) -> Vec<String> {
    let circuits = &nodes[1 + site.boards.len()..];
    circuits
        .iter()
        .filter_map(|node| {
            let limit = node.phase_limit_a?;
            let over = |amps: f64| is_above_limit(amps, limit);
            let most = |amps: [f64; 3]| amps.into_iter().fold(0.0, f64::max);
            let after = most(node.after.phase_max_a);
            let now = node.before.as_ref().map(|now| most(now.phase_max_a));
            let is_worse = now.is_none_or(|now| after > now * (1.0 + 1e-9));
            (over(after) && is_worse).then(|| {
                format!(
                    "after the moves circuit `{}` reaches {after:.1} A on a phase, above its device of {limit} A; one of \
                     its machines alone passes that, or no allocation keeps it: look at its device and list, or hold \
                     machines of this circuit where they are with `--fix`",
                    node.id
                )
            })
        })
        .collect()
}

/// The currents of a node, interval by interval.
pub(super) fn series(posed: &Posed, node: &ProblemNode, turns: &[usize]) -> NodeSeries {
    NodeSeries::new(&posed.problem.node_currents(node, turns))
}
