//! Rounds of readings with a clamp meter: `readings.csv` in the site folder.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDateTime, TimeZone, Utc};
use chrono_tz::Tz;

use crate::electrical::Phase;
use crate::message::{Message, Messages, Place, did_you_mean};
use crate::site::{Connection, Measured, Node, Site, read_file};

const FILE: &str = "readings.csv";

const COLUMNS: [&str; 6] = ["time", "at", "l1_a", "l2_a", "l3_a", "n_a"];

/// A clamp meter does not read more. (A)
const LARGEST_CURRENT_A: f64 = 20_000.0;

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

/// Reads the rounds whose time lies in the window; none where there is no file.
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
                .help(format!("begin it with `{}`", COLUMNS.join(","))),
        );
        return Vec::new();
    };
    let separator = if header.contains(';') && !header.contains(',') {
        b';'
    } else {
        b','
    };
    let sheet = Sheet {
        site,
        separator,
        columns: read_header(number, header, separator, messages),
        width: cells(header, separator).len(),
    };
    let mut rounds: BTreeMap<DateTime<Utc>, Vec<(ClampReading, usize)>> = BTreeMap::new();
    for (line, text) in lines {
        let row = Row {
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
                    "`{}` is read twice at one time",
                    site.measured_name(reading.at)
                ),
                format!("read before, in line {first}"),
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
                    format!("the column `{name}` stands twice"),
                )
                .at(place(), "second time here"),
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

struct Sheet<'s> {
    site: &'s Site,
    separator: u8,
    columns: [Option<usize>; 6],
    width: usize,
}

struct Row<'s> {
    sheet: &'s Sheet<'s>,
    line: usize,
    text: &'s str,
    cells: Vec<String>,
}

impl Row<'_> {
    fn column(&self, name: &str) -> Option<usize> {
        let index = COLUMNS.iter().position(|known| *known == name)?;
        self.sheet.columns[index]
    }

    fn cell(&self, name: &str) -> Option<&str> {
        let cell = self.cells.get(self.column(name)?)?;
        (!cell.is_empty()).then_some(cell.as_str())
    }

    fn complain(
        &self,
        messages: &mut Messages,
        name: &'static str,
        column: &str,
        text: String,
        expected: impl Into<String>,
        help: Option<String>,
    ) {
        let index = self.column(column).unwrap_or(0);
        let place = Place::in_record(FILE, self.line, self.text, self.sheet.separator, index);
        messages.push(
            Message::error(name, text)
                .at(place, expected)
                .maybe_help(help),
        );
    }

    fn read(&self, messages: &mut Messages) -> Option<(DateTime<Utc>, ClampReading)> {
        if self.cells.len() > self.sheet.width {
            self.complain(
                messages,
                "too-many-cells",
                "time",
                "a reading has more cells than the header".to_owned(),
                format!(
                    "expected {} cells, found {}",
                    self.sheet.width,
                    self.cells.len()
                ),
                None,
            );
            return None;
        }
        let time = self.time(messages);
        let at = self.place(messages);
        let mut sound = true;
        let mut amps = |column: &str| {
            let read = self.amps(column, messages);
            sound &= read.is_ok();
            read.ok().flatten()
        };
        let phases_a = ["l1_a", "l2_a", "l3_a"].map(&mut amps);
        let neutral_a = amps("n_a");
        let (time, at) = (time?, at?);
        let reading = ClampReading {
            at,
            phases_a,
            neutral_a,
        };
        (sound && self.fits(&reading, messages)).then_some((time, reading))
    }

    fn time(&self, messages: &mut Messages) -> Option<DateTime<Utc>> {
        self.column("time")?;
        let text = self.cell("time").unwrap_or("");
        let read = read_time(text, self.sheet.site.timezone);
        if read.is_none() {
            self.complain(
                messages,
                "unreadable-time",
                "time",
                format!("`{text}` is not a time of {}", self.sheet.site.timezone.name()),
                "expected local time such as `2026-03-09 10:30`, or with its offset `2026-03-09T10:30+01:00`",
                None,
            );
        }
        read
    }

    fn place(&self, messages: &mut Messages) -> Option<Measured> {
        self.column("at")?;
        let site = self.sheet.site;
        let text = self.cell("at").unwrap_or("");
        let places = || {
            let nodes = site.nodes().into_iter().map(Measured::Node);
            nodes.chain((0..site.machines.len()).map(Measured::Machine))
        };
        let found = places().find(|&place| site.measured_name(place) == text);
        if found.is_none() {
            let names = places().map(|place| site.measured_name(place));
            self.complain(
                messages,
                "unknown-place",
                "at",
                format!("there is no board, circuit or machine `{text}`"),
                "expected `supply`, a board, a circuit or a machine",
                did_you_mean(text, names),
            );
        }
        found
    }

    fn amps(&self, column: &str, messages: &mut Messages) -> Result<Option<f64>, ()> {
        let Some(text) = self.cell(column) else {
            return Ok(None);
        };
        let plain = if self.sheet.separator == b';' {
            text.replace(',', ".")
        } else {
            text.to_owned()
        };
        let number = plain
            .parse::<f64>()
            .ok()
            .filter(|number| number.is_finite());
        let Some(number) = number else {
            self.complain(
                messages,
                "not-a-number",
                column,
                format!("`{column}` is not a number"),
                format!("expected amperes, found `{text}`"),
                None,
            );
            return Err(());
        };
        if (0.0..=LARGEST_CURRENT_A).contains(&number) {
            return Ok(Some(number));
        }
        self.complain(
            messages,
            "out-of-range",
            column,
            format!("`{column}` is out of range"),
            format!("expected 0 to {LARGEST_CURRENT_A} A, found {number}"),
            (number < 0.0).then(|| {
                "a clamp meter shows no direction: write the value without sign".to_owned()
            }),
        );
        Err(())
    }

    /// Were the conductors read that are there, and no others?
    fn fits(&self, reading: &ClampReading, messages: &mut Messages) -> bool {
        let site = self.sheet.site;
        let (on, kind) = match reading.at {
            Measured::Node(Node::Supply | Node::Board(_)) => (Connection::THREE_PHASE, "all"),
            Measured::Node(Node::Circuit(index)) => (site.circuits[index].phases, "all"),
            Measured::Machine(index) => (site.machines[index].connection, "one"),
        };
        let there = phases_of(on);
        let name = site.measured_name(reading.at);
        let columns = ["l1_a", "l2_a", "l3_a"];
        for phase in Phase::ALL {
            let k = phase.index();
            let amps = reading.phases_a[k];
            if amps.is_some_and(|amps| amps > 0.0) && !there[k] {
                self.complain(
                    messages,
                    "wrong-phase",
                    columns[k],
                    format!("`{name}` has a reading on {phase}, but is on {on}"),
                    format!("nothing of it is on {phase}"),
                    Some(
                        "put the reading in the column of its phase, or correct the connection"
                            .to_owned(),
                    ),
                );
                return false;
            }
            if kind == "all" && there[k] && amps.is_none() {
                self.complain(
                    messages,
                    "missing-reading",
                    columns[k],
                    format!("the reading of `{name}` lacks {phase}"),
                    format!("expected the current of {phase} in A"),
                    Some("read all phases of a board or circuit, or leave the row out".to_owned()),
                );
                return false;
            }
        }
        let read = reading.phases_a.iter().flatten().count();
        let enough = if on == Connection::Any {
            read == 1
        } else {
            read > 0
        };
        if !enough {
            self.complain(
                messages,
                "missing-reading",
                "at",
                format!(
                    "the reading of `{name}` has {} current",
                    if read == 0 { "no" } else { "more than one" }
                ),
                format!("expected the current on {on}"),
                None,
            );
        }
        enough
    }
}

