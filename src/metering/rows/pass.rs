//! One pass over the rows of a chunk: each row's readings to the meters that they belong to.

use super::RowReader;
use super::chunk::{Chunk, RepeatedRow};
use super::counts::{Counts, Fault};
use super::names::Heads;
use crate::header::dialect::LogCell;
use crate::intervals::meter_part::MeterPart;
use crate::rows::fast_line::FastLine;
use crate::source::records::Records;
use crate::table::quality::ReadingLine;
use crate::time::cached_clock::CachedStamps;
use crate::time::clock::Reading;

/// One pass over the rows of a chunk.
pub(crate) struct Pass<'r, 'm> {
    reader: &'r RowReader<'m>,
    stamps: CachedStamps,
    /// Stamp of the row that is read carefully.
    stamp: Vec<u8>,
    /// One number per cell with readings; NaN represents none.
    readings: Vec<f64>,
    /// Cells that are neither numbers nor empty.
    bad_cells: Vec<usize>,
    /// Cells whose minus sign is no hyphen.
    typeset: u64,
    /// One value per column of each meter.
    values: Vec<f64>,
    chunk: Chunk,
}

impl<'r, 'm> Pass<'r, 'm> {
    pub(super) fn new(reader: &'r RowReader<'m>) -> Pass<'r, 'm> {
        let meters = reader.meters.iter();
        Pass {
            reader,
            stamps: CachedStamps::new(reader.clock.clone()),
            stamp: Vec::new(),
            readings: Vec::with_capacity(reader.cells.len()),
            bad_cells: Vec::new(),
            typeset: 0,
            values: Vec::with_capacity(reader.sources.len()),
            chunk: Chunk {
                lines: 0,
                counts: Counts::default(),
                meters: meters
                    .map(|meter| MeterPart::of_chunk(&meter.shape))
                    .collect(),
                repeated: Vec::new(),
            },
        }
    }

    /// Reads lines, plain ones by the fast path if there is one.
    pub(super) fn read(mut self, bytes: &[u8], fast: Option<&FastLine>) -> Chunk {
        let mut records = Records::new(self.reader.dialect.separator);
        let mut rest = bytes;
        while !rest.is_empty() {
            let plain = fast.and_then(|fast| {
                let row = fast.read(rest, &mut self.readings)?;
                let reading = self.stamps.read(row.stamp);
                // What has no time may be a header; that is reported from all its cells.
                (reading != Reading::Unreadable).then_some((row, reading))
            });
            if let Some((row, reading)) = plain {
                self.chunk.counts.fast += 1;
                self.bad_cells.clear();
                self.typeset = 0;
                self.take(reading, row.stamp, &|_| &[]);
                let ended = rest[row.consumed - 1] == b'\n';
                self.chunk.lines += usize::from(ended);
                rest = &rest[row.consumed..];
            } else {
                let Some(consumed) = self.read_carefully(&mut records, rest) else {
                    self.chunk.lines += lines(rest);
                    break;
                };
                rest = &rest[consumed..];
            }
        }
        self.chunk
    }

    /// Reads the first record of what is left; returns the bytes it took.
    fn read_carefully(&mut self, records: &mut Records, rest: &[u8]) -> Option<usize> {
        let consumed = records.read(rest)?;
        if records.is_blank() {
            self.chunk.lines += lines(&rest[..consumed]);
            return Some(consumed);
        }
        let blank = rest
            .iter()
            .take_while(|byte| matches!(byte, b'\n' | b'\r'))
            .count();
        let passed = lines(&rest[..blank]);
        self.chunk.lines += passed;
        let reader = self.reader;
        self.begin_row();
        for &cell in &reader.cells {
            let text = records.get(cell).unwrap_or_default();
            let read = reader.read_text(text);
            self.put(cell, read);
        }
        let text_of = |cell| records.get(cell).unwrap_or_default();
        let mut stamp = std::mem::take(&mut self.stamp);
        let separator = reader.dialect.separator;
        reader.time.stamp(separator, text_of, &mut stamp);
        let reading = self.stamps.read(&stamp);
        self.take(reading, &stamp, &text_of);
        self.stamp = stamp;
        self.chunk.lines += lines(&rest[blank..consumed]);
        Some(consumed)
    }

