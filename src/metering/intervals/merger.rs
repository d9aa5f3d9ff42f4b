//! Chunks of a log put together in their order.

use super::meter_part::MeterPart;
use crate::rows::{Chunk, Counts, RepeatedRow, RowReader};
use crate::time::repeated_hour::RepeatedHourOrder;

/// Puts the chunks of a file together in order.
pub(crate) struct Merger<'r, 'm> {
    reader: &'r RowReader<'m>,
    parts: Vec<MeterPart>,
    counts: Counts,
    line: usize,
    hour: RepeatedHourOrder<RepeatedRow>,
}

impl<'r, 'm> Merger<'r, 'm> {
    pub(crate) fn new(reader: &'r RowReader<'m>, line: usize) -> Self {
        Merger {
            reader,
            parts: reader.parts(),
            counts: Counts::default(),
            line,
            hour: RepeatedHourOrder::new(
                reader.grids().all(|grid| grid.cadence_s >= 3600),
                RepeatedRow::holds_the_same,
            ),
        }
    }

    pub(crate) fn take(&mut self, chunk: Chunk) {
        let parts = self.parts.iter_mut().zip(chunk.meters);
        for ((part, later), grid) in parts.zip(self.reader.grids()) {
            part.merge(grid, later.placed(|spot| spot.moved(self.line)));
        }
        let line = self.line;
        for row in &chunk.repeated {
            self.hour.push((row.earlier, row.later), row.moved(line));
        }
        let known = self.hour.known();
        self.spread(known);
        self.counts.merge(chunk.counts, self.line);
        self.line += chunk.lines;
    }

    fn spread(&mut self, rows: Vec<(i64, RepeatedRow)>) {
        for (at, row) in rows {
            self.reader.spread_repeated(&row, at, &mut self.parts);
        }
    }

    pub(crate) fn finish(mut self) -> (Vec<MeterPart>, Counts) {
        let descends = self.counts.steps.descends();
        let rows = self.hour.finish(descends);
        self.spread(rows);
        (self.parts, self.counts)
    }
}
