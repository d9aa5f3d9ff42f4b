//! Rows of one chunk of a log into intervals.

use csv::{ByteRecord, ReaderBuilder};

use super::accumulate::{Fate, Intervals, Shape};
use super::clock::{Clock, Reading};
use super::dialect::{Cell, Dialect, read_cell};
use super::layout::ColumnPlan;
use super::quality::Tally;
use crate::site::{Readings, Stamp};

/// How stamps of one meter become intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Grid {
    pub(super) readings: Readings,
    pub(super) stamp: Stamp,
    /// Time between readings. (s)
    pub(super) cadence_s: i64,
    /// Length of an interval. (s)
    pub(super) base_s: i64,
    /// Where intervals start, modulo their length. (s)
    pub(super) anchor_s: i64,
}

impl Grid {
    /// Several samples fall into one interval.
    pub(super) fn is_fast(self) -> bool {
        self.cadence_s < self.base_s
    }

    /// Start of what a reading stands for.
    pub(super) fn start_of(self, at: i64) -> i64 {
        match (self.readings, self.stamp) {
            (Readings::Average, Stamp::End) => at - self.cadence_s,
            _ => at,
        }
    }

    /// Number of the interval that a reading falls into.
    pub(super) fn bin(self, at: i64) -> i64 {
        let from_anchor = self.start_of(at) - self.anchor_s;
        if self.is_fast() {
            from_anchor.div_euclid(self.base_s)
        } else {
            // The nearest interval: loggers are late or early by a few seconds.
            (from_anchor + self.base_s / 2).div_euclid(self.base_s)
        }
    }

    pub(super) fn start_of_bin(self, bin: i64) -> i64 {
        bin * self.base_s + self.anchor_s
    }
}

/// Everything needed to read rows; the same for all chunks of a file.
#[derive(Clone, Debug)]
pub(super) struct RowReader<'m> {
    pub(super) dialect: Dialect,
    pub(super) clock: Clock,
    pub(super) time_cell: usize,
    pub(super) time_name: String,
    pub(super) missing: &'m [String],
    pub(super) meters: Vec<(Grid, Vec<ColumnPlan>, Shape)>,
}

/// A row in the repeated hour, kept until the order of the rows is known.
#[derive(Clone, Debug)]
pub(super) struct RepeatedRow {
    pub(super) earlier: i64,
    pub(super) later: i64,
    /// Readings of all meters one after the other; NaN stands for none.
    values: Vec<f64>,
}

/// The first cell of a kind that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Fault {
    /// Line within the chunk, from 0.
    pub(super) line: usize,
    pub(super) cell: usize,
    pub(super) text: String,
}

/// Counts of one chunk or file.
#[derive(Clone, Debug, Default)]
pub(super) struct Counts {
    pub(super) rows: u64,
    pub(super) usable: u64,
    pub(super) bad_time: Tally,
    pub(super) bad_cell: Tally,
    pub(super) headers: Tally,
    pub(super) skipped_hour: Tally,
    pub(super) repeated_hour: Tally,
    pub(super) first_bad_time: Option<Fault>,
    pub(super) first_bad_cell: Option<Fault>,
}

/// What one chunk gave.
#[derive(Debug)]
pub(super) struct Chunk {
    pub(super) lines: usize,
    pub(super) counts: Counts,
    pub(super) meters: Vec<MeterPart>,
    pub(super) repeated: Vec<RepeatedRow>,
}

/// One meter's share of a chunk or file.
#[derive(Debug)]
pub(super) struct MeterPart {
    pub(super) intervals: Intervals,
    pub(super) repeats: Tally,
    pub(super) contradictions: Tally,
    /// Readings per column that were numbers.
    pub(super) numbers: Vec<u64>,
    previous: Option<i64>,
}

impl MeterPart {
    pub(super) fn new(shape: &Shape, columns: usize) -> MeterPart {
        MeterPart {
            intervals: Intervals::new(shape.clone()),
            repeats: Tally::default(),
            contradictions: Tally::default(),
            numbers: vec![0; columns],
            previous: None,
        }
    }

    fn add(&mut self, grid: Grid, at: i64, values: &[f64]) {
        for (count, value) in self.numbers.iter_mut().zip(values) {
            *count += u64::from(!value.is_nan());
        }
        if grid.is_fast() && self.previous == Some(at) {
            self.repeats.add(Some(at));
            return;
        }
        self.previous = Some(at);
        let fate = self.intervals.add(grid.bin(at), values);
        self.count(fate, at);
    }

    fn count(&mut self, fate: Fate, at: i64) {
        match fate {
            Fate::Kept => {}
            Fate::Repeated => self.repeats.add(Some(at)),
            Fate::Contradicted => self.contradictions.add(Some(at)),
        }
    }

    /// Takes over a later part.
    pub(super) fn merge(&mut self, grid: Grid, later: MeterPart) {
        self.repeats.merge(later.repeats);
        self.contradictions.merge(later.contradictions);
        for (count, more) in self.numbers.iter_mut().zip(&later.numbers) {
            *count += more;
        }
        for (bin, fate) in self.intervals.merge(later.intervals) {
            self.count(fate, grid.start_of_bin(bin));
        }
    }
}

