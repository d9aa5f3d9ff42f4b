//! Rows of one chunk of a log into intervals.

use super::clock::{Clock, Reading};
use super::dialect::{Cell, Dialect, read_cell};
use super::fast_line::FastLine;
use super::grid::Grid;
use super::layout::{ColumnPlan, TimeCells};
use super::meter_part::MeterPart;
use super::quality::{Spot, Tally};
use super::records::Records;
use super::shape::Shape;
use super::stamps::Stamps;
use super::steps::Steps;

/// Everything needed to read rows; the same for all chunks of a file.
#[derive(Clone, Debug)]
pub(super) struct RowReader<'m> {
    dialect: Dialect,
    clock: Clock,
    time: TimeCells,
    names: Names,
    missing: &'m [String],
    meters: Vec<MeterPlan>,
    /// Cells with readings, each once, ascending.
    cells: Vec<usize>,
    /// Where each reading of a row comes from, meter by meter.
    sources: Vec<Source>,
    fast: Option<FastLine>,
}

/// What stands above the rows, and may stand between them again.
#[derive(Clone, Debug, Default)]
pub(super) struct Names {
    pub(super) header: Vec<String>,
    pub(super) units: Vec<String>,
}

/// One meter's place in a log.
#[derive(Clone, Debug)]
pub(super) struct MeterPlan {
    pub(super) grid: Grid,
    columns: usize,
    shape: Shape,
}

/// Which of the cells with readings, and its factor.
#[derive(Clone, Copy, Debug)]
struct Source {
    cell: usize,
    factor: f64,
}

/// A row in the repeated hour, kept until the order of the rows is known.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct RepeatedRow {
    pub(super) earlier: i64,
    pub(super) later: i64,
    /// Its line.
    pub(super) spot: Spot,
    /// Readings of all meters one after the other; NaN stands for none.
    values: Vec<f64>,
}

impl RepeatedRow {
    /// The same row with its line counted from so many lines earlier.
    pub(super) fn moved(&self, lines: usize) -> RepeatedRow {
        RepeatedRow {
            spot: self.spot.moved(lines),
            ..self.clone()
        }
    }
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
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Counts {
    pub(super) rows: u64,
    /// Rows taken by the fast path.
    pub(super) fast: u64,
    pub(super) usable: u64,
    /// From usable row to usable row.
    pub(super) steps: Steps,
    pub(super) bad_time: Tally,
    pub(super) bad_cell: Tally,
    pub(super) headers: Tally,
    pub(super) skipped_hour: Tally,
    pub(super) repeated_hour: Tally,
    pub(super) first_bad_time: Option<Fault>,
    pub(super) first_bad_cell: Option<Fault>,
    /// The first header between the rows that names other columns.
    pub(super) first_other_header: Option<Fault>,
}

/// What one chunk gave.
#[derive(Debug)]
pub(super) struct Chunk {
    pub(super) lines: usize,
    pub(super) counts: Counts,
    pub(super) meters: Vec<MeterPart>,
    pub(super) repeated: Vec<RepeatedRow>,
}

impl<'m> RowReader<'m> {
    pub(super) fn new(
        dialect: Dialect,
        clock: Clock,
        time: TimeCells,
        names: Names,
        missing: &'m [String],
        meters: &[(Grid, &[ColumnPlan])],
    ) -> RowReader<'m> {
        let plans = || meters.iter().flat_map(|(_, columns)| columns.iter());
        let mut cells: Vec<usize> = plans().map(|column| column.cell).collect();
        cells.sort_unstable();
        cells.dedup();
        let sources = plans()
            .map(|column| Source {
                cell: cells.partition_point(|&cell| cell < column.cell),
                factor: column.factor,
            })
            .collect();
        let fast = FastLine::new(dialect.separator, dialect.decimal, time, &cells, missing);
        let meters = meters
            .iter()
            .map(|(grid, columns)| {
                let quantities: Vec<_> = columns.iter().map(|column| column.quantity).collect();
                MeterPlan {
                    grid: *grid,
                    columns: columns.len(),
                    shape: Shape::new(&quantities, grid.is_fast()),
                }
            })
            .collect();
        RowReader {
            dialect,
            clock,
            time,
            names,
            missing,
            meters,
            cells,
            sources,
            fast,
        }
    }

    pub(super) fn separator(&self) -> u8 {
        self.dialect.separator
    }

    pub(super) fn grids(&self) -> impl Iterator<Item = Grid> {
        self.meters.iter().map(|meter| meter.grid)
    }

    /// What the beginning of a log gave: nothing yet.
    pub(super) fn parts(&self) -> Vec<MeterPart> {
        self.meters
            .iter()
            .map(|meter| MeterPart::of_log(&meter.shape))
            .collect()
    }

    /// Reads the rows of a chunk that begins and ends at line ends.
    pub(super) fn read(&self, bytes: &[u8]) -> Chunk {
        self.read_by(bytes, self.fast.as_ref())
    }

    /// The same without the fast path.
    #[cfg(test)]
    pub(super) fn read_carefully(&self, bytes: &[u8]) -> Chunk {
        self.read_by(bytes, None)
    }