/// Which of L1, L2, L3 a connection uses; all where that is still open.
fn phases_of(connection: Connection) -> [bool; 3] {
    match connection {
        Connection::ToNeutral(phase) => Phase::ALL.map(|one| one == phase),
        Connection::Between(pair) => {
            let (one, other) = pair.phases();
            Phase::ALL.map(|phase| phase == one || phase == other)
        }
        Connection::ThreePhase { .. } | Connection::Any | Connection::AnyPair => [true; 3],
    }
}

/// Local time, or a time with its offset. Of a repeated hour the first is meant.
fn read_time(text: &str, zone: Tz) -> Option<DateTime<Utc>> {
    for format in [
        "%Y-%m-%dT%H:%M%#z",
        "%Y-%m-%d %H:%M%#z",
        "%Y-%m-%dT%H:%M:%S%#z",
        "%Y-%m-%d %H:%M:%S%#z",
    ] {
        if let Ok(time) = DateTime::parse_from_str(text, format) {
            return Some(time.to_utc());
        }
    }
    [
        "%Y-%m-%dT%H:%M",
        "%Y-%m-%d %H:%M",
        "%Y-%m-%dT%H:%M:%S",
        "%Y-%m-%d %H:%M:%S",
    ]
    .iter()
    .find_map(|format| NaiveDateTime::parse_from_str(text, format).ok())
    .and_then(|local| zone.from_local_datetime(&local).earliest())
    .map(|time| time.to_utc())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_local_unless_they_say_otherwise() {
        let zone = chrono_tz::Europe::Berlin;
        let utc = |text: &str| read_time(text, zone).map(|time| time.to_rfc3339());
        let expected = Some("2026-03-09T09:30:00+00:00".to_owned());
        assert_eq!(utc("2026-03-09 10:30"), expected);
        assert_eq!(utc("2026-03-09T10:30:00"), expected);
        assert_eq!(utc("2026-03-09T09:30Z"), expected);
        assert_eq!(utc("2026-03-09T11:30+02:00"), expected);
        // The hour that the clock change leaves out.
        assert_eq!(utc("2026-03-29 02:30"), None);
        assert_eq!(utc("9.3.2026"), None);
    }
}
