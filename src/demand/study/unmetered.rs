//! What a meter sees beyond those below it, over time.

use chrono::{DateTime, FixedOffset};
use schemars::JsonSchema;
use serde::Serialize;

use super::super::clock;
use super::super::metered::Metered;
use super::demand_study::demand_at;
use crate::above::clock_offset::{Blocks, clock_offset};
use crate::above::reconcile::submeters;
use crate::meter::blocks::Block;
use site::Site;
use units::rank;

/// One meter against those below it, over the demand periods that all of them have.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct UnmeteredOverTime {
    /// The meter above.
    pub main: String,
    /// The nearest meters below it.
    pub submeters: Vec<String>,
    /// Meters below whose clock differs from that of the meter above: they are read as that clock has it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub clocks: Vec<ClockDifference>,
    /// Blocks that all of them have in full.
    pub blocks: usize,
    /// Largest part that errors within the accuracy classes explain, all of them adding up; unknown unless all
    /// classes are declared. (kW, of the block with the most)
    pub tolerance_max_kw: Option<f64>,
    /// Blocks in which those below see more than the meter above, beyond that tolerance (or at all where it is unknown).
    pub demand_periods_below_zero: usize,
    /// The lowest unmetered part. (kW)
    pub lowest_kw: f64,
    /// When; start of the block, local time.
    #[serde(serialize_with = "units::serial::local_option")]
    pub lowest_at: Option<DateTime<FixedOffset>>,
    /// The highest. (kW)
    pub highest_kw: f64,
    /// When; start of the block, local time.
    #[serde(serialize_with = "units::serial::local_option")]
    pub highest_at: Option<DateTime<FixedOffset>>,
    /// By local day.
    pub days: Vec<UnmeteredDay>,
}

/// A meter whose clock differs from that of the meter above it.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct ClockDifference {
    /// The meter's id.
    pub meter: String,
    /// How far its clock is ahead. (min)
    pub ahead_min: f64,
}

/// A local day of the unmetered part.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct UnmeteredDay {
    /// Local date, ISO 8601.
    pub date: String,
    /// What the meter above saw in the blocks that all have. (kWh)
    pub main_kwh: f64,
    /// What those below did not see of it. (kWh)
    pub unmetered_kwh: f64,
    /// What errors within the accuracy classes may make of it, all of them adding up; unknown unless all classes are
    /// declared. (kWh)
    pub tolerance_kwh: Option<f64>,
    /// Lowest block. (kW)
    pub lowest_kw: f64,
    /// Highest demand period. (kW)
    pub highest_kw: f64,
    /// Do all blocks of the day count?
    pub complete: bool,
}

/// A block that all meters have.
struct CommonBlock {
    start_s: i64,
    main_kw: f64,
    unmetered_kw: f64,
    tolerance_kw: Option<f64>,
}

