//! Tables with a row for each day and a column for each period: 24, 48, 96 and the like, with those of the clock change.

use std::borrow::Cow;

use super::cells::{FormEvidence, FoundForm, NumberForm, is_nothing, known_cells, number, split};
use super::channel::EstimatedRange;
use super::column_unit;
use super::dates::{self, DateOrder, date};
use super::day_columns::{DayColumns, OtherColumns, is_number, other_columns};
use super::day_table::{DayTable, RowKey};
use super::kinds::{EnergyKind, estimated, is_summary, kind, unit_in};
use super::line_place::place;
use super::local_days::{DayGrid, DayValues};
use super::log_format::{FormatSource, LogFormat};
use super::slots::interval_s_of;
use super::transcript::Transcript;
use message::{Message, Messages, Place};
use site::Stamp;

/// The format.
pub(crate) struct WideDays;

/// Rows that show the form of dates and numbers.
const ROWS_SEEN: usize = 400;

impl LogFormat for WideDays {
    fn name(&self) -> &'static str {
        "a row per day"
    }

    fn recognise(&self, _file: &str, beginning: &str) -> Option<String> {
        let shape = DayColumns::find(beginning)?;
        Some(format!(
            "{} columns of {} min, from `{}`, and a date in {}",
            shape.periods.count,
            shape.periods.interval_s / 60,
            shape
                .names
                .get(shape.periods.first)
                .map_or("1", String::as_str),
            shape
                .names
                .get(shape.date)
                .filter(|name| !name.is_empty())
                .map_or_else(
                    || format!("column {}", shape.date + 1),
                    |name| format!("`{name}`")
                )
        ))
    }

    fn read(&self, source: &FormatSource<'_>, messages: &mut Messages) -> Option<Transcript> {
        let shape = DayColumns::find(source.text)?;
        let rows = Rows::new(&shape, source);
        let channels = rows.read(messages)?;
        if channels.iter().all(|channel| channel.stretches.is_empty()) {
            messages.push(
                Message::error(
                    "empty-log",
                    format!(
                        "the log `{}` has no row with a date and values",
                        source.file
                    ),
                )
                .at(Place::file(source.file), "")
                .help("export the log again, or exclude the file from the meter's `files`"),
            );
            return None;
        }
        Some(Transcript::Channels(channels))
    }
}

struct Rows<'s, 't> {
    shape: &'s DayColumns,
    source: &'s FormatSource<'t>,
    others: OtherColumns,
    order: Result<DateOrder, String>,
    form: FoundForm,
    marked: bool,
}

impl<'s, 't> Rows<'s, 't> {
    fn new(shape: &'s DayColumns, source: &'s FormatSource<'t>) -> Rows<'s, 't> {
        let lines = || {
            source
                .text
                .lines()
                .skip(shape.lines_before)
                .filter(|line| !line.trim().is_empty())
        };
        let rows: Vec<Vec<Cow<'_, str>>> = lines()
            .take(ROWS_SEEN)
            .map(|line| split(line, shape.separator))
            .collect();
        let mut evidence = FormEvidence::default();
        let mut marked = false;
        for row in &rows {
            for cell in row
                .iter()
                .skip(shape.periods.first)
                .take(shape.periods.count)
            {
                let (figure, mark) = parted(cell);
                marked |= mark.is_some();
                evidence.see(figure);
            }
        }
        let dates = known_cells(&rows, shape.date);
        Rows {
            others: other_columns(shape, &rows),
            order: dates::order(&dates.iter().copied()),
            form: evidence.form(shape.separator),
            marked,
            shape,
            source,
        }
    }

