//! Columns of a Parquet file: what may stand in them, and their cells.

use parquet::basic::{ConvertedType, LogicalType, TimeUnit, Type};
use parquet::column::reader::{ColumnReader, ColumnReaderImpl};
use parquet::data_type::{DataType, Int96};
use parquet::errors::Result;
use parquet::schema::types::ColumnDescriptor;

use crate::header::dialect::LogCell;
use crate::time::clock::{Clock, Reading};

/// What the numbers of a column mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum ColumnMeaning {
    /// Numbers, to be divided.
    Number { divisor: f64, unsigned: bool },
    /// A decimal number in bytes, the highest first.
    DecimalBytes { divisor: f64 },
    /// Text.
    Text,
    /// A moment, so many a second.
    Instant { per_second: i64 },
    /// A date and time of the declared zone, so many a second.
    Local { per_second: i64 },
    /// A date of the declared zone.
    Days,
}

impl ColumnMeaning {
    /// What a column holds; `Err` names what cannot be used.
    pub(crate) fn of(
        column: &ColumnDescriptor,
    ) -> std::result::Result<ColumnMeaning, &'static str> {
        if column.max_rep_level() > 0 {
            return Err("lists");
        }
        let logical = column.logical_type_ref();
        let converted = column.converted_type();
        let whole = matches!(column.physical_type(), Type::INT32 | Type::INT64);
        if let Some(LogicalType::Timestamp(stamp)) = logical {
            let per_second = match stamp.unit {
                TimeUnit::MILLIS => 1000,
                TimeUnit::MICROS => 1_000_000,
                TimeUnit::NANOS => 1_000_000_000,
            };
            return match (whole, stamp.is_adjusted_to_u_t_c) {
                (true, true) => Ok(ColumnMeaning::Instant { per_second }),
                (true, false) => Ok(ColumnMeaning::Local { per_second }),
                (false, _) => Err("times of an unknown kind"),
            };
        }
        let decimal =
            matches!(logical, Some(LogicalType::Decimal(_))) || converted == ConvertedType::DECIMAL;
        let divisor = if decimal {
            10_f64.powi(column.type_scale().clamp(0, 300))
        } else {
            1.0
        };
        match (column.physical_type(), converted) {
            (_, ConvertedType::TIMESTAMP_MILLIS) if whole => {
                Ok(ColumnMeaning::Instant { per_second: 1000 })
            }
            (_, ConvertedType::TIMESTAMP_MICROS) if whole => Ok(ColumnMeaning::Instant {
                per_second: 1_000_000,
            }),
            (Type::INT32, ConvertedType::DATE) => Ok(ColumnMeaning::Days),
            (_, ConvertedType::TIME_MILLIS | ConvertedType::TIME_MICROS) => Err("times of day"),
            (Type::INT96, _) => Ok(ColumnMeaning::Instant { per_second: 1000 }),
            (Type::INT32 | Type::INT64 | Type::FLOAT | Type::DOUBLE, _) => {
                Ok(ColumnMeaning::Number {
                    divisor,
                    unsigned: matches!(
                        converted,
                        ConvertedType::UINT_8
                            | ConvertedType::UINT_16
                            | ConvertedType::UINT_32
                            | ConvertedType::UINT_64
                    ),
                })
            }
            (Type::BYTE_ARRAY | Type::FIXED_LEN_BYTE_ARRAY, _) if decimal => {
                Ok(ColumnMeaning::DecimalBytes { divisor })
            }
            (Type::BYTE_ARRAY, _) => Ok(ColumnMeaning::Text),
            (Type::BOOLEAN, _) => Err("only yes and no"),
            (Type::FIXED_LEN_BYTE_ARRAY, _) => Err("bytes"),
        }
    }

    pub(crate) fn is_number(self) -> bool {
        matches!(
            self,
            ColumnMeaning::Number { .. } | ColumnMeaning::DecimalBytes { .. } | ColumnMeaning::Text
        )
    }
}

/// Some cells of a column, one after the other.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Piece {
    Whole(Vec<Option<i64>>),
    Real(Vec<Option<f64>>),
    Bytes(Vec<Option<Vec<u8>>>),
}

impl Piece {
    pub(crate) fn len(&self) -> usize {
        match self {
            Piece::Whole(cells) => cells.len(),
            Piece::Real(cells) => cells.len(),
            Piece::Bytes(cells) => cells.len(),
        }
    }

    /// Reads up to so many cells.
    ///
    /// # Errors
    ///
    /// What is wrong with the file.
    pub(crate) fn read(reader: &mut ColumnReader, nullable: i16, rows: usize) -> Result<Piece> {
        Ok(match reader {
            ColumnReader::BoolColumnReader(reader) => {
                Piece::Whole(cells(reader, nullable, rows, |&value| i64::from(value))?)
            }
            ColumnReader::Int32ColumnReader(reader) => {
                Piece::Whole(cells(reader, nullable, rows, |&value| i64::from(value))?)
            }
            ColumnReader::Int64ColumnReader(reader) => {
                Piece::Whole(cells(reader, nullable, rows, |&value| value)?)
            }
            ColumnReader::Int96ColumnReader(reader) => {
                Piece::Whole(cells(reader, nullable, rows, Int96::to_millis)?)
            }
            ColumnReader::FloatColumnReader(reader) => {
                // As it is written in decimals: 0.1 is 0.1, not 0.10000000149.
                Piece::Real(cells(reader, nullable, rows, |&value| shortest(value))?)
            }
            ColumnReader::DoubleColumnReader(reader) => {
                Piece::Real(cells(reader, nullable, rows, |&value| value)?)
            }
            ColumnReader::ByteArrayColumnReader(reader) => {
                Piece::Bytes(cells(reader, nullable, rows, |value| {
                    value.data().to_vec()
                })?)
            }
            ColumnReader::FixedLenByteArrayColumnReader(reader) => {
                Piece::Bytes(cells(reader, nullable, rows, |value| {
                    value.data().to_vec()
                })?)
            }
        })
    }

