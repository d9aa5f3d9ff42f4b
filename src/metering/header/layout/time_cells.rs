//! The cells that hold the time of a row.

/// Where the time is: in one cell, or its date in one and its time of day in another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct TimeCells {
    pub(crate) first: usize,
    pub(crate) second: Option<usize>,
}

impl TimeCells {
    pub(crate) const fn one(cell: usize) -> TimeCells {
        TimeCells {
            first: cell,
            second: None,
        }
    }

    /// The stamp of a row, both cells joined by the separator.
    pub(crate) fn stamp<'c>(
        self,
        separator: u8,
        cell: impl Fn(usize) -> &'c [u8],
        room: &mut Vec<u8>,
    ) {
        room.clear();
        let first = cell(self.first);
        let Some(second) = self.second else {
            room.extend_from_slice(first);
            return;
        };
        let (date, time) = (first.trim_ascii(), cell(second).trim_ascii());
        if !date.is_empty() && !time.is_empty() {
            room.extend_from_slice(date);
            room.push(separator);
            room.extend_from_slice(time);
        }
    }
}
