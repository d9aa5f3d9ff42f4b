//! Tables as Parquet: the columns of the CSV with their types, and null for what is not known.

use std::sync::Arc;

use chrono::NaiveDate;
use parquet::basic::{Compression, LogicalType, Repetition, TimeUnit, Type as Physical};
use parquet::data_type::{
    BoolType, ByteArray, ByteArrayType, DataType, DoubleType, Int32Type, Int64Type,
};
use parquet::errors::Result;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::types::{Type, TypePtr};
use rust_decimal::prelude::ToPrimitive;

use super::cell::Cell;
use super::column::{Column, Output, StoredAs};
use super::table::Table;
use super::write_csv::in_full;

impl Table {
    /// As a Parquet file with the columns of the CSV. Moments are UTC; a text is what the user wrote.
    ///
    /// # Errors
    ///
    /// Those of the Parquet writer, which writing to memory does not cause.
    pub fn parquet(&self) -> Result<Vec<u8>> {
        let places = self.places(Output::Csv);
        let stored: Vec<StoredAs> = places.iter().map(|&place| self.stored_as(place)).collect();
        let fields = places
            .iter()
            .zip(&stored)
            .map(|(&place, stored)| stored.field(self.columns[place].key));
        let schema = Type::group_type_builder("table")
            .with_fields(fields.collect::<Result<Vec<TypePtr>>>()?)
            .build()?;
        let properties = WriterProperties::builder()
            .set_compression(Compression::SNAPPY)
            .build();
        let mut bytes = Vec::new();
        let mut writer =
            SerializedFileWriter::new(&mut bytes, Arc::new(schema), Arc::new(properties))?;
        let mut group = writer.next_row_group()?;
        for (&place, stored) in places.iter().zip(stored) {
            let cells: Vec<&Cell> = self.rows.iter().map(|row| &row[place]).collect();
            if let Some(mut column) = group.next_column()? {
                stored.write(&mut column, &cells)?;
                column.close()?;
            }
        }
        group.close()?;
        writer.close()?;
        Ok(bytes)
    }

    /// Numbers by their column, the others by their cells.
    fn stored_as(&self, place: usize) -> StoredAs {
        if let Some(declared) = self.columns[place].stored_as {
            return declared;
        }
        let mut kinds = self.rows.iter().filter_map(|row| StoredAs::of(&row[place]));
        let by_column = |column: &Column| {
            if column.is_number() {
                StoredAs::Number
            } else {
                StoredAs::Text
            }
        };
        match kinds.next() {
            None => by_column(&self.columns[place]),
            Some(first) if kinds.all(|kind| kind == first) => first,
            Some(_) => StoredAs::Text,
        }
    }
}

impl StoredAs {
    /// `None` for an unknown cell.
    fn of(cell: &Cell) -> Option<StoredAs> {
        Some(match cell {
            Cell::Text(_) => StoredAs::Text,
            Cell::Number(_) | Cell::Rounded(..) | Cell::Decimal(_) | Cell::Change(..) => {
                StoredAs::Number
            }
            Cell::Local(_) | Cell::Instant(_) => StoredAs::Moment,
            Cell::Date(_) => StoredAs::Date,
            Cell::YesNo(_) => StoredAs::YesNo,
            Cell::Unknown => return None,
        })
    }

    fn field(self, key: &str) -> Result<TypePtr> {
        let (physical, logical) = match self {
            StoredAs::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
            StoredAs::Number => (Physical::DOUBLE, None),
            StoredAs::Moment => (
                Physical::INT64,
                Some(LogicalType::timestamp(true, TimeUnit::MILLIS)),
            ),
            StoredAs::Date => (Physical::INT32, Some(LogicalType::Date)),
            StoredAs::YesNo => (Physical::BOOLEAN, None),
        };
        let field = Type::primitive_type_builder(key, physical)
            .with_logical_type(logical)
            .with_repetition(Repetition::OPTIONAL)
            .build()?;
        Ok(Arc::new(field))
    }

    fn write(self, column: &mut SerializedColumnWriter<'_>, cells: &[&Cell]) -> Result<()> {
        match self {
            StoredAs::Text => put::<ByteArrayType>(column, cells, |cell| match cell {
                Cell::Unknown => None,
                Cell::Text(words) => Some(ByteArray::from(words.as_str())),
                other => Some(ByteArray::from(in_full(other).as_str())),
            }),
            StoredAs::Number => put::<DoubleType>(column, cells, number),
            StoredAs::Moment => put::<Int64Type>(column, cells, |cell| match cell {
                Cell::Local(at) | Cell::Instant(at) => Some(at.timestamp_millis()),
                _ => None,
            }),
            StoredAs::Date => put::<Int32Type>(column, cells, |cell| match cell {
                Cell::Date(date) => {
                    let days = date.signed_duration_since(NaiveDate::default()).num_days();
                    i32::try_from(days).ok()
                }
                _ => None,
            }),
            StoredAs::YesNo => put::<BoolType>(column, cells, |cell| match cell {
                Cell::YesNo(flag) => Some(*flag),
                _ => None,
            }),
        }
    }
}

/// Zero has no sign.
fn number(cell: &Cell) -> Option<f64> {
    match cell {
        Cell::Number(value) | Cell::Rounded(value, _) | Cell::Change(_, value) => {
            Some(*value + 0.0)
        }
        Cell::Decimal(value) => value.to_f64(),
        _ => None,
    }
}

fn put<T: DataType>(
    column: &mut SerializedColumnWriter<'_>,
    cells: &[&Cell],
    value: impl Fn(&Cell) -> Option<T::T>,
) -> Result<()> {
    let cells: Vec<Option<T::T>> = cells.iter().map(|cell| value(cell)).collect();
    let levels: Vec<i16> = cells.iter().map(|cell| i16::from(cell.is_some())).collect();
    let values: Vec<T::T> = cells.into_iter().flatten().collect();
    column
        .typed::<T>()
        .write_batch(&values, Some(&levels), None)?;
    Ok(())
}
