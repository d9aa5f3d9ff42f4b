//! Stretches in which a standby generator feeds the installation.
//!
//! All three voltages leave their level at once by some per cent, stay away and come back at once, and the loads go on.
//! A load that switches off raises voltages as well, but takes its power with it; a transformer's tap steps by 2.5 % or
//! less and seldom comes back within the hour. Where the frequency is logged, it is no longer that of the network.

use std::ops::Range;

use super::channels::Channels;
use super::series::ChannelSeries;
use metering::{FaultKind, MeterFault, Treatment};
use statistics::median;

/// A set is regulated to 105 % of nominal, say; a tap of a transformer is 2.5 % or less (IEC 60076-1). Common practice.
const STEP: f64 = 0.035;
/// The levels before and after differ by nearly as much.
const LEVELS: f64 = 0.03;
/// A network's voltage does not go so far from its level.
const FARTHEST: f64 = 0.15;
/// A stretch lasts so long … (s)
const SHORTEST_S: i64 = 900;
/// … at least, and this at most: a network that is down for longer is news to nobody. (s)
const LONGEST_S: i64 = 14 * 86_400;
/// Rows on each side of a change whose middle is the level.
const ROWS: usize = 10;
/// Rows on each side that say whether the loads go on.
const ROWS_OF_LOAD: usize = 2;
/// Rows that a change may take.
const CHANGEOVER: usize = 3;
/// Share of the power before that goes on at the start.
const GOES_ON: f64 = 0.5;
/// A network's frequency stays this close to its usual value for nearly all the time (EN 50160: 1 %). (Hz)
const NETWORK_HZ: f64 = 0.1;

/// Stretches on a standby generator.
pub(crate) fn faults(channels: &Channels<'_>) -> Vec<MeterFault> {
    let [Some(l1), Some(l2), Some(l3)] = channels.phases.each_ref().map(|own| own.volts.as_ref())
    else {
        return Vec::new();
    };
    let volts = [l1, l2, l3];
    let levels = volts.map(|series| median(&series.iter().flatten().collect::<Vec<_>>()));
    let [Some(u1), Some(u2), Some(u3)] = levels else {
        return Vec::new();
    };
    let levels = [u1, u2, u3];
    let usual_hz = channels.frequency.as_ref().and_then(usual);
    // Smallest rise of the three from some rows ago, within what a network may have.
    let rise = |from: usize, to: usize| -> Option<f64> {
        let mut least = f64::INFINITY;
        for (series, level) in volts.iter().zip(levels) {
            let (old, new) = (series.get(from)?, series.get(to)?);
            let near = |volts: f64| (volts / level - 1.0).abs() <= FARTHEST;
            least = least.min(if near(old) && near(new) {
                new / old - 1.0
            } else {
                0.0
            });
        }
        Some(least)
    };
    let rises = |row: usize| {
        let mut before = row.saturating_sub(CHANGEOVER)..row;
        before.any(|before| rise(before, row).is_some_and(|rise| rise >= STEP))
    };
    let falls = |row: usize| {
        let mut before = row.saturating_sub(CHANGEOVER)..row;
        before.any(|before| rise(row, before).is_some_and(|rise| rise >= STEP))
    };
    let mut found: Vec<MeterFault> = Vec::new();
    let mut row = 1;
    while row < channels.len() {
        if !rises(row) {
            row += 1;
            continue;
        }
        let Some(end) = (row + CHANGEOVER..channels.len()).find(|&later| falls(later)) else {
            break;
        };
        let rows = row..end;
        row = end + 1;
        let length_s = channels.duration_s(&rows);
        if !(SHORTEST_S..=LONGEST_S).contains(&length_s) {
            continue;
        }
        let jump = |inside: Range<usize>, outside: Range<usize>| -> Option<f64> {
            let mut least = f64::INFINITY;
            for series in volts {
                let levels = [inside.clone(), outside.clone()]
                    .map(|rows| median(&series.within(rows).flatten().collect::<Vec<_>>()));
                least = least.min(levels[0]? / levels[1]? - 1.0);
            }
            Some(least)
        };
        let end_before = rows.start.saturating_sub(CHANGEOVER - 1);
        let start_after = (rows.end + CHANGEOVER - 1).min(channels.len());
        let up = jump(
            rows.start..rows.end.min(rows.start + ROWS),
            end_before.saturating_sub(ROWS)..end_before,
        );
        let down = jump(
            rows.start.max(rows.end.saturating_sub(ROWS))..rows.end,
            start_after..(start_after + ROWS).min(channels.len()),
        );
        let (Some(up), Some(down)) = (up, down) else {
            continue;
        };
        let before = end_before.saturating_sub(ROWS_OF_LOAD)..end_before;
        let first = rows.start..rows.start + ROWS_OF_LOAD;
        if up.min(down) < LEVELS || !loads_go_on(channels, &before, &first) {
            continue;
        }
        let hz = channels.frequency.as_ref().zip(usual_hz);
        let off_hz = hz.and_then(|(series, usual)| {
            let away: Vec<f64> = series
                .within(rows.clone())
                .flatten()
                .map(|hz| (hz - usual).abs())
                .collect();
            median(&away)
        });
        if off_hz.is_some_and(|off| off < NETWORK_HZ) {
            continue;
        }
        let mut evidence = vec![
            ("voltage_rises_by_pct", 100.0 * up),
            ("voltage_falls_back_by_pct", 100.0 * down),
        ];
        evidence.extend(off_hz.map(|hz| ("frequency_off_usual_hz", hz)));
        found.push(channels.fault(
            FaultKind::OnGenerator,
            None,
            rows,
            Treatment::Reported,
            evidence,
        ));
    }
    found
}

/// Does most of the power go on? What is off in the changeover and started by hand comes back later.
fn loads_go_on(channels: &Channels<'_>, before: &Range<usize>, first: &Range<usize>) -> bool {
    let power = |rows: &Range<usize>| -> Option<f64> {
        let phases = channels.phases.iter();
        phases.map(|own| mean(own.kw.as_ref()?, rows.clone())).sum()
    };
    match (power(before), power(first)) {
        (Some(before), Some(now)) => now >= GOES_ON * before,
        _ => true,
    }
}

fn usual(series: &ChannelSeries<'_>) -> Option<f64> {
    median(&series.iter().flatten().collect::<Vec<_>>())
}

fn mean(series: &ChannelSeries<'_>, rows: Range<usize>) -> Option<f64> {
    let known: Vec<f64> = series.within(rows).flatten().collect();
    (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
}
