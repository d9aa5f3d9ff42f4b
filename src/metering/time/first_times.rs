//! What the first rows of a text log show of its times.

use std::collections::BTreeSet;

use super::clock::{Clock, Reading};
use super::known::Known;
use super::time_format::{self, pattern_of};
use crate::header::dialect::Dialect;
use crate::header::layout::TimeCells;
use message::{Message, Messages, Place};
use site::TimeFormat;

/// Time stamps of the first rows, in file order.
pub(crate) fn first_stamps(bytes: &[u8], dialect: &Dialect, time: TimeCells) -> Vec<Vec<u8>> {
    let lines = bytes.split(|&byte| byte == b'\n').take(2000);
    lines
        .map(|line| {
            let record = dialect.split(line);
            let mut stamp = Vec::new();
            let cell = |cell: usize| record.get(cell).unwrap_or_default();
            time.stamp(b' ', cell, &mut stamp);
            stamp
        })
        .filter(|stamp| !stamp.trim_ascii().is_empty())
        .collect()
}

/// The declared format, that of an earlier file, or the one that the stamps show.
pub(crate) fn time_format(
    name: &str,
    declared: &TimeFormat,
    known: &[Option<Known>],
    stamps: &[Vec<u8>],
    messages: &mut Messages,
) -> Option<TimeFormat> {
    if *declared != TimeFormat::Recognised {
        return Some(declared.clone());
    }
    match time_format::recognise(stamps) {
        Ok(TimeFormat::Iso) if spans(stamps) => {
            messages.push(refused_spans(name, stamps));
            None
        }
        Ok(format) => Some(format),
        Err(open) => {
            let patterns = [&open.day_first, &open.month_first];
            let earlier = known
                .iter()
                .flatten()
                .find(|known| patterns.contains(&&pattern_of(&known.format)));
            if let Some(known) = earlier {
                return Some(known.format.clone());
            }
            messages.push(
                Message::error(
                    "ambiguous-date",
                    format!(
                        "day and month of `{}` in `{name}` may change places",
                        open.stamp
                    ),
                )
                .at(Place::file(name), "")
                .help(format!(
                    "set `format = \"{}\"` or `format = \"{}\"` under the meter's `time`",
                    open.day_first, open.month_first
                )),
            );
            None
        }
    }
}

/// Are the times spans, such as `2026-03-09 00:00-01:00`? Their ends would be taken for offsets from
/// UTC, of which a log has two, in winter and in summer.
fn spans(stamps: &[Vec<u8>]) -> bool {
    const OFFSETS_OF_A_LOG: usize = 2;
    let ends: BTreeSet<&[u8]> = stamps.iter().filter_map(|stamp| end(stamp)).collect();
    ends.len() > OFFSETS_OF_A_LOG
}

/// The hour and minute behind a hyphen, where a stamp ends so.
fn end(stamp: &[u8]) -> Option<&[u8]> {
    let (rest, end) = stamp.trim_ascii_end().split_last_chunk::<5>()?;
    let is_time = end[2] == b':' && [0, 1, 3, 4].iter().all(|&at| end[at].is_ascii_digit());
    (is_time && rest.ends_with(b"-")).then_some(end)
}

fn refused_spans(name: &str, stamps: &[Vec<u8>]) -> Message {
    let first = stamps.iter().find(|stamp| end(stamp).is_some());
    let first = first.map_or_else(Default::default, |stamp| String::from_utf8_lossy(stamp));
    Message::error(
        "span-of-time",
        format!("the times of `{name}` are spans, such as `{first}`"),
    )
    .at(Place::file(name), "")
    .help(
        "log one time for each row, the start or the end of its interval, and name it with `stamp`",
    )
}

/// Readable times among stamps.
pub(crate) fn times_of(stamps: &[Vec<u8>], clock: &Clock) -> Vec<i64> {
    let mut clock = clock.clone();
    let times = stamps.iter().filter_map(|stamp| match clock.read(stamp) {
        Reading::At(at) | Reading::Skipped(at) => Some(at),
        Reading::Repeated { .. } | Reading::Unreadable => None,
    });
    times.collect()
}
