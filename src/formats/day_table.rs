//! Days of values gathered from a table, row by row, and made into channels.

use std::collections::HashMap;

use super::channel::{EstimatedRange, IntervalChannel};
use super::column_unit;
use super::energy_reading::EnergyReading;
use super::kinds::{EnergyKind, quantity};
use super::line_place::{place, short};
use super::local_days::{DayGrid, DayValues};
use super::log_format::FormatSource;
use message::{Message, Messages, Place};
use site::Corrections;

/// So many faults are shown.
const MOST_SHOWN: usize = 20;

/// What distinguishes the rows of a table.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct RowKey {
    pub(crate) point: Option<String>,
    /// The heading or the cell that names the quantity.
    pub(crate) named: String,
    pub(crate) unit: Option<String>,
}

/// The rows of one key.
#[derive(Debug)]
struct KeyDays {
    key: RowKey,
    kind: Option<EnergyKind>,
    days: Vec<DayValues>,
    at: HashMap<chrono::NaiveDate, usize>,
}

/// All days of a table.
#[derive(Debug)]
pub(crate) struct DayTable<'s, 't> {
    source: &'s FormatSource<'t>,
    keys: Vec<KeyDays>,
    known: HashMap<RowKey, usize>,
    has_quality: bool,
    faults: Vec<Message>,
    warnings: Vec<Message>,
}

impl<'s, 't> DayTable<'s, 't> {
    pub(crate) fn new(source: &'s FormatSource<'t>, has_quality: bool) -> DayTable<'s, 't> {
        DayTable {
            source,
            keys: Vec::new(),
            known: HashMap::new(),
            has_quality,
            faults: Vec::new(),
            warnings: Vec::new(),
        }
    }

    /// The number of the rows of a key.
    pub(crate) fn key(&mut self, key: RowKey, kind: Option<EnergyKind>) -> usize {
        if let Some(known) = self.known.get(&key) {
            return *known;
        }
        let at = self.keys.len();
        self.known.insert(key.clone(), at);
        self.keys.push(KeyDays {
            key,
            kind,
            days: Vec::new(),
            at: HashMap::new(),
        });
        at
    }

    /// A row with values that belongs to no day.
    pub(crate) fn undated(&mut self, cell: &str, line: usize, text: &str) {
        self.fault(
            Message::error(
                "interval-format",
                format!(
                    "a row of `{}` with values has the date `{}`",
                    self.source.file,
                    short(cell)
                ),
            )
            .at(place(self.source.file, line, text), "expected a date such as 2026-03-09")
            .help("correct the date, or take the row out; a row of totals is passed over where it says `total`"),
        );
    }

    /// A value of no period.
    pub(crate) fn unreadable(&mut self, cell: &str, period: &str, line: usize, text: &str) {
        self.fault(
            Message::error(
                "interval-format",
                format!(
                    "period {} of `{}` is `{}`",
                    short(period),
                    self.source.file,
                    short(cell)
                ),
            )
            .at(
                place(self.source.file, line, text),
                "expected a number, or an empty cell",
            )
            .help("take the cell out, or export the log again"),
        );
    }

    /// A cell that can be read in no way.
    pub(crate) fn fault(&mut self, message: Message) {
        if self.faults.len() < MOST_SHOWN {
            self.faults.push(message);
        }
    }

    /// A value of a period, counted from 0; the days of a table of periods are filled so.
    pub(crate) fn put_value(
        &mut self,
        key: usize,
        date: chrono::NaiveDate,
        period: usize,
        value: f64,
        line: usize,
        text: &str,
    ) {
        let days = &mut self.keys[key];
        let at = *days.at.entry(date).or_insert_with(|| {
            days.days.push(DayValues {
                date,
                values: Vec::new(),
                estimated: Vec::new(),
                line,
            });
            days.days.len() - 1
        });
        let values = &mut days.days[at].values;
        if values.len() <= period {
            values.resize(period + 1, f64::NAN);
        }
        let known = values[period];
        if known.is_nan() || self.source.corrections == Corrections::Last {
            values[period] = value;
        } else if (known - value).abs() > f64::EPSILON * value.abs()
            && self.source.corrections == Corrections::Ask
        {
            let what = format!(
                "period {} of {date} of `{}` has two values, {} and {}",
                period + 1,
                self.source.file,
                units::plain_figure(known),
                units::plain_figure(value)
            );
            self.ask(what, line, text);
        }
    }

    /// Marks a period as estimated.
    pub(crate) fn mark(&mut self, key: usize, date: chrono::NaiveDate, period: usize) {
        let days = &mut self.keys[key];
        if let Some(&at) = days.at.get(&date) {
            EstimatedRange::mark(&mut days.days[at].estimated, period);
        }
    }

