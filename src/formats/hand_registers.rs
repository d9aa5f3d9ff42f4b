//! Registers read by hand: a table with date, meter and value, and a unit where it is not kWh. What a register counted
//! between two readings is spread evenly over the time between them.

use std::collections::{BTreeMap, HashMap};
use std::fmt::Write as _;

use super::cells::{NumberForm, number, separator, split};
use super::column_unit;
use super::energy_reading::EnergyReading;
use super::line_place::place;
use super::log_format::{FormatSource, LogFormat};
use super::transcript::{PlainLog, Transcript};
use message::{Message, Messages, Place};

/// The format.
pub(crate) struct HandRegisters;

/// Columns of the table.
#[derive(Clone, Copy, Debug)]
struct RegisterColumns {
    date: usize,
    meter: usize,
    value: usize,
    unit: Option<usize>,
    separator: char,
}

impl RegisterColumns {
    fn of(text: &str) -> Option<RegisterColumns> {
        let header = text.lines().find(|line| !line.trim().is_empty())?;
        let separator = separator(text);
        let names: Vec<String> = split(header, separator)
            .iter()
            .map(|name| name.to_lowercase())
            .collect();
        let at = |name: &str| names.iter().position(|known| known == name);
        (names.len() <= 5).then_some(())?;
        Some(RegisterColumns {
            date: at("date").or_else(|| at("time"))?,
            meter: at("meter")?,
            value: at("value")?,
            unit: at("unit"),
            separator,
        })
    }
}

/// Is the file called what registers read by hand are called?
fn is_named(file: &str) -> bool {
    let name = file.rsplit(['/', '\\', ' ']).next().unwrap_or_default();
    name.to_lowercase().contains("register")
}

/// The values of each meter, in the order of the file.
fn numbers_by_meter(text: &str, columns: RegisterColumns) -> BTreeMap<String, Vec<f64>> {
    let mut meters: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for line in text.lines().skip(1) {
        let cells = split(line, columns.separator);
        let value = cells.get(columns.value).and_then(|cell| {
            number(cell, NumberForm::Point).or_else(|| number(cell, NumberForm::Comma))
        });
        if let (Some(meter), Some(value)) = (cells.get(columns.meter), value) {
            meters
                .entry(meter.clone().into_owned())
                .or_default()
                .push(value);
        }
    }
    meters
}

/// A question where values may be registers or what was used between two dates.
fn unclear(source: &FormatSource<'_>, columns: RegisterColumns) -> Option<Message> {
    let meters = numbers_by_meter(source.text, columns);
    let (meter, numbers) = meters.iter().find(|(_, numbers)| {
        EnergyReading::of_numbers(numbers, true) != EnergyReading::Register && numbers.len() > 1
    })?;
    let (counted, added) = EnergyReading::totals(numbers);
    Some(
        Message::error(
            "register-or-interval",
            format!(
                "the values of meter `{meter}` in `{}` may be readings of a register or the energy between the dates: {} as a register, {} as energies",
                source.file,
                units::plain_figure(counted),
                units::plain_figure(added)
            ),
        )
        .at(Place::file(source.file), "its values do not decide")
        .help("for readings of a register call the file `registers.csv`; for energies call the column `interval kWh` instead of `value`"),
    )
}

impl LogFormat for HandRegisters {
    fn name(&self) -> &'static str {
        "registers read by hand"
    }

    fn recognise(&self, file: &str, beginning: &str) -> Option<String> {
        let columns = RegisterColumns::of(beginning)?;
        // Values that go up and down are no registers, unless the file is named for them.
        let by_values = || {
            let meters = numbers_by_meter(beginning, columns);
            !meters
                .values()
                .any(|numbers| EnergyReading::of_numbers(numbers, true) == EnergyReading::Interval)
        };
        (is_named(file) || by_values()).then_some(())?;
        // Readings by hand are days apart; a quantity in a column is another table.
        let dates = beginning.lines().skip(1).take(50).filter_map(|line| {
            let cells = split(line, columns.separator);
            cells.get(columns.date).map(ToString::to_string)
        });
        let by_day = dates
            .filter(|date| !date.is_empty())
            .all(|date| date.len() <= 16 && !date.contains('T'));
        by_day.then(|| "its columns are date, meter and value".to_owned())
    }

    fn read(&self, source: &FormatSource<'_>, messages: &mut Messages) -> Option<Transcript> {
        let columns = RegisterColumns::of(source.text)?;
        if !is_named(source.file)
            && let Some(message) = unclear(source, columns)
        {
            messages.push(message);
            return None;
        }
        let mut logs: Vec<(String, String, String)> = Vec::new();
        let mut places: HashMap<String, usize> = HashMap::new();
        let mut sound = true;
        let mut lines = source
            .text
            .lines()
            .enumerate()
            .filter(|(_, line)| !line.trim().is_empty());
        lines.next();
        for (at, line) in lines {
            let cells = split(line, columns.separator);
            let cell = |column: usize| cells.get(column).map_or("", |cell| cell.as_ref());
            let meter = cell(columns.meter);
            let unit = columns
                .unit
                .map(cell)
                .filter(|unit| !unit.is_empty())
                .unwrap_or("kWh");
            let known = column_unit::parse(unit).is_some();
            if meter.is_empty() || !known {
                sound = false;
                let what = if known {
                    "names no meter"
                } else {
                    "has a unit that is not known"
                };
                messages.push(
                    Message::error(
                        "interval-format",
                        format!("a row of `{}` {what}", source.file),
                    )
                    .at(
                        place(source.file, at, line),
                        "expected a date, a meter, a value, and a unit such as kWh or MWh",
                    )
                    .help("write the name of the meter, as under `[[meter]]`"),
                );
                continue;
            }
            let index = *places.entry(meter.to_owned()).or_insert_with(|| {
                logs.push((
                    meter.to_owned(),
                    unit.to_owned(),
                    format!("date{}1.8.0 [{unit}]\n", columns.separator),
                ));
                logs.len() - 1
            });
            let (_, first_unit, text) = &mut logs[index];
            if *first_unit != unit {
                sound = false;
                messages.push(
                    Message::error(
                        "interval-format",
                        format!(
                            "meter `{meter}` of `{}` is read in {first_unit} and in {unit}",
                            source.file
                        ),
                    )
                    .at(
                        place(source.file, at, line),
                        format!("expected {first_unit}"),
                    )
                    .help("write all readings of a meter in one unit"),
                );
            }
            let _ = writeln!(
                text,
                "{}{}{}",
                cell(columns.date),
                columns.separator,
                cell(columns.value)
            );
        }
        sound.then(|| {
            let logs = logs.into_iter().map(|(meter, _, text)| PlainLog {
                point: Some(meter),
                text: text.into_bytes(),
                stamp: None,
            });
            Transcript::Logs(logs.collect())
        })
    }
}
