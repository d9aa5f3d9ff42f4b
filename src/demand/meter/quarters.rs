//! Energy by quarter-hours of UTC, from which blocks, days and profiles are put together.
//!
//! All zones of today stand a multiple of 15 minutes from UTC, so a quarter-hour is in one local
//! block, hour and day. Longer intervals are spread evenly over theirs.

use polars::prelude::{
    Column, DataFrame, DataType, Expr, IdxCa, IntoLazy, NamedFrom, Series, SortMultipleOptions,
    col, lit,
};
use polars::series::IsSorted;

use analysis::NetPower;
use metering::IntervalTable;
use site::Quantity;

/// Length of a quarter-hour. (s)
pub(crate) const QUARTER_S: i64 = 900;

/// A stretch of time cut at the quarter-hours: the start of each, Unix seconds, and the seconds in it.
pub fn quarter_hours(from_s: i64, to_s: i64) -> impl Iterator<Item = (i64, f64)> {
    let mut at = from_s;
    std::iter::from_fn(move || {
        if at >= to_s {
            return None;
        }
        let quarter = at.div_euclid(QUARTER_S) * QUARTER_S;
        let until = to_s.min(quarter + QUARTER_S);
        let seconds = (until - at) as f64;
        at = until;
        Some((quarter, seconds))
    })
}

/// One quarter-hour with readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quarter {
    /// Start, Unix seconds.
    pub start_s: i64,
    /// Time with known net active power. (s)
    pub covered_s: f64,
    /// Net active energy of that time. (kWh)
    pub energy_kwh: f64,
    /// Time with known import, be the export known or not. (s)
    pub import_covered_s: f64,
    /// Energy imported in that time, whatever was exported in it. (kWh)
    pub import_kwh: f64,
    /// Energy exported while both are known. (kWh)
    pub export_kwh: f64,
    /// Time with known reactive power. (s)
    pub reactive_covered_s: f64,
    /// Net reactive energy of that time. (kvarh)
    pub reactive_kvarh: f64,
}

/// The quarter-hours of a meter, ascending; those without readings are left out.
pub(crate) fn quarters(table: &IntervalTable, draw: NetPower<'_>) -> Vec<Quarter> {
    if draw.power_kw.is_none() {
        return Vec::new();
    }
    let pieces = Pieces::of(table);
    // Quarter-hourly logs, the longest ones, have nothing to add up.
    let alone = pieces.quarter_s.windows(2).all(|pair| pair[0] < pair[1]);
    let mut frame = drawn(table, draw)
        .take(&IdxCa::from_vec("row".into(), pieces.row))
        .expect("pieces are of rows of the table");
    for column in [
        ascending("quarter", pieces.quarter_s),
        Column::new("seconds".into(), pieces.seconds),
    ] {
        frame
            .with_column(column)
            .expect("as many as there are pieces");
    }
    let amounts = frame.lazy().select([
        col("quarter"),
        covered("kw").alias("covered"),
        amount("kw").alias("energy"),
        covered("import").alias("import_covered"),
        amount("import").alias("import"),
        exported().alias("export"),
        covered("kvar").alias("reactive_covered"),
        amount("kvar").alias("reactive"),
    ]);
    let sums = if alone {
        amounts
    } else {
        amounts
            .group_by([col("quarter")])
            .agg([col("*").sum()])
            .sort(["quarter"], SortMultipleOptions::default())
    };
    let sums = sums.collect().expect("sums of numbers by whole numbers");
    read(&sums)
}

/// Rows of a table ascend, and so do their pieces: so the grouping needs no hash.
fn ascending(name: &str, values: Vec<i64>) -> Column {
    let mut series = Series::new(name.into(), values);
    series.set_sorted_flag(IsSorted::Ascending);
    series.into()
}

/// Active and reactive power of each interval.
fn drawn(table: &IntervalTable, draw: NetPower<'_>) -> DataFrame {
    let column = |quantity: Option<Quantity>, name: &str| {
        let logged = quantity.and_then(|quantity| table.frame().column(&quantity.name()).ok());
        match logged {
            Some(column) => column.clone().with_name(name.into()),
            None => Column::full_null(name.into(), table.len(), &DataType::Float64),
        }
    };
    let active = Quantity::ActivePower(draw.phase);
    let reactive = draw.reactive_kvar.map(|_| Quantity::ReactivePower(None));
    let import = import_kw(table, draw).map(|values| Column::new("import".into(), values));
    let columns = vec![
        column(Some(active), "kw"),
        import
            .unwrap_or_else(|| Column::full_null("import".into(), table.len(), &DataType::Float64)),
        column(reactive, "kvar"),
    ];
    DataFrame::new(table.len(), columns).expect("columns of one table have one length")
}

