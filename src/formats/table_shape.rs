//! Which column of a table of readings holds what: times, meters, kinds and units, quality, values.

use std::borrow::Cow;

use super::cells::{known_cells, separator, split};
use super::column_unit;
use super::dates::{self, DateOrder, date};
use super::kinds::{estimated, id_rank, is_quality, kind, unit_in};
use super::moments::{moment, time_alone};

/// Lines that may come before the header.
const LONGEST_PREAMBLE: usize = 60;
/// Rows that show what the columns hold.
const ROWS_SEEN: usize = 500;

/// Where the time of a row is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum TimeIn {
    /// In one cell.
    One(usize),
    /// Date and time of day.
    Two(usize, usize),
    /// Date and number of the period.
    Period(usize, usize),
}

/// What the columns hold.
#[derive(Clone, Debug)]
pub(crate) struct TableShape {
    pub(crate) separator: char,
    pub(crate) header_line: usize,
    pub(crate) names: Vec<String>,
    pub(crate) time: TimeIn,
    pub(crate) order: Result<DateOrder, String>,
    pub(crate) id: Option<usize>,
    /// Others that name the meter as well.
    pub(crate) more_ids: Vec<usize>,
    pub(crate) kinds: Vec<usize>,
    pub(crate) unit: Option<usize>,
    pub(crate) quality: Option<usize>,
    /// Columns of values.
    pub(crate) values: Vec<usize>,
    /// Unit written in the cells of a column of values.
    pub(crate) cell_units: Vec<Option<String>>,
    /// Some values have a mark of quality behind them.
    pub(crate) marked: bool,
    /// Most periods of a day.
    pub(crate) periods: usize,
    /// Why the table cannot be read as it is; empty: it can.
    pub(crate) odd: Vec<&'static str>,
}

type CellRow<'t> = Vec<Cow<'t, str>>;

impl TableShape {
    pub(crate) fn find(text: &str) -> Option<TableShape> {
        let separator = separator(text);
        let lines: Vec<&str> = text.lines().take(LONGEST_PREAMBLE + ROWS_SEEN).collect();
        (0..lines.len().min(LONGEST_PREAMBLE))
            .find_map(|at| TableShape::under(&lines, at, separator))
    }

    /// With the header in a line.
    fn under(lines: &[&str], header_line: usize, separator: char) -> Option<TableShape> {
        let names: Vec<String> = split(lines[header_line], separator)
            .into_iter()
            .map(Cow::into_owned)
            .collect();
        let is_header = names.len() > 1
            && names
                .iter()
                .any(|name| name.chars().any(char::is_alphabetic));
        let holds_time = names
            .iter()
            .any(|name| moment(name, DateOrder::DayFirst).is_some());
        (is_header && !holds_time).then_some(())?;
        let rows: Vec<CellRow<'_>> = lines[header_line + 1..]
            .iter()
            .filter(|line| !line.trim().is_empty())
            .map(|line| split(line, separator))
            .filter(|row| row.len() > 1)
            .collect();
        (!rows.is_empty()).then_some(())?;
        let width = names.len();
        let (time, order) = time_in(&names, &rows)?;
        let taken = |column: usize| match time {
            TimeIn::One(first) => column == first,
            TimeIn::Two(first, second) | TimeIn::Period(first, second) => {
                column == first || column == second
            }
        };
        let mut shape = TableShape {
            separator,
            header_line,
            time,
            order,
            id: None,
            more_ids: Vec::new(),
            kinds: Vec::new(),
            unit: None,
            quality: None,
            values: Vec::new(),
            cell_units: Vec::new(),
            marked: false,
            periods: 0,
            odd: Vec::new(),
            names,
        };
        let mut ids: Vec<(usize, usize)> = Vec::new();
        for column in (0..width).filter(|&column| !taken(column)) {
            let name = &shape.names[column];
            let cells = known_cells(&rows, column);
            if cells.is_empty() {
                continue;
            }
            let all = |is: &dyn Fn(&str) -> bool| cells.iter().all(|cell| is(cell));
            let numeric = cells.iter().filter(|cell| figure(cell).is_some()).count();
            if is_quality(name) && all(&|cell| estimated(cell).is_some()) {
                shape.quality.get_or_insert(column);
            } else if all(&|cell| column_unit::parse(cell).is_some() && cell.len() > 1) {
                shape.unit.get_or_insert(column);
            } else if let Some(rank) =
                id_rank(name).filter(|_| tells_meters_apart(&rows, column, time))
            {
                shape.more_ids.push(column);
                ids.push((rank, column));
            } else if numeric == 0 && all(&|cell| kind(cell).is_some()) {
                shape.kinds.push(column);
            } else if 2 * numeric > cells.len() && moment(cells[0], DateOrder::DayFirst).is_none() {
                let units: Vec<Option<&str>> = cells
                    .iter()
                    .filter_map(|cell| figure(cell))
                    .map(|(_, unit, _)| unit)
                    .collect();
                let unit = units.iter().flatten().next();
                shape.marked |= cells
                    .iter()
                    .any(|cell| figure(cell).is_some_and(|(.., mark)| mark.is_some()));
                shape.cell_units.push(unit.map(|unit| (*unit).to_owned()));
                shape.values.push(column);
            }
        }
        shape.id = ids.into_iter().min().map(|(_, column)| column);
        (!shape.values.is_empty()).then_some(())?;
        shape.note_oddities(&rows);
        Some(shape)
    }

