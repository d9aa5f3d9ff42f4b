//! The channels of one meter in a file of a known format, as intervals.

use super::file_reading::FileReading;
use crate::header::file_form::FileForm;
use crate::header::names::Reason;
use crate::intervals::aggregation::Shape;
use crate::intervals::meter_part::MeterPart;
use crate::logged_column::LoggedColumn;
use crate::rows::Counts;
use crate::table::quality::ReadingLine;
use crate::time::grid::{Grid, SPREAD_S};
use crate::time::known::Known;
use formats::{IntervalChannel, PointChannels, Stretch};
use message::{Message, Messages, Place};
use site::{Corrections, Meter, Quantity, QuantityKind, ReadingKind, Stamp, TimeFormat};

/// Longer intervals are spread over shorter ones. (s)
const LONGEST_S: u32 = 3600;
/// Cells of one meter in a file. A century of quarter-hours is 3.5 million.
const MOST_CELLS: i64 = 64 << 20;
/// So many times show the cadence.
const TIMES_SHOWN: usize = 2000;

/// Reads the channels of a meter for each of the site's meters that use it.
pub(crate) fn read(
    name: &str,
    format: Option<&str>,
    point: &PointChannels,
    meters: &[&Meter],
    known: &[Option<Known>],
    messages: &mut Messages,
) -> Option<FileReading> {
    let Some(rows) = ChannelRows::of(&point.channels) else {
        messages.push(
            Message::error(
                "too-large",
                format!("the days of `{name}` are too far apart"),
            )
            .at(Place::file(name), "expected one period without long gaps")
            .help("split the file"),
        );
        return None;
    };
    let grids: Vec<Grid> = known
        .iter()
        .zip(meters)
        .map(|(known, meter)| {
            known
                .as_ref()
                .map_or_else(|| rows.grid(meter), |known| known.grid)
        })
        .collect();
    let mut counts = Counts::default();
    let mut times = Vec::new();
    let mut parts = Vec::new();
    let columns: Vec<Vec<LoggedColumn>> = meters.iter().map(|meter| rows.columns(meter)).collect();
    for (at, grid) in grids.iter().enumerate() {
        let quantities: Vec<Quantity> = columns[at].iter().map(|column| column.quantity).collect();
        let ratio = meters[at].ratio;
        let shape = Shape::new(&quantities, grid.is_fast()).with_later(grid.later_counts);
        let mut part = MeterPart::of_log(&shape);
        let mut values = vec![f64::NAN; quantities.len()];
        rows.each(|start, line, row| {
            for ((value, &logged), quantity) in values.iter_mut().zip(row).zip(&quantities) {
                *value = if quantity.scales_with_current() {
                    logged * ratio
                } else {
                    logged
                };
            }
            part.add(
                *grid,
                grid.stamp_of_start(start),
                ReadingLine::line(line),
                &values,
            );
            if at == 0 {
                counts.rows += 1;
                counts.usable += 1;
                counts.steps.push(start);
                if times.len() < TIMES_SHOWN {
                    times.push(start);
                }
            }
        });
        parts.push(part);
    }
    Some(FileReading {
        grids,
        parts,
        counts,
        columns,
        unused: Vec::new(),
        form: FileForm {
            name: name.to_owned(),
            encoding: None,
            packed: false,
            separator: None,
            decimal: None,
            header_line: None,
            units_line: None,
            time_format: None,
            format: format.map(str::to_owned),
            stamp: "start of the interval (the format)".to_owned(),
        },
        times,
        format: TimeFormat::Iso,
    })
}

/// All channels of a meter, interval by interval: a place for every interval from the first to the last.
struct ChannelRows<'c> {
    channels: &'c [IntervalChannel],
    has_quality: bool,
    /// Longest interval that is not spread. (s)
    longest_s: u32,
    shortest_s: u32,
    /// Longest interval that is spread. (s)
    spread_from_s: Option<u32>,
    /// Start of the first interval, Unix seconds.
    first: i64,
    /// By channel, and the estimated share last; NaN represents none.
    columns: Vec<Vec<f64>>,
    lines: Vec<u32>,
}

