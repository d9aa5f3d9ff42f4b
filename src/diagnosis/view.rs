//! One meter and its log, as the checks use them.

use chrono::{DateTime, NaiveDateTime, Utc};

use analysis::MeterAnalysis;
use electrical::Phase;
use finding::Spot;
use metering::{IntervalTable, Logged, MeterLog};
use site::{Measured, Meter, Node, Quantity, Site};

/// Values over time; `None` is not known.
pub(super) type Series = Vec<Option<f64>>;

/// A meter with its log.
#[derive(Clone, Copy, Debug)]
pub(super) struct View<'s> {
    pub(super) site: &'s Site,
    pub(super) meter: &'s Meter,
    pub(super) log: &'s MeterLog,
}

impl<'s> View<'s> {
    pub(super) fn new(site: &'s Site, log: &'s MeterLog) -> View<'s> {
        View {
            site,
            meter: &site.meters[log.meter],
            log,
        }
    }

    pub(super) fn table(&self) -> &'s IntervalTable {
        &self.log.table
    }

    /// The table as it was logged, before faults of the meter were corrected or left out.
    pub(super) fn logged(&self) -> &'s IntervalTable {
        self.log.as_logged()
    }

    pub(super) fn analysis(&self) -> MeterAnalysis<'s> {
        MeterAnalysis::of(self.log)
    }

    pub(super) fn interval_s(&self) -> i64 {
        i64::from(self.table().interval_s())
    }

    /// The supply, board or circuit that is measured.
    pub(super) fn node(&self) -> Option<Node> {
        match self.meter.measures {
            Measured::Node(node) => Some(node),
            Measured::Machine(_) => None,
        }
    }

    pub(super) fn is_supply(&self) -> bool {
        self.meter.measures == Measured::SUPPLY
    }

    pub(super) fn spot(&self, phase: Option<Phase>) -> Spot {
        let name = self.site.measured_name(self.meter.measures).to_owned();
        let is_node = self.node().is_some();
        Spot {
            meter: Some(self.meter.id.clone()),
            phase,
            node: is_node.then(|| name.clone()),
            machine: (!is_node).then_some(name),
        }
    }

    pub(super) fn from(&self) -> DateTime<Utc> {
        at(self.table().starts().first().copied().unwrap_or(0))
    }

    pub(super) fn to(&self) -> DateTime<Utc> {
        let last = self.table().starts().last().copied();
        at(last.map_or(0, |last| last + self.interval_s()))
    }

    /// Local time of the site.
    pub(super) fn local(&self, seconds: i64) -> NaiveDateTime {
        at(seconds).with_timezone(&self.site.timezone).naive_local()
    }

    pub(super) fn by_phase(&self, quantity: impl Fn(Phase) -> Quantity) -> Option<[Logged<'s>; 3]> {
        self.table().by_phase(quantity)
    }

    /// Nominal voltage to neutral as standards name it: 230 V for 400 V line to line. (V)
    pub(super) fn nominal_v(&self) -> f64 {
        let line = self.site.supply.line_voltage_v;
        if (line - 400.0).abs() < 0.5 {
            230.0
        } else {
            self.site.supply.phase_voltage_v()
        }
    }
}

pub(super) fn at(seconds: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(seconds, 0).unwrap_or_default()
}

/// Means over windows of `length_s` aligned to UTC, as (start, mean); only windows with at least
/// nine tenths of their intervals.
pub(super) fn blocks(
    starts: &[i64],
    values: impl IntoIterator<Item = Option<f64>>,
    interval_s: i64,
    length_s: i64,
) -> Vec<(i64, f64)> {
    let needed = 0.9 * length_s as f64 / interval_s as f64;
    let mut blocks: Vec<(i64, f64, f64)> = Vec::new();
    for (&start, value) in starts.iter().zip(values) {
        let Some(value) = value else { continue };
        let block = start - start.rem_euclid(length_s);
        match blocks.last_mut() {
            Some((known, sum, count)) if *known == block => {
                *sum += value;
                *count += 1.0;
            }
            _ => blocks.push((block, value, 1.0)),
        }
    }
    blocks
        .into_iter()
        .filter(|(_, _, count)| *count >= needed)
        .map(|(start, sum, count)| (start, sum / count))
        .collect()
}

/// Longest run of intervals, one right after the other, for which `holds` is true: (start, length in s).
pub(super) fn longest_spell(
    starts: &[i64],
    interval_s: i64,
    holds: impl Fn(usize) -> bool,
) -> Option<(i64, i64)> {
    let mut best: Option<(i64, i64)> = None;
    let mut run: Option<(i64, i64)> = None;
    for (row, &start) in starts.iter().enumerate() {
        if !holds(row) {
            run = None;
            continue;
        }
        run = Some(match run {
            Some((first, length)) if first + length == start => (first, length + interval_s),
            _ => (start, interval_s),
        });
        if run.map(|run| run.1) > best.map(|best| best.1) {
            best = run;
        }
    }
    best
}

/// Runs of intervals for which `holds` is true: (start, end), Unix seconds; those less than `join_s` apart count as one.
pub(super) fn spells(
    starts: &[i64],
    interval_s: i64,
    join_s: i64,
    holds: impl Fn(usize) -> bool,
) -> Vec<(i64, i64)> {
    let mut spells: Vec<(i64, i64)> = Vec::new();
    for (row, &start) in starts.iter().enumerate() {
        if !holds(row) {
            continue;
        }
        match spells.last_mut() {
            Some(last) if start - last.1 <= join_s => last.1 = start + interval_s,
            _ => spells.push((start, start + interval_s)),
        }
    }
    spells
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spells_close_together_count_as_one() {
        let starts = [0, 60, 120, 180, 240, 600];
        let holds = |row: usize| row != 2;
        assert_eq!(spells(&starts, 60, 60, holds), [(0, 300), (600, 660)]);
        assert_eq!(
            spells(&starts, 60, 0, holds),
            [(0, 120), (180, 300), (600, 660)]
        );
    }

    #[test]
    fn a_gap_ends_a_spell() {
        let starts = [0, 60, 120, 240, 300];
        assert_eq!(longest_spell(&starts, 60, |_| true), Some((0, 180)));
        assert_eq!(longest_spell(&starts, 60, |row| row > 2), Some((240, 120)));
        assert_eq!(longest_spell(&starts, 60, |_| false), None);
    }

    #[test]
    fn blocks_with_holes_do_not_count() {
        let starts: Vec<i64> = (0..20).map(|row| row * 60).collect();
        let mut values: Series = vec![Some(2.0); 20];
        values[12] = None;
        values[13] = None;
        assert_eq!(blocks(&starts, values, 60, 600), [(0, 2.0)]);
    }
}
