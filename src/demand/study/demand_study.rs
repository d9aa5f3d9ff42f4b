//! The highest demand periods of a meter with what ran then, its load duration, and its peak day.

use chrono::{DateTime, FixedOffset};
use schemars::JsonSchema;
use serde::Serialize;

use super::super::clock;
use super::super::metered::Metered;
use crate::above::reconcile::submeters;
use crate::meter::blocks::Block;
use site::{Measured, Site};
use units::rank;

/// Number of highest demand periods that are reported.
const HIGHEST: usize = 10;

/// Shares of the time at which the load duration is reported. (%)
const SHARES_PCT: [f64; 11] = [
    0.0, 1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 75.0, 90.0, 95.0, 100.0,
];

/// What sets a meter's maximum demand.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct DemandStudy {
    /// The meter's id.
    pub meter: String,
    /// Length of a demand period. (min)
    pub demand_window_min: u32,
    /// Complete blocks.
    pub blocks: usize,
    /// The highest demand periods on the clock, highest first.
    pub highest_demand_periods: Vec<HighestBlock>,
    /// Largest mean over a block's length that begins with any interval. (kW)
    pub sliding_max_kw: Option<f64>,
    /// When it begins.
    #[serde(serialize_with = "units::serial::local_option")]
    pub sliding_max_at: Option<DateTime<FixedOffset>>,
    /// Demand reached or exceeded during a share of the blocks.
    pub load_duration: Vec<DurationPoint>,
    /// The local day of the highest demand period, period by period.
    #[serde(skip)]
    pub peak_day: Option<PeakDay>,
}

/// One of the highest demand periods.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct HighestBlock {
    /// Its start, local time.
    #[serde(serialize_with = "units::serial::local_option")]
    pub at: Option<DateTime<FixedOffset>>,
    /// Mean power. (kW)
    pub kw: f64,
    /// Mean apparent power. (kVA)
    pub kva: Option<f64>,
    /// What the meters below saw in it, largest first.
    pub parts: Vec<BlockPart>,
    /// What none of them saw; unknown where one of them has no reading. (kW)
    pub unmetered_kw: Option<f64>,
    /// Machines without a meter whose schedule runs at its start: they may have been on.
    pub scheduled: Vec<String>,
}

/// What a meter below saw in a block.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct BlockPart {
    /// The meter's id.
    pub meter: String,
    /// What it measures.
    pub measures: String,
    /// Mean power; unknown without all readings of the block. (kW)
    pub kw: Option<f64>,
}

/// A point of the load duration curve.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct DurationPoint {
    /// Share of the blocks. (%)
    pub share_pct: f64,
    /// Demand reached or exceeded during that share; at 0 % the largest. (kW)
    pub kw: f64,
}

/// The day of the highest demand period.
#[derive(Clone, Debug, PartialEq)]
pub struct PeakDay {
    /// Starts of its complete blocks, Unix seconds.
    pub start_s: Vec<i64>,
    /// Demand of each. (kW)
    pub kw: Vec<f64>,
    /// The meters below, the one with most energy first.
    pub parts: Vec<PeakDayPart>,
}

/// A meter below on that day.
#[derive(Clone, Debug, PartialEq)]
pub struct PeakDayPart {
    /// The meter's id.
    pub meter: String,
    /// Demand of each block; unknown without readings. (kW)
    pub kw: Vec<Option<f64>>,
}

