//! The meters of the supply as one, for the bill.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::meter::blocks::Block;
use crate::meter::meter_energy::MeterEnergy;
use crate::meter::quarter_hours::QuarterHours;
use crate::meter::quarters::Quarter;
use crate::meter::usage;
use tariff::{MeterBlock, Usage};

/// Two meters whose energies differ by less measure the same: common practice for a check meter next to the main meter.
const SAME_SHARE: f64 = 0.03;

/// What one meter of the supply saw.
#[derive(Clone, Debug)]
pub(crate) struct SupplyPart {
    pub(crate) meter: String,
    pub(crate) from_s: i64,
    pub(crate) to_s: i64,
    pub(crate) window_min: u32,
    pub(crate) energy_kwh: Option<f64>,
    pub(crate) quarters: Arc<QuarterHours>,
    pub(crate) blocks: Arc<[Block]>,
    /// Those of each of the meters that are added up; empty for one.
    pub(crate) meter_blocks: Vec<MeterBlock>,
    pub(crate) lagging: Option<Vec<(i64, f64)>>,
    pub(crate) leading: Option<Vec<(i64, f64)>>,
}

impl SupplyPart {
    fn usage(&self) -> Usage {
        Usage {
            meter: self.meter.clone(),
            from_s: self.from_s,
            to_s: self.to_s,
            window_min: self.window_min,
            meter_blocks: self.meter_blocks.clone(),
            ..usage::usage(
                (self.lagging.as_deref(), self.leading.as_deref()),
                &self.quarters,
                &self.blocks,
                self.energy_kwh,
            )
        }
    }
}

/// The usage of all meters, and what is to be said about it; `None` without a meter that has energy.
pub(crate) fn together(parts: &[SupplyPart]) -> Option<(Usage, Vec<String>)> {
    let mut with_energy = parts.iter().filter(|part| !part.quarters.is_empty());
    let Some(first) = with_energy.next() else {
        // A meter without energy has a bill of standing charges at most.
        return parts.first().map(|part| (part.usage(), Vec::new()));
    };
    let others: Vec<&SupplyPart> = with_energy.collect();
    if others.is_empty() {
        return Some((first.usage(), Vec::new()));
    }
    let named = |part: &&SupplyPart| {
        format!(
            "`{}` {}",
            part.meter,
            units::format_kwh(import_kwh(&part.quarters))
        )
    };
    let all: Vec<&SupplyPart> = std::iter::once(first)
        .chain(others.iter().copied())
        .collect();
    let list: Vec<String> = all.iter().map(named).collect();
    let alike = others
        .iter()
        .all(|part| same_energy(&first.quarters, &part.quarters));
    if alike {
        let said = format!(
            "{} meters measure the supply and agree within 3 %: {}; taken for the same energy, and `{}` is billed. Where they are separate supplies, make a site of each",
            all.len(),
            list.join(", "),
            first.meter
        );
        return Some((first.usage(), vec![said]));
    }
    let said = format!(
        "{} meters measure the supply: {}; the bill adds them up. Where one measures part of the other, write the board, circuit or machine that it measures under `measures`",
        all.len(),
        list.join(", ")
    );
    Some((sum(&all).usage(), vec![said]))
}

/// Which of the supply's meters make up its energy: all that have any, or the first where all measure the same.
#[must_use]
pub fn counted_meters(meters: &[&MeterEnergy]) -> Vec<usize> {
    let with_energy = |&at: &usize| !meters[at].trace.quarters.is_empty();
    let mut counted: Vec<usize> = (0..meters.len()).filter(with_energy).collect();
    if let Some((&first, others)) = counted.split_first() {
        let of = |at: usize| &meters[at].trace.quarters;
        if others.iter().all(|&at| same_energy(of(first), of(at))) {
            counted.truncate(1);
        }
    }
    counted
}

fn import_kwh(quarters: &QuarterHours) -> f64 {
    quarters.iter().map(|quarter| quarter.import_kwh).sum()
}

