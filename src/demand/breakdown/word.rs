//! Parts by a column of words in the logs.

use super::split::{Label, Slice, Split};
use crate::meter::quarters::quarter_hours;
use analysis::NetPower;
use metering::{MeterLog, WordShare, Words};

/// Key of intervals whose cell is empty.
const EMPTY: &str = "empty cells";
/// Key of intervals of files without the column.
const NO_COLUMN: &str = "files without the column";

/// The intervals of a meter by their word; `None` where no log of it has the column.
pub(super) fn split(log: &MeterLog, words: &Words, complete: bool) -> Option<Split> {
    let shares = words.of(log.meter)?;
    let power = NetPower::of(log).power_kw?;
    // Words in the order of the log, then what has none.
    let (empty, none) = (words.words.len(), words.words.len() + 1);
    let mut slices = Vec::new();
    let mut used = vec![false; none + 1];
    let interval_s = i64::from(log.table.interval_s());
    let mut rest = shares;
    for (&start_s, kw) in log.table.starts().iter().zip(power.iter()) {
        while rest.first().is_some_and(|share| share.start_s < start_s) {
            rest = &rest[1..];
        }
        let end = rest.iter().take_while(|share| share.start_s == start_s);
        let own: &[WordShare] = &rest[..end.count()];
        let Some(kw) = kw else { continue };
        let mut give = |part: usize, share: f64| {
            used[part] = true;
            let pieces = quarter_hours(start_s, start_s + interval_s);
            slices.extend(pieces.map(|(start_s, seconds)| Slice {
                part,
                start_s,
                kwh: kw * seconds / 3600.0 * share,
            }));
        };
        if own.is_empty() {
            give(none, 1.0);
        }
        for share in own {
            give(share.word.unwrap_or(empty), share.share);
        }
    }
    let key = |part: usize| match words.words.get(part) {
        Some(word) => word.clone(),
        None if part == empty => EMPTY.to_owned(),
        None => NO_COLUMN.to_owned(),
    };
    let mut numbers = vec![0; used.len()];
    let mut labels = Vec::new();
    for part in (0..used.len()).filter(|&part| used[part]) {
        numbers[part] = labels.len();
        labels.push(Label {
            key: key(part),
            order: part as i64,
            complete,
        });
    }
    for slice in &mut slices {
        slice.part = numbers[slice.part];
    }
    Some(Split { labels, slices })
}
