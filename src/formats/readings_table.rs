//! Tables with a row for each reading that are no plain log: several meters, a column that names the quantity, a date and
//! the number of a period, times and cells in other forms. Each meter's rows are written once more as a plain log.

use std::borrow::Cow;
use std::collections::HashMap;
use std::fmt::Write as _;

use super::cells::{FormEvidence, FoundForm, NumberForm, is_nothing, number, split};
use super::column_unit::{self, Dimension};
use super::dates::{DateOrder, date};
use super::day_table::{DayTable, RowKey};
use super::kinds::{EnergyKind, estimated, is_summary, kind, unit_in};
use super::local_days::DayGrid;
use super::log_format::{FormatSource, LogFormat};
use super::moments::{moment, time_alone};
use super::several_meters::RowsWithoutMeter;
use super::slots::interval_s_of;
use super::table_shape::{TableShape, TimeIn, figure};
use super::transcript::{PlainLog, Transcript};
use super::unread_columns::UnreadColumns;
use message::{Message, Messages, Place};
use site::Stamp;

/// The format.
pub(crate) struct TableOfReadings;

impl LogFormat for TableOfReadings {
    fn name(&self) -> &'static str {
        "a row per reading"
    }

    fn recognise(&self, _file: &str, beginning: &str) -> Option<String> {
        let shape = TableShape::find(beginning)?;
        (!shape.odd.is_empty()).then(|| shape.odd.join(", "))
    }

    fn read(&self, source: &FormatSource<'_>, messages: &mut Messages) -> Option<Transcript> {
        let shape = TableShape::find(source.text)?;
        let order = match &shape.order {
            Ok(order) => *order,
            Err(first) => {
                messages.push(
                    Message::error(
                        "ambiguous-date",
                        format!(
                            "day and month of `{first}` in `{}` may change places",
                            source.file
                        ),
                    )
                    .at(Place::file(source.file), "")
                    .help("export the dates as 2026-03-09"),
                );
                return None;
            }
        };
        let table = MeterRows {
            shape: &shape,
            source,
            order,
        };
        if let TimeIn::Period(day, period) = shape.time {
            return table.periods(day, period, messages);
        }
        Some(Transcript::Logs(table.logs(messages)?))
    }
}

struct MeterRows<'s, 't> {
    shape: &'s TableShape,
    source: &'s FormatSource<'t>,
    order: DateOrder,
}

/// One meter's log while it is written.
struct Log {
    point: Option<String>,
    rows: Vec<(String, usize, String, Option<bool>)>,
}