    /// Reads rows, plain ones by the fast path if there is one.
    fn read_by(&self, bytes: &[u8], fast: Option<&FastLine>) -> Chunk {
        let mut pass = self.pass();
        let mut records = Records::new(self.dialect.separator);
        let mut rest = bytes;
        while !rest.is_empty() {
            let plain = fast.and_then(|fast| {
                let row = fast.read(rest, &mut pass.readings)?;
                let reading = pass.stamps.read(row.stamp);
                // What has no time may be a header; that is told from all its cells.
                (reading != Reading::Unreadable).then_some((row, reading))
            });
            if let Some((row, reading)) = plain {
                pass.chunk.counts.fast += 1;
                pass.bad_cells.clear();
                pass.take(reading, row.stamp, &|_| &[]);
                let ended = rest[row.consumed - 1] == b'\n';
                pass.chunk.lines += usize::from(ended);
                rest = &rest[row.consumed..];
            } else {
                let Some(consumed) = pass.read_carefully(&mut records, rest) else {
                    pass.chunk.lines += lines(rest);
                    break;
                };
                rest = &rest[consumed..];
            }
        }
        pass.chunk
    }

    /// Begins with the rows of a chunk.
    pub(super) fn pass(&self) -> Pass<'_, 'm> {
        Pass {
            reader: self,
            stamps: Stamps::new(self.clock.clone()),
            stamp: Vec::new(),
            readings: Vec::with_capacity(self.cells.len()),
            bad_cells: Vec::new(),
            values: Vec::with_capacity(self.sources.len()),
            chunk: Chunk {
                lines: 0,
                counts: Counts::default(),
                meters: self
                    .meters
                    .iter()
                    .map(|meter| MeterPart::of_chunk(&meter.shape))
                    .collect(),
                repeated: Vec::new(),
            },
        }
    }

    /// Cells with readings, each once, ascending.
    pub(super) fn cells(&self) -> &[usize] {
        &self.cells
    }

    /// A number that is declared to stand for no reading is none.
    pub(super) fn or_missing(&self, cell: Cell) -> Cell {
        let Cell::Number(number) = cell else {
            return cell;
        };
        let stands_for_none = self.missing.iter().any(|word| {
            let word = fast_float2::parse::<f64, _>(word);
            word.is_ok_and(|word| (word - number).abs() <= f64::EPSILON * number.abs())
        });
        if stands_for_none { Cell::Missing } else { cell }
    }

    /// Does a row without a time repeat what stands above the rows?
    fn heads<'t>(&self, stamp: &[u8], text_of: &dyn Fn(usize) -> &'t [u8]) -> Heads {
        let names = &self.names;
        if names.header.is_empty() {
            return Heads::Nothing;
        }
        let above = |row: &[String]| {
            let mut expected = Vec::new();
            let cell = |cell: usize| row.get(cell).map_or(&[][..], |name| name.as_bytes());
            self.time.stamp(self.dialect.separator, cell, &mut expected);
            self.clock.plain(stamp) == self.clock.plain(&expected)
        };
        let same = |row: &[String], cell: usize| {
            let name = row.get(cell).map_or("", String::as_str);
            text_of(cell).trim_ascii() == name.as_bytes()
        };
        if above(&names.header) {
            let word = |cell: usize| self.read_text(text_of(cell)) == Cell::Unreadable;
            let mut cells = self.cells.iter();
            let other = cells.find(|&&cell| !same(&names.header, cell) && word(cell));
            return other.map_or(Heads::Names, |&cell| Heads::OtherNames(cell));
        }
        let units = !names.units.is_empty() && above(&names.units);
        if units && self.cells.iter().all(|&cell| same(&names.units, cell)) {
            return Heads::Names;
        }
        Heads::Nothing
    }

    /// What a cell holds as text.
    pub(super) fn read_text(&self, text: &[u8]) -> Cell {
        read_cell(text, &self.dialect, self.missing)
    }

    /// Gives each meter its readings of a row.
    fn spread(
        &self,
        values: &[f64],
        parts: &mut [MeterPart],
        give: impl Fn(&mut MeterPart, Grid, &[f64]),
    ) {
        let mut from = 0;
        for (meter, part) in self.meters.iter().zip(parts) {
            let own = &values[from..from + meter.columns];
            from += meter.columns;
            if own.iter().any(|value| !value.is_nan()) {
                give(part, meter.grid, own);
            }
        }
    }

    /// Gives a row of the repeated hour to the meters, once its time is known.
    pub(super) fn spread_repeated(&self, row: &RepeatedRow, at: i64, parts: &mut [MeterPart]) {
        self.spread(&row.values, parts, |part, grid, values| {
            part.add_repeated(grid, at, row.spot, values);
        });
    }
}

/// What a row without a time is.
enum Heads {
    /// The header or the row of units once more.
    Names,
    /// A header that has another name in this cell.
    OtherNames(usize),
    /// Neither.
    Nothing,
}

fn lines(bytes: &[u8]) -> usize {
    memchr::memchr_iter(b'\n', bytes).count()
}