/// `None` without a meter below or a block in common.
pub(super) fn of(site: &Site, metered: &[Metered], main: &Metered) -> Option<UnmeteredOverTime> {
    let subs = submeters(site, metered, main);
    if subs.is_empty() {
        return None;
    }
    let ahead: Vec<i64> = subs.iter().map(|sub| ahead_s(main, sub)).collect();
    let length_s = step_s(main).unwrap_or(0);
    let common: Vec<CommonBlock> = main
        .blocks
        .iter()
        .filter_map(|block| {
            let below = subs.iter().zip(&ahead);
            let seen = below.map(|(sub, &ahead_s)| {
                if ahead_s == 0 {
                    return demand_at(sub, block.start_s);
                }
                let from_s = block.start_s + ahead_s;
                sub.fine.mean(from_s, from_s + length_s)
            });
            let seen: Option<Vec<f64>> = seen.collect();
            Some(together(site, main, &subs, &seen?, block))
        })
        .collect();
    // The earliest of equal ones: `min_by` gives the first, `max_by` the last.
    let by_remainder =
        |a: &&CommonBlock, b: &&CommonBlock| rank(a.unmetered_kw).total_cmp(&rank(b.unmetered_kw));
    let lowest = common.iter().min_by(by_remainder)?;
    let highest = common.iter().rev().max_by(by_remainder)?;
    let stamp = |block: &CommonBlock| clock::stamp(site.timezone, block.start_s);
    let name = |meter: &Metered| site.meters[meter.meter].id.clone();
    Some(UnmeteredOverTime {
        main: name(main),
        submeters: subs.iter().map(|sub| name(sub)).collect(),
        clocks: subs
            .iter()
            .zip(&ahead)
            .filter(|(_, ahead_s)| **ahead_s != 0)
            .map(|(sub, &ahead_s)| ClockDifference {
                meter: name(sub),
                ahead_min: ahead_s as f64 / 60.0,
            })
            .collect(),
        blocks: common.len(),
        tolerance_max_kw: common
            .iter()
            .map(|block| block.tolerance_kw)
            .reduce(|a, b| Some(a?.max(b?)))
            .flatten(),
        demand_periods_below_zero: common
            .iter()
            .filter(|block| block.unmetered_kw < -block.tolerance_kw.unwrap_or(1e-9))
            .count(),
        lowest_kw: lowest.unmetered_kw,
        lowest_at: stamp(lowest),
        highest_kw: highest.unmetered_kw,
        highest_at: stamp(highest),
        days: days(site, main, &common),
    })
}

/// How far the clock of a meter below is ahead of that of the meter above, as far as the changes show it. (s)
fn ahead_s(main: &Metered, sub: &Metered) -> i64 {
    let length_s = main.fine.length_s.max(sub.fine.length_s);
    let (Some(above), Some(below)) = (main.fine.over(length_s), sub.fine.over(length_s)) else {
        return 0;
    };
    let blocks = |kw| Blocks { kw, length_s };
    clock_offset(blocks(&above.kw), blocks(&below.kw)).map_or(0, |offset| offset.ahead_s)
}

/// From block to block. (s)
fn step_s(main: &Metered) -> Option<i64> {
    let steps = main.blocks.windows(2);
    steps.map(|pair| pair[1].start_s - pair[0].start_s).min()
}

fn together(
    site: &Site,
    main: &Metered,
    subs: &[&Metered],
    seen: &[f64],
    block: &Block,
) -> CommonBlock {
    let class = |meter: &Metered| site.meters[meter.meter].class_pct;
    let mut seen_kw = 0.0;
    let mut tolerance_kw = class(main).map(|class| class / 100.0 * block.kw.abs());
    for (sub, kw) in subs.iter().zip(seen) {
        seen_kw += kw;
        tolerance_kw = tolerance_kw
            .zip(class(sub))
            .map(|(sum, class)| sum + class / 100.0 * kw.abs());
    }
    CommonBlock {
        start_s: block.start_s,
        main_kw: block.kw,
        unmetered_kw: block.kw - seen_kw,
        tolerance_kw,
    }
}

