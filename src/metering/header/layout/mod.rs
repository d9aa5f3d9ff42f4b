//! Which cell of a log holds what: time column, columns of each meter.
//!
//! In: the header, the first rows and the meters as declared. Out: a [`Layout`], or messages about what is missing or
//! has two possible meanings.

mod likely;
mod messages;
mod time_cells;

use std::cell::OnceCell;
use std::collections::HashMap;

use super::dialect::{Dialect, read_cell};
use crate::header::names::{Found, Header, Reason, TIME_WORDS, recognise};
use crate::source::text_source::SAMPLE_BYTES;
use formats::{EnergyReading, column_unit};
use message::{Message, Messages, Place};
use site::{Meter, Quantity};

pub(crate) use time_cells::TimeCells;

/// Rows that show whether a column is a register.
const ROWS_SEEN: usize = 2000;
/// Most warnings about a missing unit.
const MOST_ASSUMED: usize = 100;
/// A meter logs some sixty quantities; those of several tariffs add up.
const MOST_COLUMNS: usize = 1000;

/// A cell of the log and what it becomes.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ColumnPlan {
    pub(crate) cell: usize,
    pub(crate) factor: f64,
    pub(crate) quantity: Quantity,
    /// The unit that the log names.
    pub(crate) unit: Option<String>,
    pub(crate) reason: Reason,
}

/// Which cell of a row holds what.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    pub(crate) header: Header,
    pub(crate) time: TimeCells,
    /// The columns of each meter, in the order of the meters given.
    pub(crate) meters: Vec<Vec<ColumnPlan>>,
    /// Names of the columns that no meter uses.
    pub(crate) unused: Vec<String>,
}

impl Layout {
    /// Finds the header in the beginning of a log and the columns that the meters need.
    pub(crate) fn find(
        file: &str,
        sample: &[u8],
        dialect: &Dialect,
        meters: &[&Meter],
        messages: &mut Messages,
    ) -> Option<Layout> {
        let first = meters.first()?;
        let text = String::from_utf8_lossy(sample);
        let Some(header) = Header::find(&text, dialect, meters) else {
            messages.push(
                Message::error("empty-log", format!("the log `{file}` is empty"))
                    .at(Place::file(file), "")
                    .help("export the log again, or exclude the file from the meter's `files`"),
            );
            return None;
        };
        let rows = text.get(header.bytes_before..).unwrap_or_default();
        let mut finder = Finder {
            file,
            rows,
            whole: sample.len() < SAMPLE_BYTES && rows.lines().nth(ROWS_SEEN).is_none(),
            first_numbers: OnceCell::new(),
            cells: cells_by_name(&header),
            header: &header,
            dialect,
            messages,
        };
        let time = finder.time(first);
        let mut used = vec![false; header.names.len()];
        let mut plans = Vec::new();
        let mut complete = true;
        for meter in meters {
            match finder.columns(meter) {
                Some(plan) => {
                    for column in &plan {
                        used[column.cell] = true;
                    }
                    plans.push(plan);
                }
                None => complete = false,
            }
        }
        let time = time?;
        complete.then_some(())?;
        for cell in [Some(time.first), time.second].into_iter().flatten() {
            if let Some(used) = used.get_mut(cell) {
                *used = true;
            }
        }
        let unused = header.names.iter().zip(used);
        let unused = unused.filter(|(name, used)| !used && !name.is_empty());
        Some(Layout {
            unused: unused.map(|(name, _)| name.clone()).collect(),
            time,
            meters: plans,
            header,
        })
    }

    pub(crate) fn name(&self, cell: usize) -> &str {
        self.header.names.get(cell).map_or("", String::as_str)
    }
}

/// Looks for columns in one log.
struct Finder<'f> {
    file: &'f str,
    /// The first rows.
    rows: &'f str,
    /// There are no others.
    whole: bool,
    /// Their numbers, once they are asked for.
    first_numbers: OnceCell<Vec<Vec<f64>>>,
    /// The first cell of each name, and the second, if there is one.
    cells: HashMap<&'f str, (usize, Option<usize>)>,
    header: &'f Header,
    dialect: &'f Dialect,
    messages: &'f mut Messages,
}

