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
            entry(
                self.contradictions,
                "contradiction",
                Action::FirstKept,
                "different readings for the same interval; the first is kept",
            ),
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