    fn read(&self, messages: &mut Messages) -> Option<Vec<super::channel::IntervalChannel>> {
        let file = self.source.file;
        let order = match &self.order {
            Ok(order) => *order,
            Err(first) => {
                messages.push(
                    Message::error(
                        "ambiguous-date",
                        format!("day and month of `{first}` in `{file}` may change places"),
                    )
                    .at(Place::file(file), "")
                    .help("write the dates as 2026-03-09"),
                );
                return None;
            }
        };
        let form = match self.form {
            FoundForm::Clear(form) => form,
            FoundForm::Unclear(sign) => {
                messages.push(self.unclear(sign));
                return None;
            }
        };
        let has_quality = self.marked || self.others.quality.is_some();
        let mut table = DayTable::new(self.source, has_quality);
        let periods = self.shape.periods;
        // Rows of one meter follow each other.
        let mut last: Option<(Vec<Option<Cow<'_, str>>>, usize)> = None;
        for (index, line) in self
            .source
            .text
            .lines()
            .enumerate()
            .skip(self.shape.lines_before)
        {
            if line.trim().is_empty() {
                continue;
            }
            let cells = split(line, self.shape.separator);
            let Some(date) = cells
                .get(self.shape.date)
                .and_then(|cell| date(cell, order))
            else {
                if self.is_day(&cells, form) {
                    let cell = cells.get(self.shape.date).map_or("", Cow::as_ref);
                    table.undated(cell, index, line);
                }
                continue;
            };
            let named = self.shape.names.len();
            if named > 0 && cells.iter().skip(named).any(|cell| !cell.is_empty()) {
                table.fault(
                    Message::error(
                        "interval-format",
                        format!("a row of `{file}` has more cells than the header"),
                    )
                    .at(
                        place(file, index, line),
                        format!("expected {named} cells, found {}", cells.len()),
                    )
                    .help("a decimal sign or a sign of thousands may be the separator of the cells: export with quotes or another separator"),
                );
            }
            let mut day = DayValues {
                date,
                values: Vec::with_capacity(periods.count),
                estimated: Vec::new(),
                line: index,
            };
            let count = self.count_of(&cells);
            if named == 0 && interval_s_of(count) != Some(periods.interval_s) {
                table.fault(
                    Message::error(
                        "interval-format",
                        format!(
                            "a row of `{file}` has {count} values, others have {}",
                            periods.count
                        ),
                    )
                    .at(
                        place(file, index, line),
                        "expected a value for each period of the day",
                    )
                    .help(
                        "give the columns names: the first row of the file then names the periods",
                    ),
                );
            }
            for at in 0..count {
                let cell = cells.get(periods.first + at).map_or("", Cow::as_ref);
                let (figure, mark) = parted(cell);
                let value = number(figure, form);
                if value.is_none() && !is_nothing(figure) {
                    table.unreadable(cell, &format!("{} of {date}", at + 1), index, line);
                }
                if mark == Some(true) {
                    EstimatedRange::mark(&mut day.estimated, at);
                }
                day.values.push(value.unwrap_or(f64::NAN));
            }
            let mark = self
                .others
                .quality
                .and_then(|column| estimated(cells.get(column)?));
            if mark == Some(true) {
                day.estimated = vec![EstimatedRange { from: 0, to: count }];
            }
            let key = match &last {
                Some((known, key)) if self.names_same(known, &cells) => *key,
                _ => {
                    let (key, kind) = self.key(&cells);
                    let key = table.key(key, kind);
                    let names = self.naming().map(|at| cells.get(at).cloned());
                    last = Some((names.collect(), key));
                    key
                }
            };
            table.put_day(key, day, line);
        }
        let first_s = match self.source.stamp {
            // Declared: a label is the end of its period.
            Some(Stamp::End) if !periods.by_number && periods.first_s == 0 => {
                -i64::from(periods.interval_s)
            }
            Some(Stamp::Start) if !periods.by_number => periods.label_s(),
            _ => periods.first_s,
        };
        let grid = DayGrid {
            zone: self.source.zone,
            interval_s: periods.interval_s,
            first_s,
        };
        let unit = unit_in(&self.shape.title).or_else(|| unit_in(file));
        table.finish(grid, unit, messages)
    }

    /// Periods of a row. Without a header, the day on which an hour is repeated has more than others.
    fn count_of(&self, cells: &[Cow<'_, str>]) -> usize {
        let periods = self.shape.periods;
        if !self.shape.names.is_empty() {
            return periods.count;
        }
        let values = cells.iter().skip(periods.first);
        let own = values.take_while(|cell| is_number(parted(cell).0)).count();
        own.max(periods.count)
    }

    /// Does a row hold the values of a day, and not a sum of days, a remark or the header once more?
    fn is_day(&self, cells: &[Cow<'_, str>], form: NumberForm) -> bool {
        let periods = self.shape.periods;
        let values = cells.iter().skip(periods.first).take(periods.count);
        let numbers = values
            .filter(|cell| number(parted(cell).0, form).is_some())
            .count();
        let mut others = cells
            .iter()
            .enumerate()
            .filter(|(at, _)| !self.shape.is_period(*at))
            .map(|(_, cell)| cell.as_ref());
        let repeats = cells.get(self.shape.date).map(Cow::as_ref)
            == self.shape.names.get(self.shape.date).map(String::as_str);
        numbers > 0 && !repeats && !others.any(is_summary)
    }

    /// The columns that name a row's meter and quantity.
    fn naming(&self) -> impl Iterator<Item = usize> {
        let others = &self.others;
        let columns = others.ids.iter().chain(&others.kinds).chain(&others.units);
        columns.copied()
    }

    fn names_same(&self, known: &[Option<Cow<'_, str>>], cells: &[Cow<'_, str>]) -> bool {
        let mut columns = self.naming().zip(known);
        columns.all(|(at, known)| cells.get(at) == known.as_ref())
    }

    fn key(&self, cells: &[Cow<'_, str>]) -> (RowKey, Option<EnergyKind>) {
        let cell = |column: usize| cells.get(column).map_or("", Cow::as_ref);
        let ids: Vec<&str> = self
            .others
            .ids
            .iter()
            .map(|&column| cell(column))
            .filter(|id| !id.is_empty())
            .collect();
        let named: Vec<&str> = self
            .others
            .kinds
            .iter()
            .map(|&column| cell(column))
            .filter(|word| !word.is_empty())
            .collect();
        let named = named.join(" ");
        let unit = self
            .others
            .units
            .map(cell)
            .filter(|unit| column_unit::parse(unit).is_some());
        let unit = unit.or_else(|| unit_in(&named));
        let mut found = kind(&named);
        let reactive = unit.is_some_and(|unit| unit.to_lowercase().contains("var"));
        if reactive {
            found = Some(EnergyKind {
                reactive: true,
                ..found.unwrap_or_default()
            });
        }
        let key = RowKey {
            point: (!ids.is_empty()).then(|| ids.join("/")),
            unit: unit.map(str::to_owned),
            named,
        };
        (key, found)
    }

    /// A sign that may separate thousands or decimals: both totals.
    fn unclear(&self, sign: char) -> Message {
        let sum = |form: NumberForm| -> f64 {
            let lines = self.source.text.lines().skip(self.shape.lines_before);
            lines
                .flat_map(|line| {
                    let cells = split(line, self.shape.separator);
                    let own = cells
                        .iter()
                        .skip(self.shape.periods.first)
                        .take(self.shape.periods.count);
                    own.filter_map(|cell| number(parted(cell).0, form))
                        .collect::<Vec<f64>>()
                })
                .sum()
        };
        let (decimal, group) = match sign {
            ',' => (NumberForm::Comma, NumberForm::Point),
            _ => (NumberForm::Point, NumberForm::Comma),
        };
        Message::error(
            "thousands-or-decimals",
            format!(
                "`{sign}` in the numbers of `{}` may be a decimal sign or separate thousands: the values add up to {} or to {}",
                self.source.file,
                units::plain_figure(sum(decimal)),
                units::plain_figure(sum(group))
            ),
        )
        .at(Place::file(self.source.file), "")
        .help(format!("export the log without separators of thousands, or with another separator between the cells than `{sign}`"))
    }
}

/// A cell without its mark of quality or its unit, and what the mark says.
fn parted(cell: &str) -> (&str, Option<bool>) {
    if cell.ends_with(|c: char| c.is_ascii_digit()) {
        return (cell, None);
    }
    let end = cell
        .trim_end_matches(|c: char| c.is_alphabetic() || c == '*')
        .trim_end();
    let mark = cell[end.len()..].trim();
    if mark.is_empty() || !end.ends_with(|c: char| c.is_ascii_digit()) {
        return (cell, None);
    }
    if mark == "*" {
        return (end, Some(true));
    }
    if column_unit::parse(mark).is_some() && mark.len() > 1 {
        return (end, None);
    }
    match estimated(mark).filter(|_| mark.len() == 1) {
        Some(is_estimated) => (end, Some(is_estimated)),
        None => (cell, None),
    }
}
