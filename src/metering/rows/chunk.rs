//! What the rows of one chunk gave.

use super::counts::Counts;
use crate::metering::meter_part::MeterPart;
use crate::metering::quality::Spot;

/// What one chunk gave.
#[derive(Debug)]
pub(in crate::metering) struct Chunk {
    pub(in crate::metering) lines: usize,
    pub(in crate::metering) counts: Counts,
    pub(in crate::metering) meters: Vec<MeterPart>,
    pub(in crate::metering) repeated: Vec<RepeatedRow>,
}

/// A row in the repeated hour, kept until the order of the rows is known.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::metering) struct RepeatedRow {
    pub(in crate::metering) earlier: i64,
    pub(in crate::metering) later: i64,
    /// Its line.
    pub(in crate::metering) spot: Spot,
    /// Readings of all meters one after the other; NaN stands for none.
    pub(super) values: Vec<f64>,
}

impl RepeatedRow {
    /// The same row with its line counted from so many lines earlier.
    pub(in crate::metering) fn moved(&self, lines: usize) -> RepeatedRow {
        RepeatedRow {
            spot: self.spot.moved(lines),
            ..self.clone()
        }
    }
}