/// Do two meters see the same energy in nearly all quarter-hours?
fn same_energy(a: &QuarterHours, b: &QuarterHours) -> bool {
    let mut other: BTreeMap<i64, f64> = b.iter().map(|own| (own.start_s, own.import_kwh)).collect();
    let mut apart = 0.0;
    for own in a.iter() {
        apart += (own.import_kwh - other.remove(&own.start_s).unwrap_or(0.0)).abs();
    }
    apart += other.values().sum::<f64>();
    apart <= SAME_SHARE * import_kwh(a).max(import_kwh(b))
}

/// Only times at which every meter has readings are covered in full.
pub(crate) fn sum(parts: &[&SupplyPart]) -> SupplyPart {
    let mut quarters: BTreeMap<i64, (usize, Quarter)> = BTreeMap::new();
    let mut blocks: BTreeMap<i64, (usize, Block)> = BTreeMap::new();
    let mut lagging: Option<BTreeMap<i64, f64>> = None;
    let mut leading: Option<BTreeMap<i64, f64>> = None;
    for part in parts {
        for quarter in part.quarters.iter() {
            let known = quarters.entry(quarter.start_s);
            known
                .and_modify(|(count, sum)| {
                    *count += 1;
                    sum.covered_s = sum.covered_s.min(quarter.covered_s);
                    sum.energy_kwh += quarter.energy_kwh;
                    sum.import_covered_s = sum.import_covered_s.min(quarter.import_covered_s);
                    sum.import_kwh += quarter.import_kwh;
                    sum.estimated_kwh += quarter.estimated_kwh;
                    sum.export_kwh += quarter.export_kwh;
                    sum.reactive_covered_s = sum.reactive_covered_s.min(quarter.reactive_covered_s);
                    sum.reactive_kvarh += quarter.reactive_kvarh;
                })
                .or_insert((1, quarter));
        }
        for block in part.blocks.iter() {
            let known = blocks.entry(block.start_s);
            known
                .and_modify(|(count, sum)| {
                    *count += 1;
                    sum.kw += block.kw;
                    sum.kvar = sum.kvar.zip(block.kvar).map(|(a, b)| a + b);
                    sum.kva = sum.kvar.map(|kvar| kvar.hypot(sum.kw));
                })
                .or_insert((1, *block));
        }
        for (sums, own) in [(&mut lagging, &part.lagging), (&mut leading, &part.leading)] {
            for &(start, kvarh) in own.iter().flatten() {
                *sums.get_or_insert_default().entry(start).or_insert(0.0) += kvarh;
            }
        }
    }
    let whole = |count: usize| count == parts.len();
    let mut meter_blocks: Vec<MeterBlock> = Vec::new();
    for (meter, part) in parts.iter().enumerate() {
        meter_blocks.extend(part.blocks.iter().map(|block| MeterBlock {
            meter,
            meters: parts.len(),
            block: usage::block(block),
        }));
    }
    meter_blocks.sort_by_key(|own| own.block.start_s);
    let names: Vec<&str> = parts.iter().map(|part| part.meter.as_str()).collect();
    let energies: Option<Vec<f64>> = parts.iter().map(|part| part.energy_kwh).collect();
    SupplyPart {
        meter: names.join(" + "),
        from_s: parts
            .iter()
            .map(|part| part.from_s)
            .min()
            .unwrap_or_default(),
        to_s: parts.iter().map(|part| part.to_s).max().unwrap_or_default(),
        window_min: parts[0].window_min,
        energy_kwh: energies.map(|energies| energies.iter().sum()),
        quarters: Arc::new(
            quarters
                .into_values()
                .map(|(count, quarter)| {
                    let share = if whole(count) { 1.0 } else { 0.0 };
                    Quarter {
                        covered_s: share * quarter.covered_s,
                        import_covered_s: share * quarter.import_covered_s,
                        ..quarter
                    }
                })
                .collect(),
        ),
        blocks: blocks
            .into_values()
            .filter(|(count, _)| whole(*count))
            .map(|(_, block)| block)
            .collect(),
        meter_blocks,
        lagging: lagging.map(|sums| sums.into_iter().collect()),
        leading: leading.map(|sums| sums.into_iter().collect()),
    }
}
