//! One series of a channel.

use std::ops::Range;

use metering::Logged;

/// A series with unknowns: lent by the table, and copied only where something in it is put right.
#[derive(Clone, Debug)]
pub(crate) struct ChannelSeries<'t> {
    logged: Logged<'t>,
    put_right: Option<Vec<Option<f64>>>,
}

impl<'t> ChannelSeries<'t> {
    pub(crate) fn of(logged: Logged<'t>) -> ChannelSeries<'t> {
        ChannelSeries {
            logged,
            put_right: None,
        }
    }

    pub(crate) fn len(&self) -> usize {
        self.logged.len()
    }

    pub(crate) fn get(&self, row: usize) -> Option<f64> {
        match &self.put_right {
            None => self.logged.get(row),
            Some(values) => values.get(row).copied().flatten(),
        }
    }

    /// All values in the order of the rows.
    pub(crate) fn iter(&self) -> impl Iterator<Item = Option<f64>> + '_ {
        self.within(0..self.len())
    }

    /// The values of some rows.
    pub(crate) fn within(&self, rows: Range<usize>) -> impl Iterator<Item = Option<f64>> + '_ {
        rows.map(|row| self.get(row))
    }

    /// The values, to be changed.
    pub(crate) fn to_mut(&mut self) -> &mut Vec<Option<f64>> {
        self.put_right.get_or_insert_with(|| self.logged.to_vec())
    }

    /// The values where they are no longer those of the log.
    pub(crate) fn put_right(&self) -> Option<&Vec<Option<f64>>> {
        self.put_right.as_ref()
    }
}
