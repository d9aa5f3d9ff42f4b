//! The worst thing, and what cures it, in one or two sentences.

use crate::conductor::SupplyConductor;
use crate::findings::place;
use crate::format::{amps, counted, listed};
use balance::{BalanceResult, NodeResult};
use electrical::{Phase, is_above_limit};
use finding::Finding;

/// The headline, and whether it speaks of a danger or an overload.
pub(super) fn headline(
    conductors: &[SupplyConductor],
    balance: Option<&BalanceResult>,
    danger: Option<&Finding>,
) -> (String, bool) {
    let mut parts = Vec::new();
    if let Some(danger) = danger {
        let title = danger.kind.title().to_lowercase();
        parts.push(format!("Danger: {title}, {}.", place(&danger.spot)));
    }
    let mut over: Vec<String> = conductors
        .iter()
        .filter(|conductor| conductor.is_over())
        .filter_map(|conductor| {
            let excess = conductor.current_a()? - conductor.limit_a;
            Some(format!(
                "{} is {} over its limit",
                conductor.name,
                amps(excess)
            ))
        })
        .collect();
    over.extend(balance.and_then(worst_below));
    let by_estimate = balance.is_some_and(|balance| !balance.is_measured());
    let is_bad = danger.is_some() || !over.is_empty();
    let loading = match (over.is_empty(), conductors.is_empty()) {
        (false, _) if by_estimate => Some(format!("By estimate {}", listed(&over))),
        (false, _) => Some(listed(&over)),
        (true, true) if danger.is_none() => {
            Some("Phase loading is not known: no phase current was logged at the supply".to_owned())
        }
        (true, false) if danger.is_none() && by_estimate => {
            Some("By estimate no limit is exceeded".to_owned())
        }
        (true, false) if danger.is_none() => Some("No limit is exceeded".to_owned()),
        _ => None,
    };
    let cure = balance.and_then(|balance| cure(balance, !over.is_empty()));
    match (loading, cure) {
        (Some(loading), Some(cure)) => parts.push(format!("{loading}; {cure}.")),
        (Some(loading), None) => parts.push(format!("{loading}.")),
        (None, Some(cure)) => parts.push(format!("{}.", capital(&cure))),
        (None, None) => {}
    }
    (parts.join(" "), is_bad)
}

/// Of boards and circuits, what is furthest over its limit now.
fn worst_below(balance: &BalanceResult) -> Option<String> {
    let below = balance.nodes.iter().filter(|node| node.id != "supply");
    let excess = |node: &NodeResult| -> Option<(f64, Phase, String)> {
        let (limit, now) = (node.phase_limit_a?, node.before.as_ref()?);
        let phase = Phase::ALL
            .into_iter()
            .max_by(|a, b| now.phase_max_a[a.index()].total_cmp(&now.phase_max_a[b.index()]))?;
        let amps = now.phase_max_a[phase.index()];
        is_above_limit(amps, limit).then(|| (amps - limit, phase, node.id.clone()))
    };
    let worst = below
        .filter_map(excess)
        .max_by(|a, b| a.0.total_cmp(&b.0))?;
    let (excess, phase, id) = worst;
    Some(format!(
        "{id} is {} over its limit on {phase}",
        amps(excess)
    ))
}

/// What the plan does about it; `None` where nothing is known of now.
fn cure(balance: &BalanceResult, is_over: bool) -> Option<String> {
    let before = balance.before.as_ref()?;
    let count = balance.work_order.moves();
    let moves = counted(count, "move", "moves").replace("1\u{A0}move", "one move");
    let left = balance.infeasible.as_ref().map(|infeasible| {
        let excess = infeasible.limits.iter().map(|limit| limit.excess_a);
        excess.fold(0.0, f64::max)
    });
    let later = balance
        .after_repair
        .as_ref()
        .is_some_and(|after| after.within_limits);
    Some(match (left, count) {
        (Some(_), 0) if later => "moves that cure it must wait for the repair".to_owned(),
        (Some(_), 0) => "moving loads does not cure it: reduce the load".to_owned(),
        (Some(left), _) => {
            let leaves = if count == 1 { "leaves" } else { "leave" };
            let rest = if later {
                "the rest after the repair"
            } else {
                "for the rest reduce the load"
            };
            format!("{moves} {leaves} {} over, {rest}", amps(left))
        }
        (None, 0) if is_over => "moving loads does not cure it: reduce the load".to_owned(),
        (None, 0) => "no move is worth making".to_owned(),
        (None, _) if is_over => {
            let bring = if count == 1 { "brings" } else { "bring" };
            format!("{moves} {bring} every conductor within its limit")
        }
        (None, _) => {
            let lower = if count == 1 { "lowers" } else { "lower" };
            format!(
                "{moves} {lower} the neutral current from {} to {} rms",
                amps(before.neutral_rms_a),
                amps(balance.after.neutral_rms_a)
            )
        }
    })
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