/// Mean power imported in each interval: as it is logged apart from export, else the net power where it is positive. (kW)
pub(crate) fn import_kw(table: &IntervalTable, draw: NetPower<'_>) -> Option<Vec<Option<f64>>> {
    let hours = f64::from(table.interval_s()) / 3600.0;
    let apart = (draw.phase.is_none())
        .then(|| {
            let amounts = table.values(Quantity::EnergyInterval);
            let amounts =
                amounts.map(|values| values.iter().map(|kwh| Some(kwh? / hours)).collect());
            let power = || {
                table
                    .values(Quantity::ActivePowerImport(None))
                    .map(|values| values.iter().collect())
            };
            amounts.or_else(power)
        })
        .flatten();
    let apart: Option<Vec<Option<f64>>> = apart;
    apart.or_else(|| Some(draw.power_kw?.iter().map(|kw| Some(kw?.max(0.0))).collect()))
}

/// Time with a value. (s)
fn covered(quantity: &str) -> Expr {
    col(quantity).is_not_null().cast(DataType::Float64) * col("seconds")
}

/// Power × time; nothing where the power is unknown. (kWh, kvarh)
fn amount(quantity: &str) -> Expr {
    (col(quantity) * col("seconds") / lit(3600.0)).fill_null(lit(0.0))
}

/// What is imported beyond the net energy, where both are known. (kWh)
fn exported() -> Expr {
    ((col("import") - col("kw")) * col("seconds") / lit(3600.0)).fill_null(lit(0.0))
}

fn read(sums: &DataFrame) -> Vec<Quarter> {
    let number = |name: &str| -> Vec<f64> {
        let column = sums.column(name).expect("a column that was asked for");
        let values = column.f64().expect("sums of numbers are numbers").rechunk();
        let values = values.cont_slice().expect("unknown amounts are 0");
        values.to_vec()
    };
    let starts = sums.column("quarter").expect("the key is a column");
    let starts = starts.i64().expect("the key is a whole number").rechunk();
    let starts = starts.cont_slice().expect("every piece has a quarter-hour");
    let (covered, energy) = (number("covered"), number("energy"));
    let (reactive_covered, reactive) = (number("reactive_covered"), number("reactive"));
    let (import_covered, import, export) =
        (number("import_covered"), number("import"), number("export"));
    starts
        .iter()
        .enumerate()
        .map(|(at, &start_s)| Quarter {
            start_s,
            covered_s: covered[at],
            energy_kwh: energy[at],
            import_covered_s: import_covered[at],
            import_kwh: import[at],
            export_kwh: export[at],
            reactive_covered_s: reactive_covered[at],
            reactive_kvarh: reactive[at],
        })
        .filter(|quarter| quarter.covered_s > 0.0 || quarter.import_covered_s > 0.0)
        .collect()
}

/// The intervals cut at the quarter-hours: row, quarter-hour and length of each piece.
#[derive(Debug, Default)]
struct Pieces {
    row: Vec<u32>,
    quarter_s: Vec<i64>,
    seconds: Vec<f64>,
}

impl Pieces {
    fn of(table: &IntervalTable) -> Pieces {
        let mut pieces = Pieces::default();
        for (row, &start) in table.starts().iter().enumerate() {
            let end = start + i64::from(table.interval_s());
            for (quarter, seconds) in quarter_hours(start, end) {
                pieces.row.push(row as u32);
                pieces.quarter_s.push(quarter);
                pieces.seconds.push(seconds);
            }
        }
        pieces
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{draw_of, power_table};

    #[test]
    fn short_intervals_add_up_and_long_ones_spread_out() {
        // Five minutes each: 6, unknown and 12 kW are 0.5 and 1 kWh in ten minutes.
        let table = power_table(0, 300, &[Some(6.0), None, Some(12.0)]);
        let found = quarters(&table, draw_of(&table));
        assert_eq!(found.len(), 1);
        assert!((found[0].energy_kwh - 1.5).abs() < 1e-12);
        assert!((found[0].covered_s - 600.0).abs() < 1e-9);
        assert!(found[0].reactive_covered_s.abs() < 1e-9);
        // An hour at 8 kW from ten past: 5 minutes, three quarter-hours, 10 minutes.
        let table = power_table(600, 3600, &[Some(8.0)]);
        let found = quarters(&table, draw_of(&table));
        let seconds: Vec<f64> = found.iter().map(|quarter| quarter.covered_s).collect();
        assert_eq!(seconds, [300.0, 900.0, 900.0, 900.0, 600.0]);
        let energy: f64 = found.iter().map(|quarter| quarter.energy_kwh).sum();
        assert!((energy - 8.0).abs() < 1e-12);
    }
}