    /// The day of a row.
    pub(crate) fn put_day(&mut self, key: usize, day: DayValues, text: &str) {
        let days = &mut self.keys[key];
        let Some(&at) = days.at.get(&day.date) else {
            days.at.insert(day.date, days.days.len());
            days.days.push(day);
            return;
        };
        let known = &days.days[at];
        let same = |(a, b): (&f64, &f64)| {
            (a - b).abs() <= f64::EPSILON * a.abs() || a.is_nan() && b.is_nan()
        };
        if known.values.len() == day.values.len() && known.values.iter().zip(&day.values).all(same)
        {
            return;
        }
        let sum = |values: &[f64]| values.iter().filter(|value| !value.is_nan()).sum::<f64>();
        let what = format!(
            "`{}` has two rows of {}: {} in line {}, {} in line {}",
            self.source.file,
            day.date,
            units::plain_figure(sum(&known.values)),
            known.line + 1,
            units::plain_figure(sum(&day.values)),
            day.line + 1
        );
        match self.source.corrections {
            Corrections::Ask => self.ask(what, day.line, text),
            Corrections::First => {
                self.corrected(format!("{what}; the first counts"), day.line, text);
            }
            Corrections::Last => {
                self.corrected(format!("{what}; the second counts"), day.line, text);
                self.keys[key].days[at] = day;
            }
        }
    }

    fn ask(&mut self, what: String, line: usize, text: &str) {
        let message = Message::error("two-versions", what)
            .at(place(self.source.file, line, text), "the second")
            .help("write `corrections = \"last\"` or `corrections = \"first\"` under the meter; if the rows are of two meters or quantities, name what distinguishes them in the header, such as `Meter` or `Unit`");
        self.fault(message);
    }

    fn corrected(&mut self, what: String, line: usize, text: &str) {
        if self.warnings.len() < MOST_SHOWN {
            let place = place(self.source.file, line, text);
            self.warnings
                .push(Message::warning("corrected-values", what).at(place, "the second"));
        }
    }

    /// Values that only rise from period to period and day to day are readings of a register.
    fn counts_on(&self) -> Option<Message> {
        if self.source.unit.is_some() {
            return None;
        }
        self.keys.iter().find_map(|own| {
            let mut days: Vec<&DayValues> = own.days.iter().collect();
            days.sort_by_key(|day| day.date);
            let values = days.iter().flat_map(|day| &day.values);
            let numbers: Vec<f64> = values.copied().filter(|value| !value.is_nan()).collect();
            if EnergyReading::of(&own.key.named, &numbers, true) != EnergyReading::Register {
                return None;
            }
            let (counted, added) = EnergyReading::totals(&numbers);
            Some(
                Message::error(
                    "register-or-interval",
                    format!(
                        "the values of `{}` only rise, as a register does: {} as a register, {} as the energy of each period",
                        self.source.file,
                        units::plain_figure(counted),
                        units::plain_figure(added)
                    ),
                )
                .at(Place::file(self.source.file), "expected the energy of each period")
                .help("for readings of a register export a row for each reading, with `register` in the heading; for energies write their unit under the meter, such as `unit = \"kWh\"`"),
            )
        })
    }

    /// The channels; `None` after an error. `unit_of_file` is what heading, title or name of the file say.
    pub(crate) fn finish(
        self,
        grid: DayGrid,
        unit_of_file: Option<&str>,
        messages: &mut Messages,
    ) -> Option<Vec<IntervalChannel>> {
        let source = self.source;
        let doubt = self.counts_on().filter(|_| self.faults.is_empty());
        let failed = !self.faults.is_empty() || doubt.is_some();
        for message in self.faults.into_iter().chain(self.warnings).chain(doubt) {
            messages.push(message);
        }
        if failed {
            return None;
        }
        let standard = grid.is_standard_time(self.keys.iter().flat_map(|own| &own.days));
        if standard {
            messages.push(
                Message::warning(
                    "standard-time",
                    format!("`{}` has all periods on the day on which the clock goes forward: its times are standard time", source.file),
                )
                .at(Place::file(source.file), "")
                .help("compare a day of the clock change with the source"),
            );
        }
        let exporting: Vec<Option<String>> = self
            .keys
            .iter()
            .filter(|own| own.kind.is_some_and(|kind| kind.exports))
            .map(|own| own.key.point.clone())
            .collect();
        let mut assumed = 0.0;
        let mut channels = Vec::new();
        for own in self.keys {
            let kind = own.kind.unwrap_or_default();
            let said = own.key.unit.as_deref().or(unit_of_file).or(source.unit);
            let unit =
                column_unit::parse(said.unwrap_or(if kind.reactive { "kvarh" } else { "kWh" }));
            let found =
                unit.and_then(|unit| quantity(kind, unit, exporting.contains(&own.key.point)));
            let stretches: Vec<_> = own
                .days
                .into_iter()
                .flat_map(|day| grid.stretches(day, standard))
                .collect();
            let channel = IntervalChannel {
                point: own.key.point,
                register: if own.key.named.is_empty() {
                    "values".to_owned()
                } else {
                    own.key.named
                },
                quantity: found.map(|(quantity, _)| quantity),
                unit: said.map(str::to_owned),
                factor: found.map_or(1.0, |(_, factor)| factor),
                has_quality: self.has_quality,
                stretches,
            };
            if said.is_none() && found.is_some() {
                assumed += channel.total();
            }
            channels.push(channel);
        }
        if assumed != 0.0 {
            let hours = f64::from(grid.interval_s) / 3600.0;
            messages.push(
                Message::warning(
                    "unit-of-values",
                    format!(
                        "`{}` names no unit; read as kWh: {} kWh. If its values are mean power in kW, they are {} kWh",
                        source.file,
                        units::plain_figure(assumed),
                        units::plain_figure(assumed * hours)
                    ),
                )
                .at(Place::file(source.file), "")
                .help("say which under the meter: `unit = \"kWh\"` or `unit = \"kW\"`"),
            );
        }
        Some(channels)
    }
}
