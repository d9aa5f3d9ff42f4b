//! What was odd in the lines of a meter's files, as entries of the quality list.

use crate::intervals::meter_part::MeterPart;
use crate::rows::Counts;
use crate::table::interval_table::IntervalTable;
use crate::table::quality::{Action, QualityEntry, Tally};
use crate::time::cadence::ClockJump;
use site::Quantity;
use units::format_duration;

/// What was odd in the lines of a meter's files.
#[derive(Clone, Debug)]
pub(crate) struct LineProblems {
    repeats: Tally,
    contradictions: Tally,
    /// Sums of the first and of the later values of those intervals.
    disputed: [f64; 2],
    later_counts: bool,
    late: Tally,
    /// Starts of the intervals whose only reading came again. (Unix s)
    repeated: Vec<i64>,
    bad_time: Tally,
    bad_cell: Tally,
    typeset_minus: Tally,
    headers: Tally,
    skipped_hour: Tally,
    repeated_hour: Tally,
    clock_jumps: Vec<ClockJump>,
}

impl LineProblems {
    pub(crate) fn of(part: &MeterPart, counts: &Counts) -> LineProblems {
        LineProblems {
            repeats: part.repeats,
            contradictions: part.contradictions,
            disputed: part.intervals.disputed,
            later_counts: part.intervals.later_counts(),
            late: part.late,
            repeated: part.repeated.clone(),
            bad_time: counts.bad_time,
            bad_cell: counts.bad_cell,
            typeset_minus: counts.typeset_minus,
            headers: counts.headers,
            skipped_hour: counts.skipped_hour,
            repeated_hour: counts.repeated_hour,
            clock_jumps: counts.steps.clock_jumps(),
        }
    }

    /// The entries; `files` are the names of the files and `table` holds what was read of them.
    pub(crate) fn entries(&self, files: &[String], table: &IntervalTable) -> Vec<QualityEntry> {
        let entry = |tally: Tally, kind: &str, action: Action, note: &str| {
            let entry = tally.entry_in(files, kind, note)?;
            Some(entry.with(action))
        };
        let repeats = entry(
            self.repeats,
            "duplicate",
            Action::CountedOnce,
            "identical readings repeated; counted once",
        );
        let not_counted = energy_of(table, &self.repeated);
        // Of faster logs the repeated samples are not kept.
        let whole = self.repeats.count == self.repeated.len() as u64;
        let effect = not_counted.filter(|_| whole).map(|kwh| -kwh);
        [
            repeats.map(|entry| entry.changing(effect)),
            self.contradicted(files, table),
            entry(
                self.late,
                "late-sample",
                Action::LeftOut,
                "samples earlier than those before them, as after a clock is put back; excluded",
            ),
            entry(
                self.bad_time,
                "unreadable-time",
                Action::LeftOut,
                "rows without a readable time; excluded",
            ),
            entry(
                self.bad_cell,
                "unreadable-cell",
                Action::LeftOut,
                "cells that are not numbers; excluded",
            ),
            entry(
                self.typeset_minus,
                "typeset-minus",
                Action::Corrected,
                "numbers with a minus sign or dash instead of a hyphen; read as negative",
            ),
            entry(
                self.headers,
                "repeated-header",
                Action::LeftOut,
                "repeated header lines; excluded",
            ),
            entry(
                self.skipped_hour,
                "skipped-hour",
                Action::Corrected,
                "local times skipped by the clock change; read as winter time",
            ),
            entry(
                self.repeated_hour,
                "repeated-hour",
                Action::Corrected,
                "local times repeated by the clock change; assigned by their order",
            ),
            self.clock_jump(),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

/// So many jumps are named with their lengths.
const MOST_NAMED: usize = 3;

impl LineProblems {
    /// Both sums of intervals with two values, and what to write where the other counts.
    fn contradicted(&self, files: &[String], table: &IntervalTable) -> Option<QualityEntry> {
        let hours = if table.origin(Quantity::EnergyInterval).is_some() {
            1.0
        } else {
            f64::from(table.interval_s()) / 3600.0
        };
        let [first, last] = self.disputed.map(|sum| sum * hours);
        let which = if self.later_counts { "last" } else { "first" };
        let other = if self.later_counts { "first" } else { "last" };
        let totals = if first.to_bits() == last.to_bits() {
            String::new()
        } else {
            format!(
                ": {} kWh by the first, {} kWh by the last; `corrections = \"{other}\"` under the meter takes the {other}",
                units::plain_figure(first),
                units::plain_figure(last)
            )
        };
        let note = format!("different readings for the same interval; the {which} is kept{totals}");
        let entry = self
            .contradictions
            .entry_in(files, "contradiction", &note)?;
        Some(entry.with(if self.later_counts {
            Action::LastKept
        } else {
            Action::FirstKept
        }))
    }

    fn clock_jump(&self) -> Option<QualityEntry> {
        let named = self.clock_jumps.iter().take(MOST_NAMED).map(|jump| {
            let length = format_duration((jump.to_s - jump.from_s).unsigned_abs());
            if jump.to_s < jump.from_s {
                format!("back by {length}")
            } else {
                format!("forward by {length}")
            }
        });
        let named: Vec<String> = named.collect();
        let times: Vec<i64> = self.clock_jumps.iter().map(|jump| jump.to_s).collect();
        let note = format!(
            "the clock of the logger jumps, {}: the readings go on at other seconds of their interval, so that the clock was set and not only readings are missing; compare it with the clock of another meter",
            named.join(", ")
        );
        let entry = QualityEntry::at_times("clock-jump", &times, note);
        (!times.is_empty()).then(|| entry.with(Action::Kept))
    }
}

/// Energy of some intervals; `None` where the power of one is not known. (kWh)
fn energy_of(table: &IntervalTable, starts: &[i64]) -> Option<f64> {
    let active = Quantity::ActivePower(None);
    if starts.is_empty() || table.is_of_register(active) {
        return None;
    }
    let power = table.values(active)?;
    let hours = f64::from(table.interval_s()) / 3600.0;
    let energy = |start: &i64| {
        let row = table.starts().binary_search(start).ok()?;
        Some(power.get(row)? * hours)
    };
    starts.iter().map(energy).sum()
}