pub(super) fn of(
    site: &Site,
    metered: &[Metered],
    meter: &Metered,
    window_min: u32,
) -> DemandStudy {
    let subs = if super::is_main(site, meter) {
        submeters(site, metered, meter)
    } else {
        Vec::new()
    };
    let mut ranked: Vec<(f64, &Block)> = meter
        .blocks
        .iter()
        .map(|block| (rank(block.kw), block))
        .collect();
    // Equal ones in order of time.
    ranked.sort_unstable_by(|(a, first), (b, second)| {
        b.total_cmp(a).then(first.start_s.cmp(&second.start_s))
    });
    let sorted: Vec<&Block> = ranked.into_iter().map(|(_, block)| block).collect();
    DemandStudy {
        meter: site.meters[meter.meter].id.clone(),
        demand_window_min: window_min,
        blocks: meter.blocks.len(),
        highest_demand_periods: sorted
            .iter()
            .take(HIGHEST)
            .map(|block| highest(site, meter, &subs, block))
            .collect(),
        sliding_max_kw: meter.sliding.map(|sliding| sliding.kw),
        sliding_max_at: meter.sliding.and_then(|sliding| sliding.at),
        load_duration: SHARES_PCT
            .into_iter()
            .filter_map(|share_pct| {
                let kw = reached(&sorted, share_pct / 100.0)?;
                Some(DurationPoint { share_pct, kw })
            })
            .collect(),
        peak_day: sorted
            .first()
            .map(|block| peak_day(site, meter, &subs, block)),
    }
}

/// Demand reached or exceeded during a share of the blocks, which are in falling order.
fn reached(falling: &[&Block], share: f64) -> Option<f64> {
    let last = falling.len().checked_sub(1)?;
    let count = (share * falling.len() as f64).ceil() as usize;
    Some(falling[count.saturating_sub(1).min(last)].kw)
}

/// Demand of a meter in the block that begins at a moment.
pub(super) fn demand_at(meter: &Metered, start_s: i64) -> Option<f64> {
    let at = meter
        .blocks
        .binary_search_by_key(&start_s, |block| block.start_s);
    at.ok().map(|index| meter.blocks[index].kw)
}

fn highest(site: &Site, main: &Metered, subs: &[&Metered], block: &Block) -> HighestBlock {
    let mut parts: Vec<BlockPart> = subs
        .iter()
        .map(|sub| BlockPart {
            meter: site.meters[sub.meter].id.clone(),
            measures: site
                .measured_name(site.meters[sub.meter].measures)
                .to_owned(),
            kw: demand_at(sub, block.start_s),
        })
        .collect();
    let seen: Option<f64> = parts.iter().map(|part| part.kw).sum();
    let weight = |part: &BlockPart| part.kw.unwrap_or(f64::NEG_INFINITY);
    parts.sort_by(|a, b| rank(weight(b)).total_cmp(&rank(weight(a))));
    HighestBlock {
        at: clock::stamp(site.timezone, block.start_s),
        kw: block.kw,
        kva: block.kva,
        unmetered_kw: seen.filter(|_| !subs.is_empty()).map(|kw| block.kw - kw),
        parts,
        scheduled: scheduled(site, main, subs, block.start_s),
    }
}

/// Machines below the main meter and below none of the others whose declared schedule runs.
fn scheduled(site: &Site, main: &Metered, subs: &[&Metered], at_s: i64) -> Vec<String> {
    let Measured::Node(node) = site.meters[main.meter].measures else {
        return Vec::new();
    };
    let Some(at) = clock::stamp(site.timezone, at_s) else {
        return Vec::new();
    };
    let is_metered = |index: usize| {
        subs.iter()
            .any(|sub| match site.meters[sub.meter].measures {
                Measured::Machine(machine) => machine == index,
                Measured::Node(below) => site.is_within(site.machines[index].tapped_off, below),
            })
    };
    let machines = site.machines.iter().enumerate();
    machines
        .filter(|&(index, machine)| {
            let runs = machine.schedule.is_some_and(|schedule| {
                site.schedules[schedule].runs_at(at.naive_local(), &site.holidays)
            });
            runs && site.is_within(machine.tapped_off, node) && !is_metered(index)
        })
        .map(|(_, machine)| machine.name.clone())
        .collect()
}