impl<'t> MeterRows<'_, 't> {
    fn rows(&self) -> impl Iterator<Item = (usize, &'t str, Vec<Cow<'t, str>>)> {
        let separator = self.shape.separator;
        let lines = self
            .source
            .text
            .lines()
            .enumerate()
            .skip(self.shape.header_line + 1);
        lines
            .filter(|(_, line)| !line.trim().is_empty())
            .map(move |(at, line)| (at, line, split(line, separator)))
    }

    fn point(&self, cells: &[Cow<'_, str>]) -> Option<String> {
        let id = self.shape.id.and_then(|column| cells.get(column))?;
        (!id.is_empty()).then(|| id.clone().into_owned())
    }

    /// Is the quantity named row by row?
    fn pivots(&self) -> bool {
        self.shape.values.len() == 1 && (self.shape.unit.is_some() || !self.shape.kinds.is_empty())
    }

    /// The heading of a row's value, as plain logs have it.
    fn heading(&self, cells: &[Cow<'_, str>], column: usize, cell_unit: Option<&str>) -> String {
        let cell = |at: usize| cells.get(at).map_or("", Cow::as_ref);
        let name = &self.shape.names[column];
        if !self.pivots() {
            let has_unit = column_unit::split(name).is_some() || unit_in(name).is_some();
            return match cell_unit.filter(|_| !has_unit) {
                Some(unit) => format!("{name} [{unit}]"),
                None => name.clone(),
            };
        }
        let named: Vec<&str> = self.shape.kinds.iter().map(|&at| cell(at)).collect();
        let named = named.join(" ");
        let unit = self.shape.unit.map(cell).filter(|unit| !unit.is_empty());
        let unit = unit
            .or_else(|| unit_in(&named))
            .or_else(|| unit_in(name))
            .or(cell_unit);
        let unit = unit.or(self.source.unit).unwrap_or_default().to_owned();
        let found = kind(&named).or_else(|| kind(name)).unwrap_or_default();
        let way = if found.exports { "export" } else { "import" };
        let dimension = column_unit::parse(&unit).map(|unit| unit.dimension);
        match dimension {
            Some(Dimension::ActiveEnergy) => format!("active energy {way} [{unit}]"),
            Some(Dimension::ReactiveEnergy) => format!("reactive energy {way} [{unit}]"),
            Some(Dimension::ActivePower) => {
                let way = if found.exports { " export" } else { "" };
                format!("active power{way} [{unit}]")
            }
            Some(Dimension::ReactivePower) => format!("reactive power [{unit}]"),
            Some(Dimension::ApparentPower) => format!("apparent power [{unit}]"),
            _ if unit.is_empty() => named,
            _ => format!("{named} [{unit}]"),
        }
    }

    fn logs(&self, messages: &mut Messages) -> Option<Vec<PlainLog>> {
        let shape = self.shape;
        let mut without = RowsWithoutMeter::default();
        let mut unread = UnreadColumns::of(shape);
        let mut logs: Vec<Log> = Vec::new();
        let mut places: HashMap<Option<String>, usize> = HashMap::new();
        let mut headings: Vec<String> = Vec::new();
        let mut range = false;
        for (line, text, cells) in self.rows() {
            unread.see(line, text, &cells);
            let cell = |at: usize| cells.get(at).map_or("", Cow::as_ref);
            let time = match shape.time {
                TimeIn::Two(day, time) => {
                    let found = date(cell(day), self.order).zip(time_alone(cell(time)));
                    found.and_then(|(day, (time, of_range))| {
                        range |= of_range;
                        Some(time.apply(day)?.format("%Y-%m-%d %H:%M:%S").to_string())
                    })
                }
                TimeIn::One(at) | TimeIn::Period(at, _) => {
                    moment(cell(at), self.order).map(|moment| {
                        range |= moment.range;
                        moment.text()
                    })
                }
            };
            // A row without a time is left to the reader of plain logs, which reports it.
            let shown = match shape.time {
                TimeIn::Two(day, time) => format!("{} {}", cell(day), cell(time)),
                TimeIn::One(at) | TimeIn::Period(at, _) => cell(at).to_owned(),
            };
            let time = time.unwrap_or(shown);
            let point = self.point(&cells);
            if shape.id.is_some() && point.is_none() {
                without.see(self.source.file, line, text, &cells, &shape.values);
                continue;
            }
            let at = *places.entry(point.clone()).or_insert_with(|| {
                logs.push(Log {
                    point,
                    rows: Vec::new(),
                });
                logs.len() - 1
            });
            let of_row = shape.quality.and_then(|column| estimated(cell(column)));
            for &column in &shape.values {
                let text = cell(column);
                let parted = figure(text);
                let (value, unit, mark) = parted.map_or((text, None, None), |found| found);
                let heading = self.heading(&cells, column, unit);
                let known = headings
                    .iter()
                    .position(|known| *known == heading)
                    .unwrap_or_else(|| {
                        headings.push(heading);
                        headings.len() - 1
                    });
                let mark = mark.or(of_row);
                logs[at]
                    .rows
                    .push((time.clone(), known, value.to_owned(), mark));
            }
        }
        without.report(messages)?;
        unread.report(self.source.file, shape, messages);
        // A range says both ends: its start is written.
        let stamp = range.then_some(Stamp::Start);
        let logs = logs.into_iter();
        Some(
            logs.map(|log| self.written(log, &headings, stamp))
                .collect(),
        )
    }

    fn written(&self, log: Log, headings: &[String], stamp: Option<Stamp>) -> PlainLog {
        let shape = self.shape;
        let separator = shape.separator;
        let quoted = |text: &str| {
            if text.contains([separator, '"']) {
                format!("\"{}\"", text.replace('"', "\"\""))
            } else {
                text.to_owned()
            }
        };
        let mut used: Vec<usize> = log.rows.iter().map(|row| row.1).collect();
        used.sort_unstable();
        used.dedup();
        let has_quality = shape.quality.is_some() || shape.marked;
        let time_name = match shape.time {
            TimeIn::One(at) | TimeIn::Two(_, at) => shape.names[at].as_str(),
            TimeIn::Period(..) => "time",
        };
        let time_name =
            if headings.iter().any(|heading| heading == time_name) || time_name.is_empty() {
                "time"
            } else {
                time_name
            };
        let mut text = quoted(time_name);
        for &column in &used {
            let _ = write!(text, "{separator}{}", quoted(&headings[column]));
        }
        if has_quality {
            let _ = write!(text, "{separator}estimated_share");
        }
        text.push('\n');
        // The values of a row follow each other; where the quantity is named row by row, a row has one.
        let mut index = 0;
        while index < log.rows.len() {
            let time = &log.rows[index].0;
            let mut cells: Vec<&str> = vec![""; used.len()];
            let mut mark = None;
            let mut next = index;
            while let Some((own, column, value, own_mark)) = log.rows.get(next) {
                let at = used.partition_point(|known| known < column);
                if own != time || !cells[at].is_empty() {
                    break;
                }
                cells[at] = value;
                mark = own_mark.or(mark);
                next += 1;
                if value.is_empty() {
                    cells[at] = " ";
                }
            }
            text.push_str(&quoted(time));
            for cell in cells {
                let _ = write!(text, "{separator}{}", quoted(cell.trim()));
            }
            if has_quality {
                let shown = match mark {
                    Some(true) => "1",
                    Some(false) => "0",
                    None => "",
                };
                let _ = write!(text, "{separator}{shown}");
            }
            text.push('\n');
            index = next;
        }
        PlainLog {
            point: log.point,
            text: text.into_bytes(),
            stamp,
        }
    }

    /// A date and the number of a period: the days are those of the local calendar.
    fn periods(&self, day: usize, period: usize, messages: &mut Messages) -> Option<Transcript> {
        let shape = self.shape;
        let file = self.source.file;
        let numbers = self
            .rows()
            .filter_map(|(.., cells)| cells.get(period)?.parse::<usize>().ok());
        let (least, most) = numbers.fold((usize::MAX, 0), |(least, most), number| {
            (least.min(number), most.max(number))
        });
        let from_zero = least == 0;
        let count = if from_zero { most + 1 } else { most };
        let ends = shape.names[period].to_lowercase().contains("hour");
        let interval_s = interval_s_of(count).or_else(|| (ends && count <= 25).then_some(3600));
        let Some(interval_s) = interval_s else {
            messages.push(
                Message::error("interval-format", format!("the days of `{file}` have {count} periods"))
                    .at(Place::file(file), "expected 24, 48, 96 or 288, and an hour more or less on the days of the clock change")
                    .help("export whole days"),
            );
            return None;
        };
        let mut evidence = FormEvidence::default();
        for (.., cells) in self.rows().take(2000) {
            for &column in &shape.values {
                if let Some((value, ..)) = cells.get(column).and_then(|cell| figure(cell)) {
                    evidence.see(value);
                }
            }
        }
        let FoundForm::Clear(form) = evidence.form(shape.separator) else {
            messages.push(self.unclear());
            return None;
        };
        let mut table = DayTable::new(self.source, shape.quality.is_some() || shape.marked);
        let mut unread = UnreadColumns::of(shape);
        for (line, text, cells) in self.rows() {
            unread.see(line, text, &cells);
            let cell = |at: usize| cells.get(at).map_or("", Cow::as_ref);
            let (Some(date), Ok(number)) =
                (date(cell(day), self.order), cell(period).parse::<usize>())
            else {
                let known = shape
                    .values
                    .iter()
                    .any(|&column| figure(cell(column)).is_some());
                if known && !cells.iter().any(|cell| is_summary(cell)) {
                    table.undated(&format!("{} {}", cell(day), cell(period)), line, text);
                }
                continue;
            };
            let at = if from_zero { number } else { number - 1 };
            let of_row = shape.quality.and_then(|column| estimated(cell(column)));
            for &column in &shape.values {
                let parted = figure(cell(column));
                let found = parted
                    .and_then(|(value, unit, mark)| Some((self::number(value, form)?, unit, mark)));
                let Some((value, unit, mark)) = found else {
                    if !is_nothing(cell(column)) {
                        table.unreadable(cell(column), &format!("{number} of {date}"), line, text);
                    }
                    continue;
                };
                let heading = self.heading(&cells, column, unit);
                let unit = unit_in(&heading).map(str::to_owned);
                let mut found: Option<EnergyKind> = kind(&heading);
                if unit
                    .as_deref()
                    .is_some_and(|unit| unit.to_lowercase().contains("var"))
                {
                    found = Some(EnergyKind {
                        reactive: true,
                        ..found.unwrap_or_default()
                    });
                }
                let key = table.key(
                    RowKey {
                        point: self.point(&cells),
                        named: heading,
                        unit,
                    },
                    found,
                );
                table.put_value(key, date, at, value, line, text);
                if mark.or(of_row) == Some(true) {
                    table.mark(key, date, at);
                }
            }
        }
        unread.report(file, shape, messages);
        let grid = DayGrid {
            zone: self.source.zone,
            interval_s,
            first_s: 0,
        };
        let title: String = self
            .source
            .text
            .lines()
            .take(shape.header_line + 1)
            .collect::<Vec<_>>()
            .join(" ");
        let unit = unit_in(&title).map(str::to_owned);
        Some(Transcript::Channels(table.finish(
            grid,
            unit.as_deref(),
            messages,
        )?))
    }

    fn unclear(&self) -> Message {
        let sum = |form: NumberForm| -> f64 {
            let values = self.rows().flat_map(|(.., cells)| {
                let own = self
                    .shape
                    .values
                    .iter()
                    .filter_map(|&column| number(figure(cells.get(column)?)?.0, form));
                own.collect::<Vec<f64>>()
            });
            values.sum()
        };
        Message::error(
            "thousands-or-decimals",
            format!(
                "a sign in the numbers of `{}` may be a decimal sign or separate thousands: with a decimal point the values add up to {}, with a decimal comma to {}",
                self.source.file,
                units::plain_figure(sum(NumberForm::Point)),
                units::plain_figure(sum(NumberForm::Comma))
            ),
        )
        .at(Place::file(self.source.file), "")
        .help("export the log without separators of thousands")
    }
}
