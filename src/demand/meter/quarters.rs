//! Energy by quarter-hours of UTC, from which blocks, days and profiles are put together.
//!
//! All zones of today stand a multiple of 15 minutes from UTC, so a quarter-hour is in one local
//! block, hour and day. Longer intervals are spread evenly over theirs.

use chrono_tz::Tz;

pub(crate) use super::quarter::QUARTER_S;
pub use super::quarter::Quarter;
use super::quarter_hours::QuarterHours;
use crate::clock;
use analysis::NetPower;
use metering::IntervalTable;
use site::Quantity;

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

/// Quarter-hours added up by the demand periods of the local clock, ascending; one with readings for part of its time
/// counts that part.
#[must_use]
pub fn demand_periods(zone: Tz, window_min: u32, quarters: &QuarterHours) -> Vec<Quarter> {
    let window_s = i64::from(window_min) * 60;
    let mut found: Vec<Quarter> = Vec::new();
    for quarter in quarters.iter() {
        let start_s = clock::local(zone, quarter.start_s).block_start_s(window_s);
        match found.last_mut() {
            Some(last) if last.start_s == start_s => last.add(&quarter),
            _ => found.push(Quarter { start_s, ..quarter }),
        }
    }
    found
}

/// The quarter-hours of a meter, ascending; those without readings are left out.
pub(crate) fn quarters(table: &IntervalTable, draw: NetPower<'_>) -> QuarterHours {
    let (Some(net), Some(import)) = (draw.power_kw, import_kw(table, draw)) else {
        return QuarterHours::default();
    };
    let length_s = i64::from(table.interval_s());
    let mut reactive = draw.reactive_kvar.map(metering::Logged::iter);
    let mut estimated = table
        .values(Quantity::EstimatedShare)
        .map(metering::Logged::iter);
    let mut found = QuarterHours::default();
    let mut open: Option<Quarter> = None;
    let mut in_order = true;
    for ((&start, kw), import) in table.starts().iter().zip(net.iter()).zip(import) {
        let kvar = reactive.as_mut().and_then(|values| values.next().flatten());
        let share = estimated
            .as_mut()
            .and_then(|values| values.next().flatten());
        for (quarter, seconds) in quarter_hours(start, start + length_s) {
            let mut piece = Quarter::of_piece(quarter, seconds, kw, import, kvar);
            piece.estimated_kwh = piece.import_kwh * share.unwrap_or(0.0);
            match &mut open {
                Some(last) if last.start_s == quarter => last.add(&piece),
                _ => {
                    if let Some(done) = open.replace(piece) {
                        in_order &= done.start_s < quarter;
                        found.push_read(&done);
                    }
                }
            }
        }
    }
    if let Some(done) = open {
        found.push_read(&done);
    }
    if in_order {
        found.shrink();
        return found;
    }
    joined(found.iter().collect()).into_iter().collect()
}

/// Pieces of intervals that overlap, joined by their quarter-hours.
fn joined(mut pieces: Vec<Quarter>) -> Vec<Quarter> {
    pieces.sort_by_key(|piece| piece.start_s);
    pieces.dedup_by(|later, first| {
        let same = later.start_s == first.start_s;
        if same {
            first.add(later);
        }
        same
    });
    pieces
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
        assert!((found.at(0).energy_kwh - 1.5).abs() < 1e-12);
        assert!((found.at(0).covered_s - 600.0).abs() < 1e-9);
        assert!(found.at(0).reactive_covered_s.abs() < 1e-9);
        // An hour at 8 kW from ten past: 5 minutes, three quarter-hours, 10 minutes.
        let table = power_table(600, 3600, &[Some(8.0)]);
        let found = quarters(&table, draw_of(&table));
        let seconds: Vec<f64> = found.iter().map(|quarter| quarter.covered_s).collect();
        assert_eq!(seconds, [300.0, 900.0, 900.0, 900.0, 600.0]);
        let energy: f64 = found.iter().map(|quarter| quarter.energy_kwh).sum();
        assert!((energy - 8.0).abs() < 1e-12);
    }
}
