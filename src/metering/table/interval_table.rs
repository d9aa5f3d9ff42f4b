//! A meter's log as a clean table: one row per interval, ascending, unknown where unknown.

use std::collections::BTreeMap;
use std::sync::Arc;

use polars::prelude::{
    Column, DataFrame, Float32Chunked, Float64Chunked, IntoColumn, NewChunkedArray,
};

use super::logged::Logged;
use super::origin::Origin;
use crate::intervals::closed_columns::GatheredColumn;
use electrical::Phase;
use site::{Quantity, QuantityKind};

/// One row per base interval that has readings. The frame's columns are the quantities by name, with nulls
/// where nothing was logged; the starts are kept once, next to it.
#[derive(Clone, Debug)]
pub struct IntervalTable {
    /// Meters that log at the same times share them.
    starts: Arc<Vec<i64>>,
    interval_s: u32,
    /// Of the log, where its readings are further apart and were spread. (s)
    resolution_s: u32,
    /// Intervals at the beginning and the end that only hold a reading of a register.
    edges: (usize, usize),
    frame: DataFrame,
    /// Of the columns that are not logged.
    origins: BTreeMap<Quantity, Origin>,
}

impl IntervalTable {
    pub(crate) fn new(
        starts: Vec<i64>,
        interval_s: u32,
        columns: Vec<GatheredColumn>,
    ) -> IntervalTable {
        let columns = columns
            .into_iter()
            .flat_map(|own| columns_of(&own))
            .collect();
        let frame = DataFrame::new(starts.len(), columns)
            .expect("columns of one log have one length and different names");
        IntervalTable {
            starts: Arc::new(starts),
            interval_s,
            resolution_s: interval_s,
            edges: (0, 0),
            frame,
            origins: BTreeMap::new(),
        }
    }

    /// A table that was not read from files: starts of its intervals, and columns by the names of their quantities.
    #[must_use]
    pub fn of_columns(
        starts: Vec<i64>,
        interval_s: u32,
        columns: Vec<(String, Vec<Option<f64>>)>,
    ) -> IntervalTable {
        let columns = columns
            .into_iter()
            .map(|(name, values)| GatheredColumn::new(name, values))
            .collect();
        IntervalTable::new(starts, interval_s, columns)
    }

    /// Starts of the intervals, Unix seconds, ascending.
    pub fn starts(&self) -> &[i64] {
        &self.starts
    }

    /// Takes the starts of another table for its own, if they are the same; returns whether they are.
    pub(crate) fn share_starts(&mut self, with: &IntervalTable) -> bool {
        let same = self.starts == with.starts;
        if same {
            self.starts = Arc::clone(&with.starts);
        }
        same
    }

    /// Length of an interval. (s)
    pub fn interval_s(&self) -> u32 {
        self.interval_s
    }

    /// Length of an interval of the log, which may be longer than those of the table. (s)
    pub fn resolution_s(&self) -> u32 {
        self.resolution_s
    }

    pub(crate) fn set_resolution(&mut self, resolution_s: i64) {
        self.resolution_s = u32::try_from(resolution_s).unwrap_or(self.resolution_s);
    }

    /// The first interval only holds the reading from which a register counts, or the last the one up to which it did.
    pub(crate) fn set_edges(&mut self, first: bool, last: bool) {
        let both = self.starts.len() > 1;
        self.edges = (usize::from(first && both), usize::from(last && both));
    }

    /// From when to when something is known of, Unix seconds; `None` of an empty table.
    #[must_use]
    pub fn span(&self) -> Option<(i64, i64)> {
        let first = self.starts.get(self.edges.0)?;
        let last = self
            .starts
            .get(self.starts.len().checked_sub(1 + self.edges.1)?)?;
        Some((*first, last + i64::from(self.interval_s)))
    }

    /// Number of intervals with readings.
    pub fn len(&self) -> usize {
        self.starts.len()
    }

    /// True without any interval.
    pub fn is_empty(&self) -> bool {
        self.starts.is_empty()
    }

    /// The table itself, for calendar work.
    pub fn frame(&self) -> &DataFrame {
        &self.frame
    }

