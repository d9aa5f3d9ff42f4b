//! A column of a table, lent instead of copied.

use either::Either;
use polars::prelude::{Column, Float32Type, Float64Type, PolarsDataType};

/// The values of one column of a table: one per interval, `None` where there is none.
#[derive(Clone, Copy, Debug)]
pub struct Logged<'t> {
    numbers: Numbers<'t>,
    known: Option<Validity<'t>>,
}

#[derive(Clone, Copy, Debug)]
enum Numbers<'t> {
    Double(&'t [f64]),
    Single(&'t [f32]),
}

/// One bit per interval, set where there is a value; the first of the bits is not always that of the first interval.
#[derive(Clone, Copy, Debug)]
struct Validity<'t> {
    bits: &'t [u8],
    first: usize,
}

impl Validity<'_> {
    #[inline]
    fn at(self, row: usize) -> bool {
        let bit = self.first + row;
        self.bits[bit / 8] >> (bit % 8) & 1 == 1
    }
}

/// The array that a column with one chunk consists of.
type Array<T> = <T as PolarsDataType>::Array;

impl<'t> Logged<'t> {
    /// `None` where the column does not hold such numbers.
    pub(super) fn of(column: &'t Column) -> Option<Logged<'t>> {
        let gaps = column.null_count() > 0;
        let (numbers, validity) = if let Ok(values) = column.f64() {
            let array: &Array<Float64Type> = values.downcast_as_array();
            (Numbers::Double(array.values().as_slice()), array.validity())
        } else {
            let array: &Array<Float32Type> = column.f32().ok()?.downcast_as_array();
            (Numbers::Single(array.values().as_slice()), array.validity())
        };
        let known = validity.filter(|_| gaps).map(|validity| {
            let (bits, first, _) = validity.as_slice();
            Validity { bits, first }
        });
        Some(Logged { numbers, known })
    }

    /// Number of intervals.
    #[must_use]
    #[inline]
    pub fn len(self) -> usize {
        match self.numbers {
            Numbers::Double(values) => values.len(),
            Numbers::Single(values) => values.len(),
        }
    }

    /// True without any interval.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.len() == 0
    }

    /// The value of an interval of the table; there is none beyond its last one.
    #[must_use]
    #[inline]
    pub fn get(self, row: usize) -> Option<f64> {
        let value = match self.numbers {
            Numbers::Double(values) => *values.get(row)?,
            Numbers::Single(values) => f64::from(*values.get(row)?),
        };
        self.known
            .is_none_or(|known| known.at(row))
            .then_some(value)
    }

    /// The values in the order of the intervals.
    pub fn iter(
        self,
    ) -> impl DoubleEndedIterator<Item = Option<f64>> + ExactSizeIterator + Clone + use<'t> {
        match (self.numbers, self.known) {
            // Most columns: going through the slice is several times as fast as asking bit by bit.
            (Numbers::Double(values), None) => Either::Left(values.iter().copied().map(Some)),
            _ => Either::Right((0..self.len()).map(move |row| self.get(row))),
        }
    }

    /// A copy, where a series of one's own begins with it.
    #[must_use]
    pub fn to_vec(self) -> Vec<Option<f64>> {
        self.iter().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use polars::prelude::{NamedFrom, Series};

    fn column(values: &[Option<f64>]) -> Column {
        Series::new("kw".into(), values).into()
    }

    #[test]
    fn a_lent_column_is_read_as_it_was_written() {
        let whole = [Some(1.5), Some(-0.0), Some(3.0)];
        let gaps = [None, Some(2.0), None, Some(4.0), None];
        for values in [&whole[..], &gaps, &[None; 9], &[]] {
            let column = column(values);
            let logged = Logged::of(&column).expect("numbers");
            assert_eq!(logged.len(), values.len());
            assert_eq!(logged.to_vec(), values);
            let rows: Vec<Option<f64>> = (0..values.len()).map(|row| logged.get(row)).collect();
            assert_eq!(rows, values);
            assert!(logged.iter().rev().eq(values.iter().rev().copied()));
            assert_eq!(logged.get(values.len()), None);
        }
    }

    #[test]
    fn a_part_of_a_column_has_the_gaps_of_that_part() {
        let values: Vec<Option<f64>> = (0..40)
            .map(|row| (row % 3 != 0).then_some(f64::from(row)))
            .collect();
        let part = column(&values).slice(11, 20);
        let logged = Logged::of(&part).expect("numbers");
        assert_eq!(logged.to_vec(), values[11..31]);
    }

    #[test]
    fn single_precision_is_widened_and_words_are_no_numbers() {
        let single: Column = Series::new("max".into(), [Some(0.1_f32), None]).into();
        let logged = Logged::of(&single).expect("numbers");
        assert_eq!(logged.to_vec(), [Some(f64::from(0.1_f32)), None]);
        let words: Column = Series::new("words".into(), ["on", "off"]).into();
        assert!(Logged::of(&words).is_none());
    }
}
