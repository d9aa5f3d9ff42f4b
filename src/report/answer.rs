//! The summary at the head of the page: phase loading, effect of the moves, what to do first.

use super::conductor::{Gauge, SupplyConductor, conductors, gauges, supply_meter};
use super::format::{amps, counted, duration, limit, listed};

use super::header::SiteHeader;

use balance::{BalanceResult, NodeFigures};

use demand::EnergyResult;

use electrical::{Phase, is_above_limit};
use export::{enough_sentence, open_sentences};

/// The first thing the reader sees.
#[derive(Debug)]
pub(super) struct Answer {
    pub(super) over: bool,
    pub(super) lead: String,
    pub(super) sentences: Vec<String>,
    pub(super) gauges: Vec<Gauge>,
    pub(super) gauge_note: String,
}

impl Answer {
    pub(super) fn new(
        header: &SiteHeader,
        balance: Option<&BalanceResult>,
        energy: &EnergyResult,
    ) -> Answer {
        let supply = supply_meter(energy);
        let conductors = conductors(header, balance, supply);
        let over: Vec<&SupplyConductor> = conductors.iter().filter(|c| c.is_over()).collect();
        Answer {
            over: !over.is_empty(),
            lead: lead(&conductors, balance),
            sentences: sentences(header, balance, &conductors),
            gauge_note: match balance {
                Some(balance) if !balance.is_measured() => {
                    "Estimated current that is not passed for 95 % of the time in the busiest hours, compared with the limit \
                     of each conductor."
                        .to_owned()
                }
                Some(balance) => format!(
                    "Maximum current in the period ({} means), compared with the limit of each conductor.",
                    duration(u64::from(balance.interval_s))
                ),
                None => {
                    "Maximum current that the supply meter logged (interval means), compared with the \
                         limit of each conductor."
                        .to_owned()
                }
            },
            gauges: gauges(&conductors),
        }
    }
}

fn lead(conductors: &[SupplyConductor], balance: Option<&BalanceResult>) -> String {
    let over: Vec<&SupplyConductor> = conductors.iter().filter(|c| c.is_over()).collect();
    let planned = balance.is_some_and(|balance| balance.before.is_none());
    let once = if planned {
        "Once connected as planned, "
    } else {
        ""
    };
    if !over.is_empty() {
        let peaks: Vec<String> = over.iter().map(|conductor| conductor.peak()).collect();
        return format!("{once}{}.", listed(&peaks));
    }
    let most_loaded = conductors.iter().max_by(|a, b| {
        let share = |c: &SupplyConductor| c.current_a().unwrap_or(0.0) / c.limit_a;
        share(a).total_cmp(&share(b))
    });
    match most_loaded {
        Some(conductor) => format!(
            "{once}{}. It is the most heavily loaded conductor; no limit is exceeded.",
            conductor.peak()
        ),
        None => "Phase loading is not known: no phase current was logged at the supply, and no \
                 machine list was analysed."
            .to_owned(),
    }
}

fn sentences(
    header: &SiteHeader,
    balance: Option<&BalanceResult>,
    conductors: &[SupplyConductor],
) -> Vec<String> {
    let Some(balance) = balance else {
        return Vec::new();
    };
    let mut out = Vec::new();
    if let Some(before) = &balance.before {
        out.extend(time_over(before, balance.interval_s));
        out.push(format!(
            "Neutral current, rms over the period: {} now, {} after the moves. Maximum: {} now, {} \
             after; its limit is {}.",
            amps(before.neutral_rms_a),
            amps(balance.after.neutral_rms_a),
            amps(before.neutral_max_a),
            amps(balance.after.neutral_max_a),
            limit(header.neutral_limit_a),
        ));
    } else {
        out.push(format!(
            "Some machines have no phase yet, so there is no present state to compare with. \
             Connected as listed below, the neutral carries {} rms over the period and {} at \
             maximum.",
            amps(balance.after.neutral_rms_a),
            amps(balance.after.neutral_max_a),
        ));
    }
    out.extend(enough_sentence(balance));
    out.extend(
        open_sentences(balance)
            .iter()
            .map(|sentence| sentence.replace('`', "")),
    );
    if let Some(point) = balance.fewest_within_limits() {
        out.push(format!(
            "{} {} enough to bring the supply and the boards within their limits, with {} rms in the neutral. To \
             see it on screen, choose “Best with {} moves” on the what-if board.",
            counted(point.moves, "move", "moves").replace("1\u{A0}move", "A single move"),
            if point.moves == 1 { "is" } else { "are" },
            amps(point.neutral_rms_a),
            point.moves,
        ));
    }
    let still: Vec<String> = conductors
        .iter()
        .filter(|c| c.now_a.is_some() && c.after_a.is_some_and(|amps| c.is_above(amps)))
        .map(|c| {
            format!(
                "{} still peaks at {}",
                c.name,
                amps(c.after_a.unwrap_or_default())
            )
        })
        .collect();
    if !still.is_empty() && !balance.moves.is_empty() {
        out.push(format!(
            "After the moves {}: moving loads is not enough. Run fewer machines at once, or have the \
             supply capacity increased.",
            listed(&still)
        ));
    }
    out.extend(boards_over(header, balance));
    out
}

fn time_over(figures: &NodeFigures, interval_s: u32) -> Option<String> {
    let parts: Vec<String> = Phase::ALL
        .into_iter()
        .filter(|phase| figures.intervals_over_limit[phase.index()] > 0)
        .map(|phase| {
            let intervals = figures.intervals_over_limit[phase.index()] as u64;
            format!(
                "{phase} is over its limit for {}",
                duration(intervals * u64::from(interval_s))
            )
        })
        .collect();
    (!parts.is_empty()).then(|| format!("Over the whole period, {}.", listed(&parts)))
}

fn boards_over(header: &SiteHeader, balance: &BalanceResult) -> Vec<String> {
    header
        .boards
        .iter()
        .filter_map(|board| {
            let node = balance.nodes.iter().find(|node| node.id == board.id)?;
            let figures = node.before.as_ref().unwrap_or(&node.after);
            let over: Vec<String> = Phase::ALL
                .into_iter()
                .filter(|phase| {
                    board
                        .phase_limit_a
                        .is_some_and(|a| is_above_limit(figures.phase_max_a[phase.index()], a))
                })
                .map(|phase| format!("{phase} {}", amps(figures.phase_max_a[phase.index()])))
                .collect();
            let limit_a = board.phase_limit_a?;
            (!over.is_empty()).then(|| {
                format!(
                    "Board {} is over its {} limit: {}.",
                    board.id,
                    limit(limit_a),
                    listed(&over)
                )
            })
        })
        .collect()
}
