//! Rows of one chunk of a log into intervals.
//!
//! In: the lines of a chunk, or the cells of a table, and where everything stands in them ([`RowReader`]). Out: a
//! [`Chunk`]: the intervals of each meter, and what was odd.

pub(crate) mod channels;
mod chunk;
mod counts;
#[cfg(test)]
pub(crate) mod fast_and_careful;
pub(crate) mod fast_line;
pub(crate) mod file_faults;
pub(crate) mod file_reading;
pub(crate) mod line_problems;
mod names;
pub(crate) mod parquet;
mod pass;
pub(crate) mod text_log;

pub(super) use self::chunk::{Chunk, RepeatedRow};
pub(super) use self::counts::{Counts, Fault};
pub(super) use self::names::Names;
pub(super) use self::pass::Pass;

use crate::header::dialect::{Dialect, LogCell, read_cell};
use crate::header::layout::{ColumnPlan, TimeCells};
use crate::intervals::aggregation::Shape;
use crate::intervals::meter_part::MeterPart;
use crate::rows::fast_line::FastLine;
use crate::time::clock::Clock;
use crate::time::grid::Grid;

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
    sources: Vec<RowSource>,
    fast: Option<FastLine>,
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
struct RowSource {
    cell: usize,
    factor: f64,
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
            .map(|column| RowSource {
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
                    shape: Shape::new(&quantities, grid.is_fast()).with_later(grid.later_counts),
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
        self.pass().read(bytes, self.fast.as_ref())
    }

    /// The same without the fast path.
    #[cfg(test)]
    pub(super) fn read_carefully(&self, bytes: &[u8]) -> Chunk {
        self.pass().read(bytes, None)
    }

    /// Begins with the rows of a chunk.
    pub(super) fn pass(&self) -> Pass<'_, 'm> {
        Pass::new(self)
    }

    /// Cells with readings, each once, ascending.
    pub(super) fn cells(&self) -> &[usize] {
        &self.cells
    }

    /// A number that is declared to represent no reading is none.
    pub(super) fn or_missing(&self, cell: LogCell) -> LogCell {
        let LogCell::Number(number) = cell else {
            return cell;
        };
        let stands_for_none = self.missing.iter().any(|word| {
            let word = fast_float2::parse::<f64, _>(word);
            word.is_ok_and(|word| (word - number).abs() <= f64::EPSILON * number.abs())
        });
        if stands_for_none {
            LogCell::Missing
        } else {
            cell
        }
    }

    /// What a cell holds as text.
    pub(super) fn read_text(&self, text: &[u8]) -> LogCell {
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
