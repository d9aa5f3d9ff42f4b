//! Demand periods: stretches of 15, 30 or 60 minutes that begin on the local clock.

use chrono_tz::Tz;

use super::quarter_hours::QuarterHours;
use super::quarters::Quarter;
use crate::clock;
use electrical::block_apparent_power;
use metering::IntervalTable;
use units::{KilovarHours, KilowattHours, rank};

/// A complete demand period.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Start, Unix seconds.
    pub start_s: i64,
    /// Mean power. (kW)
    pub kw: f64,
    /// Mean apparent power, where reactive energy is complete too. (kVA)
    pub kva: Option<f64>,
    /// Mean reactive power, lagging positive, where it is complete. (kvar)
    pub kvar: Option<f64>,
}

/// The complete blocks, ascending; or why the intervals allow none, in words that follow the
/// meter's name.
pub(crate) fn demand_blocks(
    zone: Tz,
    table: &IntervalTable,
    quarters: &QuarterHours,
    window_min: u32,
) -> Result<Vec<Block>, String> {
    let window_s = i64::from(window_min) * 60;
    let interval_s = i64::from(table.resolution_s());
    if interval_s > window_s || window_s % interval_s != 0 {
        return Err(format!(
            "logs every {}, which does not fit demand periods of {window_min} min: no maximum demand",
            minutes(interval_s)
        ));
    }
    let late_s = lateness_s(zone, table, interval_s);
    if late_s * 10 > window_s {
        return Err(format!(
            "has intervals that start {} off the clock, too far for demand periods of {window_min} min: no maximum demand",
            minutes(late_s)
        ));
    }
    let mut blocks = Vec::new();
    quarters.each_run(
        |quarter| clock::local(zone, quarter.start_s).block_start_s(window_s),
        |start_s, own| blocks.extend(complete(start_s, own, window_s)),
    );
    Ok(blocks)
}

/// How far the intervals begin from multiples of their length on the local clock. (s)
pub(crate) fn lateness_s(zone: Tz, table: &IntervalTable, interval_s: i64) -> i64 {
    table.starts().first().map_or(0, |&first| {
        let into = clock::local(zone, first).into_block_s(interval_s);
        into.min(interval_s - into)
    })
}

/// `15 min`, `1 min 30 s`, `5 s`.
pub(crate) fn minutes(seconds: i64) -> String {
    if seconds >= 86_400 && seconds % 3600 == 0 {
        return format!("{} d", (seconds + 43_200) / 86_400);
    }
    match (seconds / 60, seconds % 60) {
        (0, seconds) => format!("{seconds} s"),
        (minutes, 0) => format!("{minutes} min"),
        (minutes, seconds) => format!("{minutes} min {seconds} s"),
    }
}

fn complete(start_s: i64, quarters: &[Quarter], window_s: i64) -> Option<Block> {
    let sum = |value: fn(&Quarter) -> f64| quarters.iter().map(value).sum::<f64>();
    let is_whole = |seconds: f64| (seconds - window_s as f64).abs() < 0.5;
    if !is_whole(sum(|quarter| quarter.covered_s)) {
        return None;
    }
    let hours = window_s as f64 / 3600.0;
    let energy = sum(|quarter| quarter.energy_kwh);
    let reactive = is_whole(sum(|quarter| quarter.reactive_covered_s))
        .then(|| sum(|quarter| quarter.reactive_kvarh));
    let kva = reactive.and_then(|reactive| {
        block_apparent_power(KilowattHours(energy), KilovarHours(reactive), hours).ok()
    });
    Some(Block {
        start_s,
        kw: energy / hours,
        kva: kva.map(units::VoltAmperes::kilo),
        kvar: reactive.map(|kvarh| kvarh / hours),
    })
}