/// One pass over the rows of a chunk.
pub(super) struct Pass<'r, 'm> {
    reader: &'r RowReader<'m>,
    stamps: Stamps,
    /// Stamp of the row that is read carefully.
    stamp: Vec<u8>,
    /// One number per cell with readings; NaN stands for none.
    readings: Vec<f64>,
    /// Cells that are neither numbers nor empty.
    bad_cells: Vec<usize>,
    /// One value per column of each meter.
    values: Vec<f64>,
    chunk: Chunk,
}

impl Pass<'_, '_> {
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
        self.readings.clear();
        self.bad_cells.clear();
        for &cell in &reader.cells {
            let text = records.get(cell).unwrap_or_default();
            let read = reader.read_text(text);
            self.readings.push(match read {
                Cell::Number(number) => number,
                Cell::Missing => f64::NAN,
                Cell::Unreadable => {
                    self.bad_cells.push(cell);
                    f64::NAN
                }
            });
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
    pub(super) fn take_cells<'t>(
        &mut self,
        reading: Reading,
        stamp: &[u8],
        cells: impl Iterator<Item = Cell>,
        text_of: &dyn Fn(usize) -> &'t [u8],
    ) {
        self.readings.clear();
        self.bad_cells.clear();
        for (&place, cell) in self.reader.cells.iter().zip(cells) {
            self.readings.push(match cell {
                Cell::Number(number) => number,
                Cell::Missing => f64::NAN,
                Cell::Unreadable => {
                    self.bad_cells.push(place);
                    f64::NAN
                }
            });
        }
        self.take(reading, stamp, text_of);
        self.chunk.lines += 1;
    }

    /// What the rows gave.
    pub(super) fn finish(self) -> Chunk {
        self.chunk
    }

    /// Puts the readings of a row where they belong. `text_of` tells what stands in a cell that
    /// holds no number.
    fn take<'t>(&mut self, reading: Reading, stamp: &[u8], text_of: &dyn Fn(usize) -> &'t [u8]) {
        let reader = self.reader;
        let line = self.chunk.lines;
        let spot = Spot::line(line);
        let counts = &mut self.chunk.counts;
        counts.rows += 1;
        let time = match reading {
            Reading::At(at) => at,
            Reading::Skipped(at) => {
                counts.skipped_hour.add_at(Some(at), spot);
                at
            }
            Reading::Repeated { earlier, .. } => {
                counts.repeated_hour.add_at(Some(earlier), spot);
                earlier
            }
            Reading::Unreadable => {
                match reader.heads(stamp, text_of) {
                    Heads::Names => counts.headers.add_at(None, spot),
                    Heads::OtherNames(cell) => {
                        counts.headers.add_at(None, spot);
                        note_fault(&mut counts.first_other_header, line, cell, text_of(cell));
                    }
                    Heads::Nothing => {
                        counts.bad_time.add_at(None, spot);
                        let stamp = reader.clock.plain(stamp);
                        note_fault(&mut counts.first_bad_time, line, reader.time.first, &stamp);
                    }
                }
                return;
            }
        };
        for &cell in &self.bad_cells {
            counts.bad_cell.add_at(Some(time), spot);
            note_fault(&mut counts.first_bad_cell, line, cell, text_of(cell));
        }
        self.values.clear();
        let readings = &self.readings;
        let sources = reader.sources.iter();
        self.values
            .extend(sources.map(|source| readings[source.cell] * source.factor));
        if self.values.iter().all(|value| value.is_nan()) {
            return;
        }
        counts.usable += 1;
        if let Reading::Repeated { earlier, later } = reading {
            self.chunk.repeated.push(RepeatedRow {
                earlier,
                later,
                spot,
                values: self.values.clone(),
            });
            return;
        }
        counts.steps.push(time);
        reader.spread(
            &self.values,
            &mut self.chunk.meters,
            |part, grid, values| part.add(grid, time, spot, values),
        );
    }
}

fn note_fault(first: &mut Option<Fault>, line: usize, cell: usize, text: &[u8]) {
    if first.is_none() {
        *first = Some(Fault {
            line,
            cell,
            text: String::from_utf8_lossy(text).trim().to_owned(),
        });
    }
}

impl Counts {
    /// The same counts with other lines; the first faults stay where they are.
    pub(super) fn placed(self, place: impl Fn(Spot) -> Spot) -> Counts {
        Counts {
            bad_time: self.bad_time.placed(&place),
            bad_cell: self.bad_cell.placed(&place),
            headers: self.headers.placed(&place),
            skipped_hour: self.skipped_hour.placed(&place),
            repeated_hour: self.repeated_hour.placed(&place),
            ..self
        }
    }

    /// Takes over the counts of a later chunk whose first line is `line`.
    pub(super) fn merge(&mut self, later: Counts, line: usize) {
        self.rows += later.rows;
        self.fast += later.fast;
        self.usable += later.usable;
        self.steps.merge(&later.steps);
        let later = later.placed(|spot| spot.moved(line));
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
        if self.first_other_header.is_none() {
            self.first_other_header = later.first_other_header.map(moved);
        }
    }
}
