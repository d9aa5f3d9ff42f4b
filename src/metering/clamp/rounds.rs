//! Readings into rounds: by the column `round`, else by time.

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};

use super::{ClampReading, Round};
use message::{Message, Messages, Place};
use site::Site;

/// Rows within this time from the first of a round belong to it.
const ROUND: TimeDelta = TimeDelta::minutes(30);

/// One row of the file.
pub(super) struct TimedReading {
    pub(super) time: DateTime<Utc>,
    pub(super) label: Option<String>,
    pub(super) reading: ClampReading,
    /// Number of its line.
    pub(super) line: usize,
    /// Its cell `at`.
    pub(super) place: Place,
}

/// The rounds in the order of their times.
pub(super) fn into_rounds(
    site: &Site,
    mut readings: Vec<TimedReading>,
    messages: &mut Messages,
) -> Vec<Round> {
    readings.sort_by_key(|reading| reading.time);
    let mut by_label: BTreeMap<String, Vec<TimedReading>> = BTreeMap::new();
    let mut by_time: Vec<Vec<TimedReading>> = Vec::new();
    for reading in readings {
        if let Some(label) = &reading.label {
            let round = by_label.entry(label.clone()).or_default();
            round.push(reading);
        } else if let Some(round) = by_time.last_mut()
            && continues(round, &reading)
        {
            round.push(reading);
        } else {
            by_time.push(vec![reading]);
        }
    }
    let mut rounds: Vec<Round> = by_label
        .into_values()
        .chain(by_time)
        .map(|round| into_round(site, &round, messages))
        .collect();
    rounds.sort_by_key(|round| round.at);
    rounds
}

/// Does a reading belong to the round so far? A place that is read again at a later time begins the next one.
fn continues(round: &[TimedReading], next: &TimedReading) -> bool {
    let again =
        |known: &TimedReading| known.reading.at == next.reading.at && known.time < next.time;
    next.time - round[0].time < ROUND && !round.iter().any(again)
}

fn into_round(site: &Site, round: &[TimedReading], messages: &mut Messages) -> Round {
    let mut readings: Vec<ClampReading> = Vec::with_capacity(round.len());
    for (index, row) in round.iter().enumerate() {
        let same = |known: &&TimedReading| known.reading.at == row.reading.at;
        if let Some(first) = round[..index].iter().find(same) {
            let name = site.measured_name(row.reading.at);
            let text = format!("`{name}` has two readings in one round");
            messages.push(
                Message::error("duplicate-reading", text)
                    .at(
                        row.place.clone(),
                        format!("the first is in row {}", first.line),
                    )
                    .help("give each round its own time, or its own word in the column `round`"),
            );
        } else {
            readings.push(row.reading);
        }
    }
    Round {
        at: round[0].time,
        label: round[0].label.clone(),
        readings,
    }
}