/// The block with the largest value, the earliest on a tie.
pub(crate) fn largest(
    blocks: &[Block],
    value: impl Fn(&Block) -> Option<f64>,
) -> Option<(Block, f64)> {
    let mut best: Option<(Block, f64)> = None;
    for block in blocks {
        if let Some(found) = value(block)
            && best.is_none_or(|(_, known)| rank(found) > rank(known))
        {
            best = Some((*block, found));
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::meter::quarters::quarters;
    use crate::samples::{at, draw_of, power_table};

    fn blocks(zone: Tz, table: &IntervalTable, window_min: u32) -> Result<Vec<Block>, String> {
        demand_blocks(zone, table, &quarters(table, draw_of(table)), window_min)
    }

    fn maximum(table: &IntervalTable, window_min: u32) -> Option<(i64, f64)> {
        let blocks = blocks(Tz::UTC, table, window_min).ok()?;
        largest(&blocks, |block| Some(block.kw)).map(|(block, kw)| (block.start_s, kw))
    }

    /// In binary numbers 0.1 + 0.2 is more than 0.3: that is no higher demand.
    #[test]
    fn the_earliest_of_equal_blocks_is_the_largest() {
        let block = |start_s: i64, kw: f64| Block {
            start_s,
            kw,
            kva: None,
            kvar: None,
        };
        let blocks = [block(0, 0.1), block(900, 0.3), block(1800, 0.1 + 0.2)];
        let found = largest(&blocks, |block| Some(block.kw));
        assert_eq!(found.map(|(block, _)| block.start_s), Some(900));
    }

    /// kW = kWh × 60/T: 3.7 kWh in 15 min are 14.8 kW, 7.1 kWh in 30 min are 14.2 kW.
    #[test]
    fn energy_of_a_block_over_its_length_is_its_demand() {
        let per_minute = 3.7 / 15.0 * 60.0;
        let table = power_table(0, 60, &[Some(per_minute); 15]);
        let (start, kw) = maximum(&table, 15).expect("one block");
        assert_eq!(start, 0);
        assert!((kw - 14.8).abs() < 1e-9);
        let table = power_table(0, 900, &[3.7, 3.4].map(|kwh| Some(kwh * 4.0)));
        let (_, kw) = maximum(&table, 30).expect("one block");
        assert!((kw - 14.2).abs() < 1e-9);
    }

    #[test]
    fn an_incomplete_block_sets_no_maximum() {
        // 09:00 has 3 kW twice; 09:30 has 50 kW in one quarter-hour and no reading in the other.
        let start = at("2026-03-09T09:00:00Z");
        let table = power_table(start, 900, &[Some(3.0), Some(3.0), Some(50.0), None]);
        assert_eq!(maximum(&table, 30), Some((start, 3.0)));
        // Two equal blocks: the earlier one.
        let table = power_table(start, 1800, &[Some(3.0), Some(3.0)]);
        assert_eq!(maximum(&table, 30), Some((start, 3.0)));
    }

    #[test]
    fn intervals_must_fill_the_window() {
        let hourly = power_table(0, 3600, &[Some(1.0); 4]);
        assert!(blocks(Tz::UTC, &hourly, 30).is_err_and(|note| note.contains("60 min")));
        let odd = power_table(0, 420, &[Some(1.0); 40]);
        assert!(blocks(Tz::UTC, &odd, 15).is_err());
        let askew = power_table(300, 900, &[Some(1.0); 9]);
        assert!(blocks(Tz::UTC, &askew, 15).is_err_and(|note| note.contains("5 min")));
        let late = power_table(3, 900, &[Some(1.0); 9]);
        assert_eq!(blocks(Tz::UTC, &late, 15).map(|found| found.len()), Ok(8));
    }

    /// Half-hours of the day on which Rome's clocks go back: 50 of them, and the two passes of
    /// 02:00 are different blocks; 46 on the day they go forward.
    #[test]
    fn half_hours_across_both_clock_changes() {
        for (from, quarters, blocks_of_day) in [
            ("2017-10-29T00:00:00+02:00", 100, 50),
            ("2017-03-26T00:00:00+01:00", 92, 46),
        ] {
            let values: Vec<Option<f64>> = (0..quarters).map(|n| Some(f64::from(n))).collect();
            let table = power_table(at(from), 900, &values);
            let found = blocks(Tz::Europe__Rome, &table, 30).expect("they fill the window");
            assert_eq!(found.len(), blocks_of_day);
            let steps = found
                .windows(2)
                .all(|pair| pair[1].start_s - pair[0].start_s == 1800);
            assert!(steps, "{from}");
        }
    }

    #[test]
    fn apparent_power_of_a_block_needs_all_of_its_reactive_energy() {
        use site::Quantity;
        let active = (Quantity::ActivePower(None).name(), vec![Some(4.0); 4]);
        let reactive = vec![Some(3.0), Some(3.0), Some(3.0), None];
        let reactive = (Quantity::ReactivePower(None).name(), reactive);
        let starts = vec![0, 900, 1800, 2700];
        let table = IntervalTable::of_columns(starts, 900, vec![active, reactive]);
        let found = blocks(Tz::UTC, &table, 30).expect("they fill the window");
        assert!(found[0].kva.is_some_and(|kva| (kva - 5.0).abs() < 1e-12));
        assert_eq!(found[1].kva, None);
    }
}
