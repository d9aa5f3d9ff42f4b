//! Chunks of a log put together in their order.

use super::meter_part::MeterPart;
use crate::rows::{Chunk, Counts, RowReader};

/// Puts the chunks of a file together in order.
pub(crate) struct Merger<'r, 'm> {
    reader: &'r RowReader<'m>,
    parts: Vec<MeterPart>,
    counts: Counts,
    line: usize,
    hour: RepeatedHourOrder,
}

/// Tells the two passes of the repeated hour apart by the order of the rows.
#[derive(Debug, Default)]
pub(crate) struct RepeatedHourOrder {
    previous: Option<i64>,
    second_pass: bool,
}

impl RepeatedHourOrder {
    /// Which of its two possible times the next row of a repeated hour has.
    pub(crate) fn time_of(&mut self, earlier: i64, later: i64, hourly: bool) -> i64 {
        match self.previous {
            // Another autumn.
            Some(previous) if (earlier - previous).abs() > 12 * 3600 => {
                self.second_pass = false;
            }
            Some(previous) if earlier < previous || hourly && earlier == previous => {
                self.second_pass = true;
            }
            _ => {}
        }
        self.previous = Some(earlier);
        if self.second_pass { later } else { earlier }
    }
}

impl<'r, 'm> Merger<'r, 'm> {
    pub(crate) fn new(reader: &'r RowReader<'m>, line: usize) -> Self {
        Merger {
            reader,
            parts: reader.parts(),
            counts: Counts::default(),
            line,
            hour: RepeatedHourOrder::default(),
        }
    }

    pub(crate) fn take(&mut self, chunk: Chunk) {
        let parts = self.parts.iter_mut().zip(chunk.meters);
        for ((part, later), grid) in parts.zip(self.reader.grids()) {
            part.merge(grid, later.placed(|spot| spot.moved(self.line)));
        }
        let hourly = self.reader.grids().all(|grid| grid.cadence_s >= 3600);
        for row in &chunk.repeated {
            let at = self.hour.time_of(row.earlier, row.later, hourly);
            let row = row.moved(self.line);
            self.reader.spread_repeated(&row, at, &mut self.parts);
        }
        self.counts.merge(chunk.counts, self.line);
        self.line += chunk.lines;
    }

    pub(crate) fn finish(self) -> (Vec<MeterPart>, Counts) {
        (self.parts, self.counts)
    }
}
