//! What the rows of one chunk gave.

use super::counts::Counts;
use crate::intervals::meter_part::MeterPart;
use crate::table::quality::ReadingLine;

/// What one chunk gave.
#[derive(Debug)]
pub(crate) struct Chunk {
    pub(crate) lines: usize,
    pub(crate) counts: Counts,
    pub(crate) meters: Vec<MeterPart>,
    pub(crate) repeated: Vec<RepeatedRow>,
}

/// A row in the repeated hour, kept until the order of the rows is known.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct RepeatedRow {
    pub(crate) earlier: i64,
    pub(crate) later: i64,
    /// Its line.
    pub(crate) spot: ReadingLine,
    /// Readings of all meters one after the other; NaN represents none.
    pub(super) values: Vec<f64>,
}

impl RepeatedRow {
    /// The same readings?
    pub(crate) fn holds_the_same(&self, other: &RepeatedRow) -> bool {
        let same = |(a, b): (&f64, &f64)| a.to_bits() == b.to_bits() || a.is_nan() && b.is_nan();
        self.values.iter().zip(&other.values).all(same)
    }

    /// The same row with its line counted from so many lines earlier.
    pub(crate) fn moved(&self, lines: usize) -> RepeatedRow {
        RepeatedRow {
            spot: self.spot.moved(lines),
            ..self.clone()
        }
    }
}