    /// A column by name, such as `current_l1_a_max`.
    pub fn named(&self, name: &str) -> Option<Logged<'_>> {
        Logged::of(self.frame.column(name).ok()?)
    }

    /// Values of a quantity, if it is logged.
    pub fn values(&self, quantity: Quantity) -> Option<Logged<'_>> {
        self.named(&quantity.name())
    }

    /// Values of a quantity on the three phases, if it is logged on all of them.
    pub fn by_phase(&self, quantity: impl Fn(Phase) -> Quantity) -> Option<[Logged<'_>; 3]> {
        let [l1, l2, l3] = Phase::ALL.map(|phase| self.values(quantity(phase)));
        Some([l1?, l2?, l3?])
    }

    /// Adds a column that is not logged.
    pub(crate) fn add(&mut self, quantity: Quantity, values: Vec<Option<f64>>, origin: Origin) {
        let column = if self.single_is_enough(quantity) {
            let values = values.into_iter();
            single(&quantity.name(), values.map(|value| Some(value? as f32)))
        } else {
            double(&quantity.name(), &values)
        };
        self.frame
            .with_column(column)
            .expect("derived columns are as long as the table");
        self.origins.insert(quantity, origin);
    }

    /// The same table with other values in columns that it has.
    ///
    /// # Panics
    ///
    /// Where a column is not as long as the table.
    #[must_use]
    pub fn with_values(&self, columns: Vec<(String, Vec<Option<f64>>)>) -> IntervalTable {
        let mut table = self.clone();
        for (name, values) in columns {
            table
                .frame
                .with_column(double(&name, &values))
                .expect("corrected columns are as long as the table");
        }
        table
    }

    /// The same table without a column.
    #[must_use]
    pub fn without(&self, name: &str) -> IntervalTable {
        let mut table = self.clone();
        if let Ok(frame) = table.frame.drop(name) {
            table.frame = frame;
        }
        table
    }

    /// Does no energy follow from a derived quantity? A tenth of a millionth is far below any meter's class.
    fn single_is_enough(&self, quantity: Quantity) -> bool {
        match quantity {
            Quantity::PowerFactor(_) | Quantity::Current(_) => true,
            Quantity::ApparentPower(place) => {
                self.has(Quantity::ActivePower(place)) && self.has(Quantity::ReactivePower(place))
            }
            _ => false,
        }
    }

    /// Where the values of a quantity come from; `None` where the table has none.
    #[must_use]
    pub fn origin(&self, quantity: Quantity) -> Option<Origin> {
        self.has(quantity).then(|| {
            let known = self.origins.get(&quantity).cloned();
            known.unwrap_or(Origin::Measured)
        })
    }

    /// The quantities that are not logged, with where they come from.
    pub fn derived(&self) -> impl Iterator<Item = (Quantity, &Origin)> {
        self.origins
            .iter()
            .map(|(quantity, origin)| (*quantity, origin))
    }

    /// True where a quantity is what a register counted from reading to reading: what it counted in
    /// gaps is not in it.
    pub fn is_of_register(&self, quantity: Quantity) -> bool {
        match self.origin(quantity) {
            Some(Origin::Derived { from }) => from
                .iter()
                .any(|source| source.kind() == QuantityKind::Register),
            _ => false,
        }
    }

    /// Is the quantity in the table?
    pub fn has(&self, quantity: Quantity) -> bool {
        self.frame.column(&quantity.name()).is_ok()
    }
}

/// A quantity's column, and those of its samples' figures. Each consists of one chunk, as [`Logged`] needs it.
fn columns_of(gathered: &GatheredColumn) -> Vec<Column> {
    let main = double(&gathered.name, &gathered.values);
    let figures = gathered.samples.named().map(|(what, values)| {
        let name = format!("{}_{what}", gathered.name);
        single(&name, values)
    });
    [main].into_iter().chain(figures).collect()
}

fn double(name: &str, values: &[Option<f64>]) -> Column {
    Float64Chunked::from_slice_options(name.into(), values).into_column()
}

fn single(name: &str, values: impl Iterator<Item = Option<f32>>) -> Column {
    Float32Chunked::from_iter_options(name.into(), values).into_column()
}