impl RowReader<'_> {
    /// Reads the rows of a chunk that begins and ends at line ends.
    pub(super) fn read(&self, bytes: &[u8]) -> Chunk {
        let mut clock = self.clock.clone();
        let mut chunk = self.empty_chunk();
        chunk.lines = memchr::memchr_iter(b'\n', bytes).count();
        let mut reader = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(self.dialect.separator)
            .from_reader(bytes);
        let mut record = ByteRecord::new();
        let mut values: Vec<f64> = Vec::new();
        // Bytes in memory cannot fail to be read; the reader splits anything.
        while reader.read_byte_record(&mut record).unwrap_or(false) {
            if record.iter().all(|cell| cell.trim_ascii().is_empty()) {
                continue;
            }
            let line = || {
                let byte = record.position().map_or(0, csv::Position::byte) as usize;
                let start = byte.min(bytes.len());
                let blank = bytes[start..]
                    .iter()
                    .take_while(|byte| matches!(byte, b'\n' | b'\r'))
                    .count();
                memchr::memchr_iter(b'\n', &bytes[..start + blank]).count()
            };
            self.read_row(&record, &mut clock, &mut values, &mut chunk, &line);
        }
        chunk
    }

    fn empty_chunk(&self) -> Chunk {
        Chunk {
            lines: 0,
            counts: Counts::default(),
            meters: self
                .meters
                .iter()
                .map(|(_, columns, shape)| MeterPart::new(shape, columns.len()))
                .collect(),
            repeated: Vec::new(),
        }
    }

    fn read_row(
        &self,
        record: &ByteRecord,
        clock: &mut Clock,
        values: &mut Vec<f64>,
        chunk: &mut Chunk,
        line: &dyn Fn() -> usize,
    ) {
        let counts = &mut chunk.counts;
        counts.rows += 1;
        let stamp = record.get(self.time_cell).unwrap_or_default();
        let reading = clock.read(stamp);
        let time = match reading {
            Reading::At(at) => at,
            Reading::Skipped(at) => {
                counts.skipped_hour.add(Some(at));
                at
            }
            Reading::Repeated { earlier, .. } => {
                counts.repeated_hour.add(Some(earlier));
                earlier
            }
            Reading::Unreadable => {
                if stamp.trim_ascii() == self.time_name.as_bytes() {
                    counts.headers.add(None);
                } else {
                    counts.bad_time.add(None);
                    note_fault(&mut counts.first_bad_time, self.time_cell, stamp, line);
                }
                return;
            }
        };
        values.clear();
        for (_, columns, _) in &self.meters {
            for column in columns {
                let cell = record.get(column.cell).unwrap_or_default();
                values.push(match read_cell(cell, self.dialect.decimal, self.missing) {
                    Cell::Number(number) => number * column.factor,
                    Cell::Missing => f64::NAN,
                    Cell::Unreadable => {
                        counts.bad_cell.add(Some(time));
                        note_fault(&mut counts.first_bad_cell, column.cell, cell, line);
                        f64::NAN
                    }
                });
            }
        }
        if values.iter().all(|value| value.is_nan()) {
            return;
        }
        counts.usable += 1;
        if let Reading::Repeated { earlier, later } = reading {
            chunk.repeated.push(RepeatedRow {
                earlier,
                later,
                values: values.clone(),
            });
            return;
        }
        self.spread(time, values, &mut chunk.meters);
    }

    /// Gives each meter its readings of a row.
    fn spread(&self, at: i64, values: &[f64], parts: &mut [MeterPart]) {
        let mut from = 0;
        for ((grid, columns, _), part) in self.meters.iter().zip(parts) {
            let own = &values[from..from + columns.len()];
            from += columns.len();
            if own.iter().any(|value| !value.is_nan()) {
                part.add(*grid, at, own);
            }
        }
    }

    /// Gives a row of the repeated hour to the meters, once its time is known.
    pub(super) fn spread_repeated(&self, row: &RepeatedRow, at: i64, parts: &mut [MeterPart]) {
        self.spread(at, &row.values, parts);
    }
}

fn note_fault(first: &mut Option<Fault>, cell: usize, text: &[u8], line: &dyn Fn() -> usize) {
    if first.is_none() {
        *first = Some(Fault {
            line: line(),
            cell,
            text: String::from_utf8_lossy(text).trim().to_owned(),
        });
    }
}

impl Counts {
    /// Takes over the counts of a later chunk whose first line is `line`.
    pub(super) fn merge(&mut self, later: Counts, line: usize) {
        self.rows += later.rows;
        self.usable += later.usable;
        self.bad_time.merge(later.bad_time);
        self.bad_cell.merge(later.bad_cell);
        self.headers.merge(later.headers);
        self.skipped_hour.merge(later.skipped_hour);
        self.repeated_hour.merge(later.repeated_hour);
        let moved = |fault: Fault| Fault {
            line: fault.line + line,
            ..fault
        };
        if self.first_bad_time.is_none() {
            self.first_bad_time = later.first_bad_time.map(moved);
        }
        if self.first_bad_cell.is_none() {
            self.first_bad_cell = later.first_bad_cell.map(moved);
        }
    }
}