impl<'c> ChannelRows<'c> {
    fn of(channels: &'c [IntervalChannel]) -> Option<ChannelRows<'c>> {
        let stretches = || channels.iter().flat_map(|channel| &channel.stretches);
        let lengths = stretches().map(|stretch| stretch.interval_s);
        let spread_from_s = lengths.clone().filter(|&length| length > LONGEST_S).max();
        let (mut shortest_s, mut longest_s) = (u32::MAX, 0);
        for length in lengths.filter(|&length| length <= LONGEST_S) {
            shortest_s = shortest_s.min(length);
            longest_s = longest_s.max(length);
        }
        if spread_from_s.is_some() {
            (shortest_s, longest_s) = (SPREAD_S as u32, SPREAD_S as u32);
        }
        let step = i64::from(shortest_s.max(1));
        let first = stretches().map(|stretch| stretch.start_s).min()?;
        let first = if spread_from_s.is_some() {
            first.div_euclid(step) * step
        } else {
            first
        };
        let last = stretches()
            .map(|stretch| stretch.start_of(stretch.values.len()))
            .max()?;
        let rows = last.checked_sub(first)? / step + 2;
        let has_quality = channels.iter().any(|channel| channel.has_quality);
        let width = channels.len() + usize::from(has_quality);
        (rows.checked_mul(width as i64)? <= MOST_CELLS).then_some(())?;
        let mut all = ChannelRows {
            channels,
            has_quality,
            longest_s,
            shortest_s,
            spread_from_s,
            first,
            columns: vec![vec![f64::NAN; rows as usize]; width],
            lines: vec![0; rows as usize],
        };
        for (at, channel) in channels.iter().enumerate() {
            for stretch in &channel.stretches {
                all.take(at, channel, stretch);
            }
        }
        Some(all)
    }

    fn take(&mut self, channel: usize, of: &IntervalChannel, stretch: &Stretch) {
        let amount = of
            .quantity
            .is_some_and(|quantity| quantity.kind() == QuantityKind::Amount);
        let length = i64::from(stretch.interval_s);
        for (at, &value) in stretch.values.iter().enumerate() {
            if value.is_nan() {
                continue;
            }
            let start = stretch.start_of(at);
            let estimated = stretch.is_estimated(at);
            if self.spread_from_s.is_none() {
                self.put(start, channel, value * of.factor, estimated, stretch.line);
                continue;
            }
            // The pieces are those of the table; their sum is the value.
            let first = (start + SPREAD_S / 2).div_euclid(SPREAD_S);
            let pieces = ((start + length + SPREAD_S / 2).div_euclid(SPREAD_S) - first).max(1);
            let share = if amount { 1.0 / pieces as f64 } else { 1.0 };
            for piece in 0..pieces {
                let at = (first + piece) * SPREAD_S;
                self.put(
                    at,
                    channel,
                    value * of.factor * share,
                    estimated,
                    stretch.line,
                );
            }
        }
    }

    fn put(&mut self, start: i64, channel: usize, value: f64, estimated: bool, line: usize) {
        let row = ((start - self.first) / i64::from(self.shortest_s)) as usize;
        let cell = &mut self.columns[channel][row];
        *cell = if cell.is_nan() { value } else { *cell + value };
        self.lines[row] = line as u32;
        if self.has_quality {
            let own = if estimated { 1.0 } else { 0.0 };
            let share = &mut self.columns[self.channels.len()][row];
            *share = if share.is_nan() { own } else { share.max(own) };
        }
    }

    /// Start, line and values of every interval that has one.
    fn each(&self, mut take: impl FnMut(i64, usize, &[f64])) {
        let mut values = vec![f64::NAN; self.columns.len()];
        for row in 0..self.lines.len() {
            for (value, column) in values.iter_mut().zip(&self.columns) {
                *value = column[row];
            }
            if values.iter().any(|value| !value.is_nan()) {
                let start = self.first + row as i64 * i64::from(self.shortest_s);
                take(start, self.lines[row] as usize, &values);
            }
        }
    }

    fn grid(&self, meter: &Meter) -> Grid {
        let base_s = i64::from(self.longest_s);
        let anchor = self.first.rem_euclid(base_s);
        Grid {
            readings: ReadingKind::Average,
            stamp: Stamp::Start,
            cadence_s: i64::from(self.shortest_s),
            base_s: base_s.max(60),
            anchor_s: anchor,
            within_second: false,
            later_counts: meter.corrections == Corrections::Last,
            spread_from_s: None,
            spread_before_s: self.spread_from_s.map(i64::from),
        }
    }

    fn columns(&self, meter: &Meter) -> Vec<LoggedColumn> {
        let mut columns: Vec<LoggedColumn> = self
            .channels
            .iter()
            .filter_map(|channel| {
                let quantity = channel.quantity?;
                let ratio = if quantity.scales_with_current() {
                    meter.ratio
                } else {
                    1.0
                };
                Some(LoggedColumn {
                    quantity,
                    column: channel.register.clone(),
                    unit: channel.unit.clone(),
                    scale: channel.factor * ratio,
                    reason: Reason::Format,
                })
            })
            .collect();
        if self.has_quality {
            columns.push(LoggedColumn {
                quantity: Quantity::EstimatedShare,
                column: "quality".to_owned(),
                unit: None,
                scale: 1.0,
                reason: Reason::Format,
            });
        }
        columns
    }
}
