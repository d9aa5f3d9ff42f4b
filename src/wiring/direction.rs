//! Is each current transformer the right way round, and since when?

use std::ops::Range;

use super::DeclaredHere;
use super::channels::Channels;
use super::runs::boundary;
use super::series::ChannelSeries;
use metering::{FaultKind, MeterFault, Treatment};

/// Share of the largest power below which an interval says nothing about direction.
const WITH_LOAD: f64 = 0.05;
/// Blocks in which most loaded intervals agree vote; shorter logs steps than this are gathered. (s)
const BLOCK_S: i64 = 1800;
/// Share of a block's loaded intervals that must agree.
const AGREE: f64 = 0.8;
/// Weight of one block's vote, and what a change of direction costs: eight blocks that say so.
const VOTE: f64 = 3.0;
const TURN: f64 = 24.0;
/// More changes than this are no one at work on the wires, but a load that gives energy.
const MOST_TURNS: usize = 4;
/// A direction holds at least for so long where it does not hold to an end of the log: a night and a day. (s)
const SHORTEST_S: i64 = 20 * 3600;
/// Share of the loaded intervals of a stretch that are the wrong way.
const NEARLY_ALL: f64 = 0.95;
/// Smallest change of power, as a share of the largest power, whose voltage is looked at.
const STEP: f64 = 0.03;
/// A phase's step is its own where the others move by less than this part of it.
const OWN: f64 = 0.33;
/// Standard errors beyond which the voltage decides: a chance below 1 in 10⁹ if errors are normal.
const DECIDES: f64 = 6.0;
const FEWEST_STEPS: usize = 20;
/// Evidence: share of the loaded intervals that are negative. (%)
pub(crate) const SHARE: &str = "negative_share_of_loaded_intervals_pct";
/// Evidence: energy that is logged with the wrong sign. (kWh)
pub(crate) const ENERGY: &str = "energy_with_wrong_sign_kwh";
/// Night hours (UTC), in which the sun makes nothing.
const NIGHT: [i64; 5] = [22, 23, 0, 1, 2];

/// Phases that are read the wrong way round.
pub(crate) fn faults(channels: &Channels<'_>, ground: &DeclaredHere) -> Vec<MeterFault> {
    if let Some(total) = &channels.total_kw {
        return of_total(channels, ground, total);
    }
    let mut found = Vec::new();
    for phase in 0..3 {
        let Some(kw) = &channels.phases[phase].kw else {
            continue;
        };
        for rows in backward(channels, kw) {
            let judged = judge(channels, ground, phase, kw, &rows);
            let Some((kind, remedy)) = judged.verdict else {
                continue;
            };
            found.push(channels.fault(kind, Some(phase), rows, remedy, judged.evidence));
        }
    }
    found
}

/// A meter that logs no phase by itself: a load that always gives energy is read backwards.
fn of_total(
    channels: &Channels<'_>,
    ground: &DeclaredHere,
    kw: &ChannelSeries<'_>,
) -> Vec<MeterFault> {
    let all = 0..channels.len();
    let share = share_backward(kw, &all, largest(kw));
    let is_wrong = ground.is_machine
        && !ground.counts_export
        && share.is_some_and(|share| share >= NEARLY_ALL);
    is_wrong
        .then(|| {
            let hours = channels.interval_s as f64 / 3600.0;
            let evidence = vec![
                (SHARE, 100.0 * share.unwrap_or(0.0)),
                (ENERGY, -kw.iter().flatten().sum::<f64>() * hours),
            ];
            channels.fault(
                FaultKind::Reversed,
                None,
                all,
                Treatment::Corrected,
                evidence,
            )
        })
        .into_iter()
        .collect()
}

/// Stretches in which the power of a phase is backward: the likeliest course of a direction that seldom changes
/// (A. Viterbi, "Error bounds for convolutional codes", IEEE Transactions on Information Theory, vol. 13, 1967).
fn backward(channels: &Channels<'_>, kw: &ChannelSeries<'_>) -> Vec<Range<usize>> {
    let largest = largest(kw);
    if largest <= 0.0 {
        return Vec::new();
    }
    let votes = votes(channels, kw, largest);
    let states = course(&votes);
    if states.windows(2).filter(|pair| pair[0] != pair[1]).count() > MOST_TURNS {
        return Vec::new();
    }
    // Stretches as rows, their ends at the very interval.
    let mut found: Vec<Range<usize>> = Vec::new();
    let mut first = 0;
    while first < states.len() {
        let state = states[first];
        let mut last = first;
        while last + 1 < states.len() && states[last + 1] == state {
            last += 1;
        }
        if state {
            let from = if first == 0 {
                0
            } else {
                turning_row(kw, largest, around(&votes, first, false), true)
            };
            let to = if last + 1 == states.len() {
                channels.len()
            } else {
                turning_row(kw, largest, around(&votes, last + 1, true), false)
            };
            found.push(from..to);
        }
        first = last + 1;
    }
    found.retain(|rows| {
        let whole = *rows == (0..channels.len());
        let long = channels.duration_s(rows) >= SHORTEST_S;
        let agree = share_backward(kw, rows, largest).is_some_and(|share| share >= NEARLY_ALL);
        agree && (whole || long)
    });
    found
}