impl Finder<'_> {
    fn time(&mut self, meter: &Meter) -> Option<TimeCells> {
        match meter.time.columns.as_slice() {
            [] => Some(self.usual_time()),
            [one] => self.column(one, meter).map(TimeCells::one),
            [date, time, ..] => {
                let (first, second) = (self.column(date, meter), self.column(time, meter));
                Some(TimeCells {
                    first: first?,
                    second: Some(second?),
                })
            }
        }
    }

    /// A date with a time of day, else the first column with a usual name, else the first.
    fn usual_time(&self) -> TimeCells {
        let named = |word: &str| {
            let mut names = self.header.names.iter();
            names.position(|name| name.eq_ignore_ascii_case(word))
        };
        if let (Some(date), Some(time)) = (named("date"), named("time")) {
            let row = self.rows.lines().find(|line| !line.trim().is_empty());
            let row = self.dialect.split(row.unwrap_or_default().as_bytes());
            let has =
                |cell: usize, sign: u8| row.get(cell).is_some_and(|text| text.contains(&sign));
            // A time of day is written with colons and has no date.
            let of_day = has(time, b':')
                && row
                    .get(time)
                    .is_some_and(|text| text.trim_ascii().len() <= 15);
            if !has(date, b':') && of_day {
                return TimeCells {
                    first: date,
                    second: Some(time),
                };
            }
        }
        let worded = |words: &[&str]| {
            let mut names = self.header.names.iter();
            names.position(|name| {
                let lower = name.to_lowercase();
                let mut own = lower.split(|c: char| !c.is_alphanumeric());
                column_unit::split(name).is_none() && own.any(|word| words.contains(&word))
            })
        };
        let start = ["from", "start", "begin", "beginning"];
        let end = ["end", "ending", "to", "until"];
        let cell = TIME_WORDS
            .into_iter()
            .find_map(named)
            .or_else(|| worded(&start))
            .or_else(|| worded(&end))
            .or_else(|| worded(&["time", "timestamp", "datetime", "date"]));
        TimeCells::one(cell.unwrap_or(0))
    }

    /// The columns of a meter, declared or recognised.
    fn columns(&mut self, meter: &Meter) -> Option<Vec<ColumnPlan>> {
        let mut plan = if meter.columns.is_empty() {
            self.recognised(meter)?
        } else {
            self.declared(meter)?
        };
        if plan.len() > MOST_COLUMNS {
            let message = self.too_many(plan.len(), meter);
            self.messages.push(message);
            return None;
        }
        for column in &mut plan {
            if column.quantity.scales_with_current() {
                column.factor *= meter.ratio;
            }
        }
        Some(plan)
    }

    fn declared(&mut self, meter: &Meter) -> Option<Vec<ColumnPlan>> {
        let mut complete = true;
        let mut plan = Vec::new();
        for column in &meter.columns {
            let Some(cell) = self.column(&column.column, meter) else {
                complete = false;
                continue;
            };
            let (unit, by_unit) = self.unit(cell, column.quantity, column.scale.is_some());
            plan.push(ColumnPlan {
                cell,
                factor: column.scale.unwrap_or(by_unit),
                quantity: column.quantity,
                unit,
                reason: Reason::Declared,
            });
        }
        complete.then_some(plan)
    }

    /// The unit that the log names for a declared column, and the factor that follows.
    fn unit(&mut self, cell: usize, quantity: Quantity, scaled: bool) -> (Option<String>, f64) {
        let in_row = self.header.unit(cell);
        let in_name = column_unit::split(&self.header.names[cell]).map(|(_, unit)| unit);
        let Some(text) = in_row.or(in_name) else {
            return (None, 1.0);
        };
        let parsed = column_unit::parse(text);
        let factor = parsed.and_then(|unit| column_unit::factor(unit, quantity));
        // Brackets in a name may hold anything; a row of units holds units.
        let questioned = factor.is_none() && !scaled && (in_row.is_some() || parsed.is_some());
        if questioned {
            let name = &self.header.names[cell];
            let (line, shown) = match (&self.header.units, in_row) {
                (Some((line, shown, _)), Some(_)) => (*line, shown.as_str()),
                _ => (self.header.line, self.header.text.as_str()),
            };
            let what = if parsed.is_some() {
                "does not fit"
            } else {
                "is not known"
            };
            self.messages.push(
                Message::warning(
                    "unknown-unit",
                    format!("the unit `{text}` of column `{name}` {what}; read as `{quantity}`"),
                )
                .at(
                    Place::in_record(self.file, line, shown, self.dialect.separator, cell),
                    format!("expected a unit for `{quantity}`"),
                )
                .help(format!(
                    "say what its numbers are: `{quantity} = {{ column = \"{name}\", scale = 1 }}`"
                )),
            );
        }
        let known = factor.map(|_| text.to_owned());
        (known, factor.unwrap_or(1.0))
    }

    fn recognised(&mut self, meter: &Meter) -> Option<Vec<ColumnPlan>> {
        let header = self.header;
        let found = match recognise(header, &|cell| self.energy_reading(cell)) {
            Ok(found) => found,
            Err(open) => {
                for open in open {
                    let message = self.left_open(&open);
                    self.messages.push(message);
                }
                return None;
            }
        };
        if found.is_empty() {
            let message = self.no_known_column(meter);
            self.messages.push(message);
            return None;
        }
        let assumed = found.iter().filter(|column| column.unit_assumed);
        for column in assumed.take(MOST_ASSUMED) {
            let message = self.assumed(column);
            self.messages.push(message);
        }
        let plan = |found: Found| ColumnPlan {
            cell: found.cell,
            factor: found.factor,
            quantity: found.quantity,
            unit: header
                .unit(found.cell)
                .or_else(|| column_unit::split(&header.names[found.cell]).map(|(_, unit)| unit))
                .map(str::to_owned),
            reason: found.reason,
        };
        Some(found.into_iter().map(plan).collect())
    }

    /// Is a column of energy a register?
    fn energy_reading(&self, cell: usize) -> EnergyReading {
        let name = self.header.names.get(cell).map_or("", String::as_str);
        EnergyReading::of(name, self.numbers(cell), self.whole)
    }

    fn numbers(&self, cell: usize) -> &[f64] {
        let columns = self.first_numbers.get_or_init(|| self.read_first_numbers());
        columns.get(cell).map(Vec::as_slice).unwrap_or_default()
    }

    /// The numbers in the first rows, column by column.
    fn read_first_numbers(&self) -> Vec<Vec<f64>> {
        let mut columns = vec![Vec::new(); self.header.names.len()];
        for line in self.rows.lines().take(ROWS_SEEN) {
            let record = self.dialect.split(line.as_bytes());
            for (text, numbers) in record.iter().zip(&mut columns) {
                if let Some(number) = read_cell(text, self.dialect, &[]).number() {
                    numbers.push(number);
                }
            }
        }
        columns
    }

    fn column(&mut self, wanted: &str, meter: &Meter) -> Option<usize> {
        match self.cells.get(wanted).copied() {
            Some((index, None)) => Some(index),
            Some((_, Some(second))) => {
                let message = Message::error(
                    "two-columns",
                    format!("`{}` has two columns `{wanted}`", self.file),
                );
                let message = message.at(self.in_header(second), "second time here");
                self.messages.push(message);
                None
            }
            None => {
                let message = self.missing(wanted, meter);
                self.messages.push(message);
                None
            }
        }
    }
}

fn cells_by_name(header: &Header) -> HashMap<&str, (usize, Option<usize>)> {
    let mut cells: HashMap<&str, (usize, Option<usize>)> = HashMap::new();
    for (cell, name) in header.names.iter().enumerate() {
        cells
            .entry(name)
            .and_modify(|(_, second)| *second = second.or(Some(cell)))
            .or_insert((cell, None));
    }
    cells
}
