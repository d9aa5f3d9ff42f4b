//! Readings that cannot be: counted, shown, and kept out of the figures that they would spoil.
//!
//! In: the columns of a meter and what is nominal there. Out: entries of the quality list, and
//! unknown values in place of those left out. What can be real stays: overloads, inrush,
//! generation, and whatever only looks odd is reported at most. All thresholds stand in
//! [`bounds`], each with its reason.

mod apparent;
mod bounds;
mod factor;
mod flat;
mod scale;
mod signs;
mod spikes;
mod voltage;

pub use bounds::FREQUENCY_SHARE;
pub(crate) use bounds::Nominal;

use super::readings::{Cells, Readings};
use crate::table::quality::{Action, QualityEntry};
use site::Plausibility;

/// Looks at all columns; what cannot be becomes unknown unless the meter says `keep`.
pub(crate) fn check(
    readings: &mut Readings,
    nominal: &Nominal,
    setting: Plausibility,
) -> Vec<QualityEntry> {
    let mut work = PlausibilityCheck {
        readings,
        nominal,
        setting,
        entries: Vec::new(),
    };
    // Percent and sign first: the rest reads the values that they leave behind. What is out of
    // scale as a whole is not judged reading by reading.
    factor::percent(&mut work);
    signs::magnitudes(&mut work);
    let doubted = scale::out_of_scale(&mut work);
    spikes::spikes(&mut work, &doubted);
    voltage::lost(&mut work, &doubted);
    voltage::frequency(&mut work, &doubted);
    factor::above_one(&mut work);
    factor::negative(&mut work);
    apparent::below_active(&mut work, &doubted);
    flat::flat_lines(&mut work);
    signs::phases(&mut work);
    work.entries
}

/// One meter under scrutiny.
struct PlausibilityCheck<'a> {
    readings: &'a mut Readings,
    nominal: &'a Nominal,
    setting: Plausibility,
    entries: Vec<QualityEntry>,
}

impl PlausibilityCheck<'_> {
    /// Reports intervals in which something odd may be right.
    fn report(&mut self, kind: &str, rows: &[usize], note: String) {
        if rows.is_empty() {
            return;
        }
        let entry = QualityEntry::at_times(kind, &self.readings.times(rows), note);
        self.entries.push(entry.with(Action::Kept));
    }

    /// Reports cells that cannot be and leaves them out; `done` says what becomes unknown.
    fn leave_out(&mut self, kind: &str, seen: &[usize], cells: &Cells, note: &str, done: &str) {
        if seen.is_empty() {
            return;
        }
        let times = self.readings.times(seen);
        let entry = match self.setting {
            Plausibility::Keep => QualityEntry::at_times(
                kind,
                &times,
                format!("{note}; kept, as the meter's `plausibility` says"),
            )
            .with(Action::Kept),
            Plausibility::Drop => {
                let effect = self.readings.leave_out(cells);
                QualityEntry::at_times(kind, &times, format!("{note}; {done}"))
                    .with(Action::LeftOut)
                    .changing(effect)
            }
        };
        self.entries.push(entry);
    }
}
