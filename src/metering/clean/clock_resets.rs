//! Intervals that a logger dated after it had lost its clock.

use chrono::DateTime;

use crate::intervals::closed_columns::GatheredColumn;
use crate::table::quality::{Action, QualityEntry};

const DAY_S: i64 = 86_400;
/// Midnights at which clocks begin again: of 1970 and of 2000. (Unix s)
const BEGINNINGS: [i64; 2] = [0, 946_684_800];
/// So long after that a clock may not have been set. (s)
const UNSET_S: i64 = 31 * DAY_S;
/// A log that goes on sooner may have begun then. (s)
const BEYOND_S: i64 = 365 * DAY_S;

/// Leaves out intervals of the first days of 1970 and 2000 where the log goes on years later.
/// `starts` ascend.
pub(crate) fn without_resets(
    starts: Vec<i64>,
    mut columns: Vec<GatheredColumn>,
) -> (Vec<i64>, Vec<GatheredColumn>, Option<QualityEntry>) {
    let last = starts.last().copied().unwrap_or(i64::MIN);
    let is_reset = |start: i64| {
        BEGINNINGS.iter().any(|&beginning| {
            // A day earlier, where the local clock is ahead of UTC.
            let unset = beginning - DAY_S..beginning + UNSET_S;
            unset.contains(&start) && last > unset.end + BEYOND_S
        })
    };
    let (resets, kept): (Vec<i64>, Vec<i64>) = starts.iter().partition(|&&start| is_reset(start));
    let (Some(&first), Some(&latest)) = (resets.first(), resets.last()) else {
        return (starts, columns, None);
    };
    for column in &mut columns {
        let mut rows = starts.iter();
        column
            .values
            .retain(|_| rows.next().is_some_and(|&start| !is_reset(start)));
        column.samples.retain(|row| !is_reset(starts[row]));
    }
    let entry = QualityEntry {
        kind: "clock-reset".to_owned(),
        count: resets.len() as u64,
        first: DateTime::from_timestamp(first, 0),
        last: DateTime::from_timestamp(latest, 0),
        note:
            "intervals dated in the first days of 1970 or 2000, as after a logger loses its clock; excluded"
                .to_owned(),
        action: Some(Action::LeftOut),
        ..QualityEntry::default()
    };
    (kept, columns, Some(entry))
}
