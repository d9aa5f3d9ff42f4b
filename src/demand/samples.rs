//! Small sites and tables for the tests of this room.

use std::path::PathBuf;

use chrono::DateTime;
use chrono_tz::Tz;

use analysis::NetPower;
use metering::{IntervalTable, Logs, MeterLog};
use site::{Accuracy, Board, Measured, Meter, Node, Quantity, Site, Stamp, Supply, Thresholds};

/// Unix seconds of a time with offset.
pub(super) fn at(text: &str) -> i64 {
    DateTime::parse_from_rfc3339(text)
        .expect("test time")
        .timestamp()
}

/// A table with one quantity.
pub(super) fn power_table(from: i64, interval_s: u32, values: &[Option<f64>]) -> IntervalTable {
    let starts = (0..values.len() as i64)
        .map(|row| from + row * i64::from(interval_s))
        .collect();
    let columns = [(Quantity::ActivePower(None).name(), values.to_vec())];
    IntervalTable::of_columns(starts, interval_s, columns.into())
}

pub(super) fn draw_of(table: &IntervalTable) -> NetPower<'_> {
    NetPower {
        power_kw: table.values(Quantity::ActivePower(None)),
        reactive_kvar: table.values(Quantity::ReactivePower(None)),
        ..NetPower::default()
    }
}

/// The log of the first meter.
pub(super) fn log_of(table: IntervalTable) -> MeterLog {
    MeterLog::of_table(0, table)
}

/// The logs of the first meters, in their order.
pub(super) fn logs_of(tables: impl IntoIterator<Item = IntervalTable>) -> Logs {
    let meters = tables.into_iter().enumerate();
    Logs {
        meters: meters
            .map(|(index, table)| MeterLog::of_table(index, table))
            .collect(),
        ..Logs::default()
    }
}

/// A meter with averages stamped at the end of the interval.
pub(super) fn meter(id: &str, measures: Measured) -> Meter {
    Meter {
        measures,
        stamp: Some(Stamp::End),
        ..Meter::of_file(id, String::new(), None)
    }
}

/// A site in UTC with the supply's meter, and as many boards as there are names.
pub(super) fn site(boards: &[&str]) -> Site {
    Site {
        folder: PathBuf::new(),
        name: "test".to_owned(),
        timezone: Tz::UTC,
        currency: None,
        carbon_g_per_kwh: None,
        carbon: None,
        demand_window_min: 60,
        holidays: Vec::new(),
        supply: Supply {
            declared: true,
            line_voltage_v: 400.0,
            frequency_hz: 50.0,
            phase_limit_a: 100.0,
            neutral_limit_a: 100.0,
            transformer_kva: None,
            conductor_marks: None,
        },
        boards: boards
            .iter()
            .map(|id| Board {
                id: (*id).to_owned(),
                fed_from: Node::Supply,
                phase_limit_a: None,
                neutral_limit_a: None,
                ways: None,
                feeder: None,
                incomer: None,
                tested: None,
                revision: None,
            })
            .collect(),
        circuits: Vec::new(),
        schedules: Vec::new(),
        cable_sizes: Vec::new(),
        meters: vec![meter("main", Measured::SUPPLY)],
        machines: Vec::new(),
        machine_list: String::new(),
        readings: site::ReadingsSource::InFolder,
        understood: site::Understood::default(),
        works: Vec::new(),
        accepted: Vec::new(),
        thresholds: Thresholds::default(),
        accuracy: Accuracy::default(),
        tariffs: Vec::new(),
        meter_tariffs: Vec::new(),
        billing: tariff::BillingPeriods::default(),
        variables: Vec::new(),
        baseline: None,
    }
}
