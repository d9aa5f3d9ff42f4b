//! Rounds of readings with a clamp meter: `readings.csv` in the site folder.

mod row;
mod time;

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};

use row::{ClampRow, ClampSheet};

use message::{Message, Messages, Place, did_you_mean, not_text};
use site::{Measured, Site, read_file};

const FILE: &str = "readings.csv";

const COLUMNS: [&str; 6] = ["time", "at", "l1_a", "l2_a", "l3_a", "n_a"];

/// What was read at one time.
#[derive(Clone, Debug, PartialEq)]
pub struct Round {
    /// The time that its rows carry.
    pub at: DateTime<Utc>,
    /// Each place once.
    pub readings: Vec<ClampReading>,
}

/// What a clamp meter showed at one place: rms with harmonics, without direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClampReading {
    /// Where it was read.
    pub at: Measured,
    /// On L1, L2, L3. (A)
    pub phases_a: [Option<f64>; 3],
    /// In the neutral. (A)
    pub neutral_a: Option<f64>,
}

impl Round {
    /// What was read at a place.
    pub fn of(&self, at: Measured) -> Option<&ClampReading> {
        self.readings.iter().find(|reading| reading.at == at)
    }
}

/// Reads the rounds whose time is in the window; none where there is no file.
pub(super) fn read_rounds(
    site: &Site,
    (from, to): (i64, i64),
    messages: &mut Messages,
) -> Vec<Round> {
    let bytes = match read_file(&site.folder.join(FILE)) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Vec::new(),
        Err(error) => {
            let text = format!("cannot read `{FILE}`: {error}");
            messages.push(Message::error("cannot-read", text).at(Place::file(FILE), ""));
            return Vec::new();
        }
    };
    if let Some(message) = not_text(FILE, &bytes) {
        messages.push(message);
        return Vec::new();
    }
    let Ok(text) = String::from_utf8(bytes) else {
        messages.push(
            Message::error("not-utf-8", format!("`{FILE}` is not UTF-8 text"))
                .at(Place::file(FILE), "")
                .help("save the file as UTF-8"),
        );
        return Vec::new();
    };
    let mut rounds = parse(site, text.trim_start_matches('\u{feff}'), messages);
    rounds.retain(|round| (from..to).contains(&round.at.timestamp()));
    rounds
}

fn parse(site: &Site, text: &str, messages: &mut Messages) -> Vec<Round> {
    let mut lines = text
        .lines()
        .enumerate()
        .map(|(index, line)| (index + 1, line))
        .filter(|(_, line)| !line.trim().is_empty());
    let Some((number, header)) = lines.next() else {
        messages.push(
            Message::error("empty-file", format!("`{FILE}` is empty"))
                .at(Place::file(FILE), "")
                .help(format!("start it with `{}`", COLUMNS.join(","))),
        );
        return Vec::new();
    };
    let separator = if header.contains(';') && !header.contains(',') {
        b';'
    } else {
        b','
    };
    let sheet = ClampSheet {
        site,
        separator,
        columns: read_header(number, header, separator, messages),
        width: cells(header, separator).len(),
    };
    let mut rounds: BTreeMap<DateTime<Utc>, Vec<(ClampReading, usize)>> = BTreeMap::new();
    for (line, text) in lines {
        let row = ClampRow {
            sheet: &sheet,
            line,
            text,
            cells: cells(text, separator),
        };
        let Some((time, reading)) = row.read(messages) else {
            continue;
        };
        let round = rounds.entry(time).or_default();
        match round.iter().find(|(known, _)| known.at == reading.at) {
            Some((_, first)) => row.complain(
                messages,
                "duplicate-reading",
                "at",
                format!(
                    "`{}` has two readings at the same time",
                    site.measured_name(reading.at)
                ),
                format!("the first is in row {first}"),
                Some("give each round its own time".to_owned()),
            ),
            None => round.push((reading, line)),
        }
    }
    rounds
        .into_iter()
        .map(|(at, readings)| Round {
            at,
            readings: readings.into_iter().map(|(reading, _)| reading).collect(),
        })
        .collect()
}

/// Cells of a line; a line that is no CSV gives what can be read of it.
fn cells(line: &str, separator: u8) -> Vec<String> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(line.as_bytes())
        .into_records()
        .next()
        .and_then(Result::ok)
        .map(|record| record.iter().map(|cell| cell.trim().to_owned()).collect())
        .unwrap_or_default()
}

fn read_header(
    line: usize,
    header: &str,
    separator: u8,
    messages: &mut Messages,
) -> [Option<usize>; 6] {
    let mut columns = [None; 6];
    let names = cells(header, separator);
    for (index, name) in names.iter().enumerate() {
        let place = || Place::in_record(FILE, line, header, separator, index);
        let known = COLUMNS.iter().position(|known| known == name);
        match known {
            Some(known) if columns[known].is_some() => messages.push(
                Message::error(
                    "duplicate-column",
                    format!("the column `{name}` appears twice"),
                )
                .at(place(), "the second is here"),
            ),
            Some(known) => columns[known] = Some(index),
            None if name.starts_with("x_") || name.is_empty() => {}
            None => messages.push(
                Message::error(
                    "unknown-column",
                    format!("unknown column `{name}` in `{FILE}`"),
                )
                .at(place(), "not a column of the readings")
                .maybe_help(
                    did_you_mean(name, COLUMNS)
                        .or_else(|| Some("columns of your own start with `x_`".to_owned())),
                ),
            ),
        }
    }
    for needed in 0..2 {
        if columns[needed].is_none() {
            let name = COLUMNS[needed];
            messages.push(
                Message::error(
                    "missing-column",
                    format!("`{FILE}` needs the column `{name}`"),
                )
                .at(
                    Place::in_line(FILE, line, header, header.len()..header.len()),
                    format!("no column `{name}` in this header"),
                ),
            );
        }
    }
    columns
}

#[cfg(test)]
mod tests {
    use super::COLUMNS;

    #[test]
    fn the_columns_are_those_that_are_explained() {
        assert!(site::READINGS.names().eq(COLUMNS));
    }
}
