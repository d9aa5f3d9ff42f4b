//! One row of readings: when, where, and the currents.

use chrono::{DateTime, Utc};

use super::ClampReading;
use super::rounds::TimedReading;
use super::time::{day_or_month, is_time_of_day, read_time};
use electrical::Phase;
use message::{Messages, decimal_point, did_you_mean, why_more_cells};
use site::{Connection, Measured, Node, Site};
use user_tables::Row;

/// A clamp meter does not read more. (A)
const LARGEST_CURRENT_A: f64 = 20_000.0;

/// A row with its cells.
pub(super) struct ClampRow<'s> {
    pub(super) site: &'s Site,
    pub(super) cells: Row<'s>,
    /// Time of the row above.
    pub(super) above: Option<DateTime<Utc>>,
}

impl ClampRow<'_> {
    pub(super) fn read(
        &self,
        time: Option<DateTime<Utc>>,
        messages: &mut Messages,
    ) -> Option<TimedReading> {
        if let Some(expected) = self.cells.surplus() {
            self.cells.complain(
                messages,
                "too-many-cells",
                "time",
                "a reading has more cells than the header".to_owned(),
                expected,
                why_more_cells(self.cells.line.text()),
            );
            return None;
        }
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
        (sound && self.fits(&reading, messages)).then(|| TimedReading {
            time,
            label: self.cells.cell("round").map(str::to_owned),
            reading,
            line: self.cells.line.number,
            place: self.cells.place("at"),
        })
    }

    /// Is it a place on the sheet that was not read?
    pub(super) fn is_blank(&self) -> bool {
        let mut currents = ["l1_a", "l2_a", "l3_a", "n_a"].iter();
        currents.all(|column| self.cells.cell(column).is_none())
    }

    pub(super) fn has_time(&self) -> bool {
        ["date", "time"]
            .iter()
            .any(|column| self.cells.cell(column).is_some())
    }

    /// The time of the row; of the row above where its cell is empty, as on a sheet filled in by hand.
    pub(super) fn time(&self, messages: &mut Messages) -> Option<DateTime<Utc>> {
        let written = ["date", "time"].map(|column| self.cells.cell(column));
        let text = match written {
            [None, None] => {
                if self.above.is_some() {
                    return self.above;
                }
                String::new()
            }
            [Some(date), Some(time)] if !time.contains(date) => format!("{date} {time}"),
            // The time of day alone: the date is that of the row above.
            [None, Some(time)] if is_time_of_day(time) && self.above.is_some() => {
                let above = self
                    .above
                    .map(|above| above.with_timezone(&self.site.timezone));
                above.map_or_else(String::new, |above| {
                    format!("{} {time}", above.date_naive())
                })
            }
            [date, time] => time.or(date).unwrap_or_default().to_owned(),
        };
        let has_column = |column: &&str| self.cells.columns.get(column).is_some();
        if !["date", "time"].iter().any(has_column) {
            return None;
        }
        let read = read_time(&text, self.site.timezone);
        if read.is_none() {
            self.cells.complain(
                messages,
                "unreadable-time",
                "time",
                format!("`{text}` is not a time of {}", self.site.timezone.name()),
                "expected local time such as `2026-03-09 10:30`, or with its offset `2026-03-09T10:30+01:00`",
                day_or_month(&text),
            );
        }
        read
    }

    fn place(&self, messages: &mut Messages) -> Option<Measured> {
        self.cells.columns.get("at")?;
        let site = self.site;
        let text = self.cells.cell("at").unwrap_or("");
        let places = || {
            let nodes = site.nodes().into_iter().map(Measured::Node);
            nodes.chain((0..site.machines.len()).map(Measured::Machine))
        };
        let found = places()
            .find(|&place| site.measured_name(place) == text)
            .or_else(|| {
                let lower = text.to_lowercase();
                let mut alike =
                    places().filter(|&place| site.measured_name(place).to_lowercase() == lower);
                alike.next().filter(|_| alike.next().is_none())
            });
        if found.is_none() {
            let names = places().map(|place| site.measured_name(place));
            self.cells.complain(
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
        let Some(text) = self.cells.cell(column) else {
            return Ok(None);
        };
        let number = self
            .cells
            .line
            .with_point(text)
            .parse::<f64>()
            .ok()
            .filter(|number| number.is_finite());
        let Some(number) = number else {
            self.cells.complain(
                messages,
                "not-a-number",
                column,
                format!("`{column}` is not a number"),
                format!("expected amperes, found `{text}`"),
                decimal_point(text),
            );
            return Err(());
        };
        let low = if column == "n_a" {
            0.0
        } else {
            -LARGEST_CURRENT_A
        };
        if (low..=LARGEST_CURRENT_A).contains(&number) {
            return Ok(Some(number));
        }
        self.cells.complain(
            messages,
            "out-of-range",
            column,
            format!("`{column}` is out of range"),
            format!("expected {low} to {LARGEST_CURRENT_A} A, found {number}"),
            (column == "n_a" && number < 0.0)
                .then(|| "write the current of the neutral without a sign".to_owned()),
        );
        Err(())
    }

    /// Were the conductors read that are there, and no others?
    fn fits(&self, reading: &ClampReading, messages: &mut Messages) -> bool {
        let site = self.site;
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
            if amps.is_some_and(|amps| amps != 0.0) && !there[k] {
                self.cells.complain(
                    messages,
                    "wrong-phase",
                    columns[k],
                    format!("`{name}` has a reading on {phase}, but is on {on}"),
                    format!("it has no conductor on {phase}"),
                    Some(
                        "write the reading in the column of its phase, or correct the connection"
                            .to_owned(),
                    ),
                );
                return false;
            }
            if kind == "all" && there[k] && amps.is_none() {
                self.cells.complain(
                    messages,
                    "missing-reading",
                    columns[k],
                    format!("the reading of `{name}` has no {phase}"),
                    format!("expected the current of {phase} in A"),
                    Some("read all phases of a board or circuit, or remove the row".to_owned()),
                );
                return false;
            }
        }
        let read = reading.phases_a.iter().flatten().count();
        let enough = if matches!(on, Connection::Any) {
            read == 1
        } else {
            read > 0
        };
        if !enough {
            self.cells.complain(
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
        Connection::ThreePhase { .. }
        | Connection::Any
        | Connection::AnyPair
        | Connection::Unknown => [true; 3],
    }
}
