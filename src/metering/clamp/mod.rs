//! Rounds of readings with a clamp meter: `readings.csv` in the site folder.

mod rounds;
mod row;
mod time;

use chrono::{DateTime, Utc};

use rounds::into_rounds;
use row::ClampRow;

use message::{Message, Messages, Place, did_you_mean};
use site::{Measured, READINGS, Site, read_file};
use user_tables::{Lines, NamedColumns, text_of};

const FILE: &str = "readings.csv";

/// What was read on one way round the boards.
#[derive(Clone, Debug, PartialEq)]
pub struct Round {
    /// When it began.
    pub at: DateTime<Utc>,
    /// Its word in the column `round`.
    pub label: Option<String>,
    /// Each place once.
    pub readings: Vec<ClampReading>,
}

/// What a clamp meter showed at one place: rms with harmonics; negative where it flows back to the source.
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
    let text = match text_of(FILE, bytes) {
        Ok(text) => text,
        Err(message) => {
            messages.push(*message);
            return Vec::new();
        }
    };
    let mut rounds = parse(site, &text, messages);
    rounds.retain(|round| (from..to).contains(&round.at.timestamp()));
    rounds
}

fn parse(site: &Site, text: &str, messages: &mut Messages) -> Vec<Round> {
    let mut lines = Lines::new(FILE, text, None);
    let Some(header) = lines.next() else {
        let names: Vec<&str> = READINGS.names().collect();
        messages.push(
            Message::error("empty-file", format!("`{FILE}` is empty"))
                .at(Place::file(FILE), "")
                .help(format!("start it with `{}`", names.join(","))),
        );
        return Vec::new();
    };
    let columns = NamedColumns::of(header, "a reading");
    check_header(&columns, messages);
    let mut readings = Vec::new();
    for line in lines {
        let row = ClampRow {
            site,
            cells: columns.row(line),
        };
        readings.extend(row.read(messages));
    }
    into_rounds(site, readings, messages)
}

fn check_header(columns: &NamedColumns<'_>, messages: &mut Messages) {
    let header = &columns.header;
    for (index, name) in header.cells().enumerate() {
        if READINGS.find(name).is_some() {
            if columns.get(name) != Some(index) {
                messages.push(
                    Message::error(
                        "duplicate-column",
                        format!("the column `{name}` appears twice"),
                    )
                    .at(header.place(index), "the second is here"),
                );
            }
        } else if !name.starts_with("x_") && !name.is_empty() {
            messages.push(
                Message::error(
                    "unknown-column",
                    format!("unknown column `{name}` in `{FILE}`"),
                )
                .at(header.place(index), "not a column of the readings")
                .maybe_help(
                    did_you_mean(name, READINGS.names())
                        .or_else(|| Some("columns of your own start with `x_`".to_owned())),
                ),
            );
        }
    }
    for name in ["time", "at"] {
        if columns.get(name).is_none() {
            messages.push(
                Message::error(
                    "missing-column",
                    format!("`{FILE}` needs the column `{name}`"),
                )
                .at(header.end(), format!("no column `{name}` in this header")),
            );
        }
    }
}
