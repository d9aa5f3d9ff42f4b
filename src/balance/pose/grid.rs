//! The intervals of the analysis.

use chrono::{DateTime, NaiveDate, TimeZone, Utc};

use super::based_on::BasedOn;
use metering::{IntervalTable, Logs, MeterLog};
use site::{Measured, Site};

/// Length of the intervals of a typical week, where there is no log. (s)
const TYPICAL_STEP_S: i64 = 900;

/// The analysis intervals, all of one length.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct AnalysisGrid {
    /// Starts, Unix seconds, ascending.
    pub(crate) starts: Vec<i64>,
    pub(crate) interval_s: i64,
    /// The time that the analysis is about, Unix seconds, half-open.
    pub(crate) period_s: (i64, i64),
    /// The supply's meter, where it has values per phase.
    pub(crate) main: Option<usize>,
    /// No log: a typical week made of schedules.
    pub(crate) typical: bool,
    /// No log: a typical week as rounds of readings with a clamp meter have it.
    pub(crate) by_hand: bool,
}

impl AnalysisGrid {
    /// The supply's intervals where it is metered per phase; else those that all metered machines
    /// share; else a typical week.
    pub(crate) fn choose(site: &Site, logs: &Logs) -> AnalysisGrid {
        let main = site.meter_of(Measured::SUPPLY);
        if let Some(grid) = main
            .and_then(|meter| logs.of(meter))
            .and_then(AnalysisGrid::of_supply)
        {
            return grid;
        }
        let tables: Vec<&IntervalTable> = (0..site.machines.len())
            .filter_map(|machine| site.machine_meter(machine))
            .filter_map(|meter| logs.of(meter))
            .map(|log| &log.table)
            .collect();
        shared(&tables).unwrap_or_else(|| AnalysisGrid {
            by_hand: !logs.rounds.is_empty(),
            ..typical_week(site)
        })
    }

    /// The intervals in which the supply's meter has the current of each phase; `None` where it has none.
    fn of_supply(log: &MeterLog) -> Option<AnalysisGrid> {
        let phasors = log.phasors()?;
        let all = log.table.starts();
        let starts: Vec<i64> = (0..all.len())
            .filter(|&row| phasors.at(row).is_some())
            .map(|row| all[row])
            .collect();
        let interval_s = i64::from(log.table.interval_s());
        (!starts.is_empty()).then(|| AnalysisGrid {
            starts,
            interval_s,
            period_s: (all[0], all[all.len() - 1] + interval_s),
            main: Some(log.meter),
            typical: false,
            by_hand: false,
        })
    }

    /// Of intervals that are not the supply's.
    fn without_supply(starts: Vec<i64>, interval_s: i64) -> AnalysisGrid {
        let ends = starts.first().copied().zip(starts.last().copied());
        AnalysisGrid {
            period_s: ends.map_or((0, 0), |(first, last)| (first, last + interval_s)),
            starts,
            interval_s,
            main: None,
            typical: false,
            by_hand: false,
        }
    }

    /// Whether any interval overlaps the `length_s` seconds from `start` on.
    pub(crate) fn has_any_of(&self, start: i64, length_s: i64) -> bool {
        let next = self
            .starts
            .partition_point(|&begins| begins < start + length_s);
        next > 0 && self.starts[next - 1] + self.interval_s > start
    }

    /// The data behind the intervals.
    pub(crate) fn based_on(&self) -> BasedOn {
        match (self.typical, self.by_hand) {
            (true, true) => BasedOn::Readings,
            (true, false) => BasedOn::TypicalWeek,
            _ => BasedOn::Logs,
        }
    }

    pub(crate) fn from(&self) -> DateTime<Utc> {
        at(self.starts.first().copied().unwrap_or(0))
    }

    pub(crate) fn to(&self) -> DateTime<Utc> {
        at(self
            .starts
            .last()
            .map_or(0, |start| start + self.interval_s))
    }
}

pub(crate) fn at(seconds: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(seconds, 0).unwrap_or_default()
}

/// The intervals of the finest log in which every log has readings.
fn shared(tables: &[&IntervalTable]) -> Option<AnalysisGrid> {
    let finest = tables.iter().min_by_key(|table| table.interval_s())?;
    let lookups: Vec<Lookup<'_>> = tables.iter().map(|table| Lookup::new(table)).collect();
    let starts: Vec<i64> = finest
        .starts()
        .iter()
        .copied()
        .filter(|&start| lookups.iter().all(|lookup| lookup.row(start).is_some()))
        .collect();
    let interval_s = i64::from(finest.interval_s());
    (!starts.is_empty()).then(|| AnalysisGrid::without_supply(starts, interval_s))
}

/// Finds the row of a table that covers a moment.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lookup<'t> {
    starts: &'t [i64],
    interval_s: i64,
}

impl<'t> Lookup<'t> {
    pub(crate) fn new(table: &'t IntervalTable) -> Self {
        Lookup {
            starts: table.starts(),
            interval_s: i64::from(table.interval_s()),
        }
    }

    pub(crate) fn row(&self, moment: i64) -> Option<usize> {
        let after = self.starts.partition_point(|&start| start <= moment);
        let row = after.checked_sub(1)?;
        (moment < self.starts[row] + self.interval_s).then_some(row)
    }
}

/// A week without holidays in the site's winter time, so that no clock changes.
fn typical_week(site: &Site) -> AnalysisGrid {
    let monday = NaiveDate::from_ymd_opt(2026, 1, 12)
        .and_then(|date| date.and_hms_opt(0, 0, 0))
        .unwrap_or_default();
    let start = site
        .timezone
        .from_local_datetime(&monday)
        .earliest()
        .map_or(0, |time| time.timestamp());
    let starts = (0..7 * 86_400 / TYPICAL_STEP_S).map(|step| start + step * TYPICAL_STEP_S);
    AnalysisGrid {
        typical: true,
        ..AnalysisGrid::without_supply(starts.collect(), TYPICAL_STEP_S)
    }
}