fn days(site: &Site, main: &Metered, common: &[CommonBlock]) -> Vec<UnmeteredDay> {
    let zone = site.timezone;
    let day_of = |start_s: i64| clock::local(zone, start_s).day();
    let step_s = step_s(main);
    common
        .chunk_by(|a, b| day_of(a.start_s) == day_of(b.start_s))
        .map(|blocks| {
            let date = clock::date_of(day_of(blocks[0].start_s));
            let hours = step_s.map_or(0.0, |step| step as f64 / 3600.0);
            let sum =
                |value: fn(&CommonBlock) -> f64| blocks.iter().map(value).sum::<f64>() * hours;
            let remainders = || blocks.iter().map(|block| block.unmetered_kw);
            let covered_s = blocks.len() as f64 * hours * 3600.0;
            UnmeteredDay {
                date: date.to_string(),
                main_kwh: sum(|block| block.main_kw),
                unmetered_kwh: sum(|block| block.unmetered_kw),
                tolerance_kwh: blocks
                    .iter()
                    .map(|block| block.tolerance_kw)
                    .sum::<Option<f64>>()
                    .map(|sum| sum * hours),
                lowest_kw: remainders().fold(f64::INFINITY, f64::min),
                highest_kw: remainders().fold(f64::NEG_INFINITY, f64::max),
                complete: (covered_s - clock::length_of_day_s(zone, date) as f64).abs() < 0.5,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use crate::analyse::analyse;
    use crate::samples::{logs_of, meter, power_table, site};
    use site::{Measured, Node};

    /// A load of 1 or 5 kW at odd quarter-hours with 2 kW that nobody sees; the meter below stamps it an hour late.
    /// As its clock has it the unmetered part would be between −2 and 6 kW; it is 2 kW throughout.
    #[test]
    fn a_clock_an_hour_ahead_does_not_make_a_remainder() {
        let mut site = site(&["A"]);
        site.meters.push(meter("a", Measured::Node(Node::Board(0))));
        let load = |n: i64| if (n * 7919) % 13 < 4 { 5.0 } else { 1.0 };
        let above: Vec<Option<f64>> = (0..700).map(|n| Some(load(n) + 2.0)).collect();
        let below: Vec<Option<f64>> = (0..700).map(|n| Some(load(n - 4))).collect();
        let tables = [power_table(0, 900, &above), power_table(0, 900, &below)];
        let logs = logs_of(tables);
        let study = analyse(&site, &logs, Some(30)).study;
        let remainder = &study.unmetered[0];
        assert_eq!(remainder.clocks.len(), 1);
        assert!((remainder.clocks[0].ahead_min - 60.0).abs() < 1e-12);
        assert!(
            (remainder.lowest_kw - 2.0).abs() < 1e-9,
            "{}",
            remainder.lowest_kw
        );
        assert!(
            (remainder.highest_kw - 2.0).abs() < 1e-9,
            "{}",
            remainder.highest_kw
        );
        assert_eq!(remainder.demand_periods_below_zero, 0);
        // The last hour of the meter above has nothing below it.
        assert_eq!(remainder.blocks, 348);
    }

    /// 10 kW above; below 6 kW, once 10.15 kW, which two meters of class 1 explain (0.1 + 0.10 kW),
    /// and once 10.5 kW, which they do not.
    #[test]
    fn a_remainder_below_zero_counts_beyond_the_classes() {
        let mut site = site(&["A"]);
        site.meters.push(meter("a", Measured::Node(Node::Board(0))));
        for meter in &mut site.meters {
            meter.class_pct = Some(1.0);
        }
        let mut below = vec![Some(6.0); 24];
        below[3] = Some(10.15);
        below[4] = Some(10.5);
        let tables = [
            power_table(0, 3600, &[Some(10.0); 30]),
            power_table(0, 3600, &below),
        ];
        let logs = logs_of(tables);
        let study = analyse(&site, &logs, None).study;
        let remainder = &study.unmetered[0];
        assert_eq!(
            (remainder.blocks, remainder.demand_periods_below_zero),
            (24, 1)
        );
        assert!((remainder.lowest_kw + 0.5).abs() < 1e-9);
        assert!(
            remainder
                .tolerance_max_kw
                .is_some_and(|kw| (kw - 0.205).abs() < 1e-9)
        );
        assert_eq!(remainder.days.len(), 1);
        // 24 · 0.1 above; below 22 · 0.06, 0.1015 and 0.105
        let tolerance = remainder.days[0].tolerance_kwh;
        assert!(tolerance.is_some_and(|kwh| (kwh - 3.9265).abs() < 1e-9));
        // 22 · 4 − 0.15 − 0.5
        assert!((remainder.days[0].unmetered_kwh - 87.35).abs() < 1e-9);
        assert!(remainder.days[0].complete);
    }
}