    /// Is a column read, or does it name the meter?
    pub(crate) fn uses(&self, column: usize) -> bool {
        let of_time = match self.time {
            TimeIn::One(first) => column == first,
            TimeIn::Two(first, second) | TimeIn::Period(first, second) => {
                column == first || column == second
            }
        };
        let single = [self.id, self.unit, self.quality];
        of_time
            || single.contains(&Some(column))
            || [&self.more_ids, &self.kinds, &self.values]
                .iter()
                .any(|columns| columns.contains(&column))
    }

    /// What a plain reading of the table would not understand.
    fn note_oddities(&mut self, rows: &[CellRow<'_>]) {
        let mut odd = Vec::new();
        if self.id.is_some() {
            odd.push("several meters, one for each word in a column");
        }
        if !self.kinds.is_empty() && self.values.len() == 1 {
            odd.push("a column that names the quantity");
        }
        if self.unit.is_some() && self.values.len() == 1 {
            odd.push("a column of units");
        }
        if self.quality.is_some() || self.marked {
            odd.push("marks of quality");
        }
        if self.cell_units.iter().any(Option::is_some) {
            odd.push("units in the cells");
        }
        if let TimeIn::Period(_, period) = self.time {
            self.periods = rows
                .iter()
                .filter_map(|row| row.get(period)?.parse().ok())
                .max()
                .unwrap_or(0);
            odd.push("a date and the number of a period");
        }
        if self.time_is_odd(rows) {
            odd.push("times in an unusual form");
        }
        let formula = rows.iter().flatten().any(|cell| cell.starts_with("=\""));
        if formula {
            odd.push("cells written as formulas");
        }
        self.odd = odd;
    }

    fn time_is_odd(&self, rows: &[CellRow<'_>]) -> bool {
        let cells = |column: usize| {
            rows.iter()
                .filter_map(move |row| row.get(column))
                .map(Cow::as_ref)
        };
        match self.time {
            TimeIn::Period(..) => false,
            TimeIn::One(column) => {
                cells(column)
                    .filter(|cell| !cell.is_empty())
                    .take(50)
                    .any(|cell| {
                        let lower = cell.to_lowercase();
                        let letters = lower.chars().filter(|c| c.is_alphabetic()).count();
                        let weekday = letters >= 3 && date_words(&lower);
                        let is_serial = cell.len() >= 5
                            && cell.bytes().take(5).all(|byte| byte.is_ascii_digit())
                            && !cell.contains([':', '-', '/'])
                            && cell.len() < 20
                            && (cell.len() == 5 || cell.as_bytes()[5] == b'.');
                        let zone = lower.ends_with(']')
                            || ["bst", "gmt", "utc", "cet", "cest"]
                                .iter()
                                .any(|zone| lower.ends_with(zone));
                        let dots = lower.contains("a.m.") || lower.contains("p.m.");
                        let basic = lower.contains('t') && !cell.contains(['-', ':', ' ']);
                        let week = lower.contains("-w");
                        let range = moment(cell, DateOrder::DayFirst)
                            .or_else(|| moment(cell, DateOrder::MonthFirst))
                            .is_some_and(|moment| moment.range);
                        let month = moment(cell, DateOrder::DayFirst)
                            .is_some_and(|moment| moment.whole)
                            && date(cell, DateOrder::DayFirst).is_none();
                        weekday || is_serial || zone || dots || basic || week || range || month
                    })
            }
            TimeIn::Two(first, second) => {
                let named = |column: usize| self.names[column].to_lowercase();
                let usual = named(first) == "date" && named(second) == "time";
                let range = cells(second)
                    .take(50)
                    .any(|cell| time_alone(cell).is_some_and(|(_, range)| range));
                let odd_date = cells(first).take(50).any(|cell| {
                    let lower = cell.to_lowercase();
                    date_words(&lower)
                        || cell.len() == 5 && cell.bytes().all(|byte| byte.is_ascii_digit())
                });
                let odd_time = cells(second)
                    .take(50)
                    .any(|cell| cell.to_lowercase().contains(".m."));
                !usual || range || odd_date || odd_time
            }
        }
    }
}

/// Does a date begin with its weekday?
fn date_words(lower: &str) -> bool {
    ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
        .iter()
        .any(|day| lower.starts_with(day))
        && !lower.starts_with("month")
}

/// The number in a cell with the unit and the mark of quality behind it.
pub(crate) fn figure(cell: &str) -> Option<(&str, Option<&str>, Option<bool>)> {
    let end = cell
        .trim_end_matches(|c: char| c.is_alphabetic() || c == '*')
        .trim_end();
    let tail = cell[end.len()..].trim();
    let is_number = super::cells::number(end, super::cells::NumberForm::Point).is_some()
        || super::cells::number(end, super::cells::NumberForm::Comma).is_some();
    is_number.then_some(())?;
    if tail.is_empty() {
        return Some((end, None, None));
    }
    if tail == "*" {
        return Some((end, None, Some(true)));
    }
    if tail.len() > 1 && column_unit::parse(tail).is_some() {
        return Some((end, Some(tail), None));
    }
    let mark = estimated(tail).filter(|_| tail.len() == 1)?;
    Some((end, None, Some(mark)))
}

/// Two or more different identifiers, each in several rows: at times that come again, or in a block of its own.
pub(crate) fn tells_meters_apart(rows: &[CellRow<'_>], column: usize, time: TimeIn) -> bool {
    let ids: Vec<&str> = rows
        .iter()
        .filter_map(|row| row.get(column))
        .map(Cow::as_ref)
        .collect();
    let mut different = ids.clone();
    different.sort_unstable();
    different.dedup();
    let known = different.iter().filter(|id| !id.is_empty()).count();
    if known < 2 || 2 * known > ids.len() {
        return false;
    }
    let blocks = 1 + ids.windows(2).filter(|pair| pair[0] != pair[1]).count();
    if blocks == different.len() {
        return true;
    }
    let stamp = |row: &CellRow<'_>| -> String {
        let cell = |at: usize| row.get(at).map_or("", Cow::as_ref);
        match time {
            TimeIn::One(at) => cell(at).to_owned(),
            TimeIn::Two(a, b) | TimeIn::Period(a, b) => format!("{} {}", cell(a), cell(b)),
        }
    };
    let mut stamps: Vec<(String, &str)> = rows
        .iter()
        .map(|row| (stamp(row), row.get(column).map_or("", Cow::as_ref)))
        .collect();
    stamps.sort_unstable();
    let again = stamps
        .windows(2)
        .filter(|pair| pair[0].0 == pair[1].0 && pair[0].1 != pair[1].1)
        .count();
    4 * again >= stamps.len()
}

/// Where the time is, and the order of the dates.
fn time_in(names: &[String], rows: &[CellRow<'_>]) -> Option<(TimeIn, Result<DateOrder, String>)> {
    let column = |at: usize| {
        rows.iter()
            .filter_map(move |row| row.get(at))
            .map(Cow::as_ref)
            .filter(|cell| !cell.is_empty())
    };
    let share = |at: usize, is: &dyn Fn(&str) -> bool| {
        let (all, yes) = column(at).fold((0, 0), |(all, yes), cell| {
            (all + 1, yes + usize::from(is(cell)))
        });
        all > 0 && 10 * yes >= 8 * all
    };
    let reads = |cell: &str| {
        let found =
            moment(cell, DateOrder::DayFirst).or_else(|| moment(cell, DateOrder::MonthFirst));
        found.map(|moment| moment.whole)
    };
    let order_of = |at: usize| {
        let dates: Vec<&str> = column(at)
            .map(|cell| {
                cell.find(':').map_or(cell, |colon| {
                    cell[..colon]
                        .trim_end_matches(|c: char| c.is_ascii_digit())
                        .trim_end()
                })
            })
            .collect();
        dates::order(&dates.iter().copied())
    };
    let is_count = |cell: &str| cell.parse::<u32>().is_ok();
    let mut all = 0..names.len();
    // Serial numbers of days look like counts; a heading of time identifies them.
    let headed = |at: usize| {
        let lower = names[at].to_lowercase();
        [
            "date", "time", "day", "month", "period", "from", "start", "read",
        ]
        .iter()
        .any(|word| lower.contains(word))
    };
    let with_time = all.clone().find(|&at| {
        share(at, &|cell| reads(cell) == Some(false))
            && (headed(at) || !share(at, &|cell| cell.parse::<f64>().is_ok()))
    });
    if let Some(at) = with_time {
        return Some((TimeIn::One(at), order_of(at)));
    }
    let day = all.find(|&at| {
        share(at, &|cell| reads(cell) == Some(true)) && (headed(at) || !share(at, &is_count))
    })?;
    let order = order_of(day);
    let others = || (0..names.len()).filter(|&at| at != day);
    if let Some(at) = others().find(|&at| share(at, &|cell| time_alone(cell).is_some())) {
        return Some((TimeIn::Two(day, at), order));
    }
    let is_period = |at: &usize| {
        let lower = names[*at].to_lowercase();
        let named = ["period", "interval", "hour", "hh", "slot", "sp"]
            .iter()
            .any(|word| lower.contains(word))
            && unit_in(&lower).is_none();
        named
            && share(*at, &|cell| {
                cell.parse::<u32>().is_ok_and(|number| number <= 300)
            })
    };
    if let Some(at) = others().find(is_period) {
        return Some((TimeIn::Period(day, at), order));
    }
    Some((TimeIn::One(day), order))
}