struct VoteBlock {
    rows: Range<usize>,
    vote: f64,
}

fn votes(channels: &Channels<'_>, kw: &ChannelSeries<'_>, largest: f64) -> Vec<VoteBlock> {
    let block_s = BLOCK_S.max(2 * channels.interval_s);
    let mut blocks: Vec<VoteBlock> = Vec::new();
    let mut first = 0;
    while first < channels.len() {
        let block = channels.starts[first].div_euclid(block_s);
        let mut end = first;
        while end < channels.len() && channels.starts[end].div_euclid(block_s) == block {
            end += 1;
        }
        let loaded: Vec<f64> = kw
            .within(first..end)
            .flatten()
            .filter(|kw| kw.abs() > WITH_LOAD * largest)
            .collect();
        let back = loaded.iter().filter(|kw| **kw < 0.0).count() as f64;
        let count = loaded.len() as f64;
        let vote = if count == 0.0 {
            0.0
        } else if back >= AGREE * count {
            -VOTE
        } else if back <= (1.0 - AGREE) * count {
            VOTE
        } else {
            0.0
        };
        blocks.push(VoteBlock {
            rows: first..end,
            vote,
        });
        first = end;
    }
    blocks
}

/// True where a block is backward, on the likeliest course.
fn course(blocks: &[VoteBlock]) -> Vec<bool> {
    let mut cost = [0.0, VOTE];
    let mut from: Vec<[usize; 2]> = Vec::with_capacity(blocks.len());
    for block in blocks {
        let stay = |state: usize| {
            let other = 1 - state;
            if cost[other] + TURN < cost[state] {
                (cost[other] + TURN, other)
            } else {
                (cost[state], state)
            }
        };
        let (right, backward) = (stay(0), stay(1));
        from.push([right.1, backward.1]);
        cost = [
            right.0 + (-block.vote).max(0.0),
            backward.0 + block.vote.max(0.0),
        ];
    }
    let mut state = usize::from(cost[1] < cost[0]);
    let mut states = vec![false; blocks.len()];
    for at in (0..blocks.len()).rev() {
        states[at] = state == 1;
        state = from[at][state];
    }
    states
}

/// Rows between the last block that says the direction was as before and the first that says it is not; those between
/// them say nothing. `first` is the block from which the course is another.
fn around(votes: &[VoteBlock], first: usize, was_backward: bool) -> Range<usize> {
    let sign = if was_backward { -1.0 } else { 1.0 };
    let before = (0..first).rev().find(|&at| votes[at].vote * sign > 0.0);
    let after = (first..votes.len()).find(|&at| votes[at].vote * sign < 0.0);
    votes[before.unwrap_or(0)].rows.start..votes[after.unwrap_or(votes.len() - 1)].rows.end
}

/// The row from which the direction is another: the one that the fewest loaded intervals contradict.
fn turning_row(
    kw: &ChannelSeries<'_>,
    largest: f64,
    rows: Range<usize>,
    into_backward: bool,
) -> usize {
    let sign = if into_backward { 1.0 } else { -1.0 };
    let wrong = |row: usize, sign: f64| {
        let value = kw.get(row).filter(|kw| kw.abs() > WITH_LOAD * largest);
        f64::from(u8::from(value.is_some_and(|kw| kw * sign < 0.0)))
    };
    boundary(rows, |row| wrong(row, sign), |row| wrong(row, -sign))
}

