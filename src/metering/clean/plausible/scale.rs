//! Channels that are out of scale as a whole: kilovolts read as volts, watts as kilowatts.

use super::PlausibilityCheck;
use super::bounds::{DOUBT_SHARE, FREQUENCY_SHARE, LOST_VOLTAGE_SHARE};
use site::Quantity;

/// Values of one channel that all lie this close together are one level, not a lost signal.
const ONE_LEVEL: f64 = 1.5;

/// Reports and lists the channels whose unit or ratio is to be doubted, rather than their readings.
pub(super) fn out_of_scale(work: &mut PlausibilityCheck<'_>) -> Vec<Quantity> {
    let mut doubted = Vec::new();
    for quantity in work.readings.quantities() {
        let Some(values) = work.readings.get(quantity) else {
            continue;
        };
        let rows = match quantity {
            Quantity::Voltage(_) => too_low(values, work.nominal.phase_voltage_v),
            Quantity::LineVoltage(_) => too_low(values, work.nominal.line_voltage_v),
            Quantity::Frequency => never_near(values, work.nominal.frequency_hz),
            _ => Vec::new(),
        };
        let rows = if rows.is_empty() {
            let most = work.nominal.impossible(quantity, work.readings.hours());
            most.map_or_else(Vec::new, |most| often_above(values, most))
        } else {
            rows
        };
        if rows.is_empty() {
            continue;
        }
        doubted.push(quantity);
        work.report(
            "out-of-scale",
            &rows,
            format!(
                "`{quantity}` often has values that its unit does not allow; check its `scale` and the meter's `ratio`; kept as logged"
            ),
        );
    }
    doubted
}

fn rows_where(values: &[Option<f64>], test: impl Fn(f64) -> bool) -> Vec<usize> {
    let rows = values.iter().enumerate();
    rows.filter_map(|(row, value)| value.filter(|&value| test(value)).map(|_| row))
        .collect()
}

/// All readings, where all of them are one level far below the nominal voltage.
fn too_low(values: &[Option<f64>], nominal: f64) -> Vec<usize> {
    let known = || values.iter().flatten().copied();
    let (low, high) = (
        known().fold(f64::INFINITY, f64::min),
        known().fold(f64::NEG_INFINITY, f64::max),
    );
    if low > 0.0 && high < nominal * LOST_VOLTAGE_SHARE && high < low * ONE_LEVEL {
        rows_where(values, |_| true)
    } else {
        Vec::new()
    }
}

/// All readings, where none is near the nominal value.
fn never_near(values: &[Option<f64>], nominal: f64) -> Vec<usize> {
    let near = |value: f64| (value - nominal).abs() <= FREQUENCY_SHARE * nominal;
    let known = values.iter().flatten().filter(|value| **value != 0.0);
    if known.clone().count() > 2 && !known.clone().any(|&value| near(value)) {
        rows_where(values, |_| true)
    } else {
        Vec::new()
    }
}

/// The readings above what can be, where these are too many to be misreadings.
fn often_above(values: &[Option<f64>], most: f64) -> Vec<usize> {
    let rows = rows_where(values, |value| value.abs() > most);
    let known = values.iter().flatten().count();
    if rows.len() > 2 && rows.len() as f64 > DOUBT_SHARE * known as f64 {
        rows
    } else {
        Vec::new()
    }
}