fn peak_day(site: &Site, meter: &Metered, subs: &[&Metered], highest: &Block) -> PeakDay {
    let day = |block: &Block| clock::local(site.timezone, block.start_s).day();
    // A local day is never as long as two.
    let before = |from_s: i64| meter.blocks.partition_point(|block| block.start_s < from_s);
    let near = before(highest.start_s - 2 * 86_400)..before(highest.start_s + 2 * 86_400);
    let own: Vec<&Block> = meter.blocks[near]
        .iter()
        .filter(|block| day(block) == day(highest))
        .collect();
    let mut parts: Vec<PeakDayPart> = subs
        .iter()
        .map(|sub| PeakDayPart {
            meter: site.meters[sub.meter].id.clone(),
            kw: own
                .iter()
                .map(|block| demand_at(sub, block.start_s))
                .collect(),
        })
        .filter(|part| part.kw.iter().any(Option::is_some))
        .collect();
    let energy = |part: &PeakDayPart| part.kw.iter().flatten().sum::<f64>();
    parts.sort_by(|a, b| energy(b).total_cmp(&energy(a)));
    PeakDay {
        start_s: own.iter().map(|block| block.start_s).collect(),
        kw: own.iter().map(|block| block.kw).collect(),
        parts,
    }
}

#[cfg(test)]
mod tests {
    use crate::analyse::analyse;
    use crate::samples::{logs_of, meter, power_table, site};
    use crate::{DemandStudy, EnergyResult};
    use metering::IntervalTable;
    use site::{Measured, Node};

    fn result(tables: Vec<IntervalTable>) -> EnergyResult {
        let mut site = site(&["A"]);
        site.meters.push(meter("a", Measured::Node(Node::Board(0))));
        let logs = logs_of(tables);
        analyse(&site, &logs, None)
    }

    fn main_of(result: &EnergyResult) -> &DemandStudy {
        &result.study.demand[0]
    }

    /// Twelve hours at 1 to 12 kW; the board takes half, but was not read in the last hour.
    #[test]
    fn the_ten_highest_blocks_come_first_with_what_is_known_of_them() {
        let hours = |share: f64, last: usize| -> Vec<Option<f64>> {
            (1..=12)
                .map(|hour| (hour <= last).then_some(f64::from(hour as u32) * share))
                .collect()
        };
        let result = result(vec![
            power_table(0, 3600, &hours(1.0, 12)),
            power_table(0, 3600, &hours(0.5, 11)),
        ]);
        let study = main_of(&result);
        let demands: Vec<f64> = study
            .highest_demand_periods
            .iter()
            .map(|block| block.kw)
            .collect();
        assert_eq!(demands, [12., 11., 10., 9., 8., 7., 6., 5., 4., 3.]);
        assert_eq!(study.highest_demand_periods[0].parts[0].kw, None);
        assert_eq!(study.highest_demand_periods[0].unmetered_kw, None);
        assert_eq!(study.highest_demand_periods[1].parts[0].kw, Some(5.5));
        assert_eq!(study.highest_demand_periods[1].unmetered_kw, Some(5.5));
        let at = study.highest_demand_periods[0].at.map(|at| at.to_rfc3339());
        assert_eq!(at.as_deref(), Some("1970-01-01T11:00:00+00:00"));
    }

    /// Of 1 to 100 kW, 1 % of the time is at 100 kW and 25 % at 76 kW or more.
    #[test]
    fn load_duration_counts_the_blocks_at_or_above() {
        let values: Vec<Option<f64>> = (1..=100).map(|kw| Some(f64::from(kw))).collect();
        let result = result(vec![power_table(0, 3600, &values)]);
        let at = |share: f64| {
            let points = &main_of(&result).load_duration;
            points
                .iter()
                .find(|point| (point.share_pct - share).abs() < 1e-9)
        };
        assert_eq!(at(0.0).map(|point| point.kw), Some(100.0));
        assert_eq!(at(1.0).map(|point| point.kw), Some(100.0));
        assert_eq!(at(25.0).map(|point| point.kw), Some(76.0));
        assert_eq!(at(100.0).map(|point| point.kw), Some(1.0));
    }

    #[test]
    fn the_peak_day_is_the_local_day_of_the_highest_block() {
        let mut values = vec![Some(1.0); 48];
        values[30] = Some(7.0);
        let result = result(vec![
            power_table(0, 3600, &values),
            power_table(0, 3600, &[Some(0.5); 40]),
        ]);
        let day = main_of(&result).peak_day.as_ref().expect("a peak day");
        assert_eq!((day.start_s[0], day.start_s.len()), (24 * 3600, 24));
        assert_eq!(day.parts[0].kw[15], Some(0.5));
        assert_eq!(day.parts[0].kw[16], None);
    }
}