struct Judged {
    verdict: Option<(FaultKind, Treatment)>,
    evidence: Vec<(&'static str, f64)>,
}

/// Is it the wiring, or does energy flow back? A load that grows lowers its voltage whatever the sign on the meter; with a
/// transformer turned round a step of power towards export comes with a voltage that falls, with generation with one that
/// rises.
fn judge(
    channels: &Channels<'_>,
    ground: &DeclaredHere,
    phase: usize,
    kw: &ChannelSeries<'_>,
    rows: &Range<usize>,
) -> Judged {
    let largest = largest(kw);
    let share = share_backward(kw, rows, largest).unwrap_or(0.0);
    let mut evidence = vec![(SHARE, 100.0 * share)];
    let score = voltage_score(channels, phase, rows, largest);
    if let Some(score) = score {
        evidence.push(("voltage_against_power_standard_errors", score));
    }
    let energy =
        -kw.within(rows.clone()).flatten().sum::<f64>() * channels.interval_s as f64 / 3600.0;
    evidence.push((ENERGY, energy));
    let certain = Some((FaultKind::Reversed, Treatment::Corrected));
    let verdict = match score {
        Some(score) if score >= DECIDES => certain,
        Some(score) if score <= -DECIDES && ground.generates => None,
        Some(score) if score <= -DECIDES => Some((FaultKind::Generation, Treatment::Reported)),
        _ if ground.counts_export || ground.generates => None,
        // A single load cannot generate; what is wrong at night as well is not the sun.
        _ if ground.is_machine => certain,
        _ if at_night(channels, kw, rows, largest) || others_import(channels, phase, rows) => {
            certain
        }
        _ => Some((FaultKind::Reversed, Treatment::LeftOut)),
    };
    Judged { verdict, evidence }
}

/// Standard errors by which the phase's voltage, against the mean of the others, moves with its power: negative where a
/// load that grows lowers it, as it must. `None` with too few steps.
fn voltage_score(
    channels: &Channels<'_>,
    phase: usize,
    rows: &Range<usize>,
    largest: f64,
) -> Option<f64> {
    let volts = |phase: usize, row: usize| channels.phases[phase].volts.as_ref()?.get(row);
    let kw = |phase: usize, row: usize| channels.phases[phase].kw.as_ref()?.get(row);
    let others = [(phase + 1) % 3, (phase + 2) % 3];
    let step = |of: &dyn Fn(usize, usize) -> Option<f64>, phase: usize, row: usize| {
        Some(of(phase, row)? - of(phase, row - 1)?)
    };
    let mut steps: Vec<(f64, f64)> = Vec::new();
    for row in rows.start.max(1)..rows.end {
        if !channels.follows(row) || row == rows.start {
            continue;
        }
        let Some(own) = step(&kw, phase, row) else {
            continue;
        };
        if own.abs() < STEP * largest {
            continue;
        }
        let foreign = others
            .iter()
            .filter_map(|&other| step(&kw, other, row))
            .map(f64::abs)
            .fold(0.0, f64::max);
        if foreign > OWN * own.abs() {
            continue;
        }
        let moved = (|| {
            let own = step(&volts, phase, row)?;
            let rest = [step(&volts, others[0], row)?, step(&volts, others[1], row)?];
            Some(own - 0.5 * (rest[0] + rest[1]))
        })();
        if let Some(moved) = moved {
            steps.push((own, moved));
        }
    }
    if steps.len() < FEWEST_STEPS {
        return None;
    }
    let xy: f64 = steps.iter().map(|(x, y)| x * y).sum();
    let xx: f64 = steps.iter().map(|(x, _)| x * x).sum();
    let slope = xy / xx;
    // Each step's own residual: the scatter may differ from step to step.
    let spread: f64 = steps
        .iter()
        .map(|(x, y)| (x * (y - slope * x)).powi(2))
        .sum();
    (spread > 0.0).then(|| xy / spread.sqrt())
}

fn at_night(
    channels: &Channels<'_>,
    kw: &ChannelSeries<'_>,
    rows: &Range<usize>,
    largest: f64,
) -> bool {
    let is_night = |row: usize| {
        let hour = channels.starts[row].rem_euclid(86_400) / 3600;
        NIGHT.contains(&hour)
    };
    let loaded = rows
        .clone()
        .filter(|&row| is_night(row) && kw.get(row).is_some_and(|kw| kw < -WITH_LOAD * largest))
        .count();
    loaded as i64 * channels.interval_s >= 1800
}

/// Do the other phases draw while this one gives? Generation of one phase alone that outweighs its loads day and night is
/// not found in workshops.
fn others_import(channels: &Channels<'_>, phase: usize, rows: &Range<usize>) -> bool {
    let long = channels.duration_s(rows) >= SHORTEST_S;
    long && [(phase + 1) % 3, (phase + 2) % 3].iter().all(|&other| {
        channels.phases[other].kw.as_ref().is_some_and(|kw| {
            share_backward(kw, rows, largest(kw)).is_some_and(|share| share <= 1.0 - NEARLY_ALL)
        })
    })
}

/// Share of the loaded intervals that are backward; `None` without one.
fn share_backward(kw: &ChannelSeries<'_>, rows: &Range<usize>, largest: f64) -> Option<f64> {
    let (mut all, mut back) = (0.0, 0.0);
    for kw in kw.within(rows.clone()).flatten() {
        if kw.abs() > WITH_LOAD * largest {
            all += 1.0;
            back += f64::from(u8::from(kw < 0.0));
        }
    }
    (all > 0.0).then(|| back / all)
}

/// A power that few intervals exceed, so that one odd reading sets no scale.
fn largest(kw: &ChannelSeries<'_>) -> f64 {
    let sizes: Vec<f64> = kw.iter().flatten().map(f64::abs).collect();
    statistics::quantile(&sizes, 0.995).unwrap_or(0.0)
}