    /// A reading; `text` reads what is written in words.
    pub(crate) fn cell(
        &self,
        row: usize,
        meaning: ColumnMeaning,
        text: impl Fn(&[u8]) -> LogCell,
    ) -> LogCell {
        let number = match (self, meaning) {
            (Piece::Whole(cells), ColumnMeaning::Number { divisor, unsigned }) => {
                cells[row].map(|value| {
                    let value = if unsigned && value < 0 {
                        // The bits of a number without sign.
                        value as u64 as f64
                    } else {
                        value as f64
                    };
                    value / divisor
                })
            }
            (Piece::Real(cells), _) => cells[row],
            (Piece::Bytes(cells), ColumnMeaning::DecimalBytes { divisor }) => {
                cells[row].as_ref().map(|bytes| decimal(bytes) / divisor)
            }
            (Piece::Bytes(cells), _) => {
                return cells[row]
                    .as_ref()
                    .map_or(LogCell::Missing, |bytes| text(bytes));
            }
            (Piece::Whole(_), _) => None,
        };
        match number {
            Some(number) if number.is_finite() => LogCell::Number(number),
            _ => LogCell::Missing,
        }
    }

    /// A time, and how it is written.
    pub(crate) fn time(
        &self,
        row: usize,
        meaning: ColumnMeaning,
        clock: &mut Clock,
    ) -> (Reading, Vec<u8>) {
        let (reading, text) = match (self, meaning) {
            (Piece::Whole(cells), ColumnMeaning::Instant { per_second }) => {
                let at = cells[row].map(|at| at.div_euclid(per_second));
                (at.map(Reading::of_moment), Vec::new())
            }
            (Piece::Whole(cells), ColumnMeaning::Local { per_second }) => {
                let own = cells[row].map(|own| own.div_euclid(per_second));
                (own.map(|own| clock.read_own(own)), Vec::new())
            }
            (Piece::Whole(cells), ColumnMeaning::Days) => {
                let own = cells[row].and_then(|days| days.checked_mul(86_400));
                (own.map(|own| clock.read_own(own)), Vec::new())
            }
            (Piece::Whole(cells), _) => written(clock, cells[row].map(|n| n.to_string())),
            (Piece::Real(cells), _) => written(clock, cells[row].map(|n| n.to_string())),
            (Piece::Bytes(cells), _) => match &cells[row] {
                Some(text) => (Some(clock.read(text)), text.clone()),
                None => (None, Vec::new()),
            },
        };
        (reading.unwrap_or(Reading::Unreadable), text)
    }

    /// The text of a cell.
    pub(crate) fn text(&self, row: usize) -> &[u8] {
        match self {
            Piece::Bytes(cells) => cells[row].as_deref().unwrap_or_default(),
            _ => &[],
        }
    }
}

/// Seconds or milliseconds as the declared format has it.
fn written(clock: &mut Clock, number: Option<String>) -> (Option<Reading>, Vec<u8>) {
    let text = number.unwrap_or_default().into_bytes();
    (Some(clock.read(&text)), text)
}

fn cells<T: DataType, V>(
    reader: &mut ColumnReaderImpl<T>,
    nullable: i16,
    rows: usize,
    convert: impl Fn(&T::T) -> V,
) -> Result<Vec<Option<V>>> {
    let (mut levels, mut values) = (Vec::new(), Vec::new());
    let (records, ..) = reader.read_records(rows, Some(&mut levels), None, &mut values)?;
    let mut values = values.iter();
    Ok((0..records)
        .map(|row| {
            let known = nullable == 0 || levels.get(row) == Some(&nullable);
            if known {
                values.next().map(&convert)
            } else {
                None
            }
        })
        .collect())
}

/// The shortest decimal number that the single-precision number represents.
fn shortest(value: f32) -> f64 {
    fast_float2::parse(value.to_string()).unwrap_or(f64::from(value))
}

/// Two's complement, the highest byte first.
fn decimal(bytes: &[u8]) -> f64 {
    let Some(&first) = bytes.first() else {
        return f64::NAN;
    };
    let start = f64::from((first as i8).min(0).signum());
    bytes
        .iter()
        .fold(start, |number, &byte| number * 256.0 + f64::from(byte))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_twos_complement() {
        for number in [0_i32, 1, -1, 255, 256, -256, 123_456, -123_456, i32::MIN] {
            let bytes = number.to_be_bytes();
            assert!((decimal(&bytes) - f64::from(number)).abs() < f64::EPSILON);
            let wide = i128::from(number).to_be_bytes();
            assert!((decimal(&wide) - f64::from(number)).abs() < f64::EPSILON);
        }
        assert!((shortest(0.1) - 0.1).abs() < f64::EPSILON);
    }
}