    /// Takes a row of a table: its cells in the order of [`RowReader::cells`].
    pub(crate) fn take_cells<'t>(
        &mut self,
        reading: Reading,
        stamp: &[u8],
        cells: impl Iterator<Item = LogCell>,
        text_of: &dyn Fn(usize) -> &'t [u8],
    ) {
        self.begin_row();
        for (&place, cell) in self.reader.cells.iter().zip(cells) {
            self.put(place, cell);
        }
        self.take(reading, stamp, text_of);
        self.chunk.lines += 1;
    }

    fn begin_row(&mut self) {
        self.readings.clear();
        self.bad_cells.clear();
        self.typeset = 0;
    }

    /// Puts down what a cell holds.
    #[inline]
    fn put(&mut self, place: usize, cell: LogCell) {
        self.readings.push(match cell {
            LogCell::Number(number) => number,
            LogCell::TypesetMinus(number) => {
                self.typeset += 1;
                number
            }
            LogCell::Missing => f64::NAN,
            LogCell::Unreadable => {
                self.bad_cells.push(place);
                f64::NAN
            }
        });
    }

    /// What the rows gave.
    pub(crate) fn finish(self) -> Chunk {
        self.chunk
    }

    /// Puts the readings of a row where they belong. `text_of` gives the text of a cell that
    /// has no number.
    fn take<'t>(&mut self, reading: Reading, stamp: &[u8], text_of: &dyn Fn(usize) -> &'t [u8]) {
        let reader = self.reader;
        let spot = ReadingLine::line(self.chunk.lines);
        self.chunk.counts.rows += 1;
        let Some(time) = self.time_of(reading, spot) else {
            self.note_without_time(stamp, spot, text_of);
            return;
        };
        self.note_bad_cells(time, spot, text_of);
        for _ in 0..self.typeset {
            self.chunk.counts.typeset_minus.add_at(Some(time), spot);
        }
        self.values.clear();
        let readings = &self.readings;
        let sources = reader.sources.iter();
        self.values
            .extend(sources.map(|source| readings[source.cell] * source.factor));
        if self.values.iter().all(|value| value.is_nan()) {
            return;
        }
        self.chunk.counts.usable += 1;
        if let Reading::Repeated { earlier, later } = reading {
            self.chunk.repeated.push(RepeatedRow {
                earlier,
                later,
                spot,
                values: self.values.clone(),
            });
            return;
        }
        self.chunk.counts.steps.push(time);
        reader.spread(
            &self.values,
            &mut self.chunk.meters,
            |part, grid, values| part.add(grid, time, spot, values),
        );
    }
    /// The time of a row; of one in the repeated hour the earlier.
    #[inline]
    fn time_of(&mut self, reading: Reading, spot: ReadingLine) -> Option<i64> {
        let counts = &mut self.chunk.counts;
        match reading {
            Reading::At(at) => Some(at),
            Reading::Skipped(at) => {
                counts.skipped_hour.add_at(Some(at), spot);
                Some(at)
            }
            Reading::Repeated { earlier, .. } => {
                counts.repeated_hour.add_at(Some(earlier), spot);
                Some(earlier)
            }
            Reading::Unreadable => None,
        }
    }

    /// A row without a time: a header once more, or one that is left out.
    fn note_without_time<'t>(
        &mut self,
        stamp: &[u8],
        spot: ReadingLine,
        text_of: &dyn Fn(usize) -> &'t [u8],
    ) {
        let (reader, line) = (self.reader, self.chunk.lines);
        let counts = &mut self.chunk.counts;
        match reader.heads(stamp, text_of) {
            Heads::Names => counts.headers.add_at(None, spot),
            Heads::OtherNames(cell) => {
                counts.headers.add_at(None, spot);
                Fault::note(&mut counts.first_other_header, line, cell, text_of(cell));
            }
            Heads::Nothing => {
                counts.bad_time.add_at(None, spot);
                let stamp = reader.clock.plain(stamp);
                let cell = reader.time.first;
                Fault::note(&mut counts.first_bad_time, line, cell, &stamp);
            }
        }
    }

    #[inline]
    fn note_bad_cells<'t>(
        &mut self,
        time: i64,
        spot: ReadingLine,
        text_of: &dyn Fn(usize) -> &'t [u8],
    ) {
        let line = self.chunk.lines;
        let counts = &mut self.chunk.counts;
        for &cell in &self.bad_cells {
            counts.bad_cell.add_at(Some(time), spot);
            Fault::note(&mut counts.first_bad_cell, line, cell, text_of(cell));
        }
    }
}

fn lines(bytes: &[u8]) -> usize {
    memchr::memchr_iter(b'\n', bytes).count()
}
