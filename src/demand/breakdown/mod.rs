//! Energy by calendar, schedule, board, machine, meter, phase or a column of the logs; the parts of a meter
//! add up to its energy, and what they cost to the energy lines of its bill.
//!
//! In: the meters as analysed, with their quarter-hours. Each file shares the quarter-hours of a meter out
//! among parts; what a part uses, costs and needs is told from these shares alone.

mod by;
mod calendar;
mod part;
mod split;
mod word;

pub use by::BreakdownBy;
pub use part::{Breakdown, EnergyPart, PartBasis, PartsCost, UNDATED};

use self::split::{Label, Split};
use super::result::MeterEnergy;
use crate::metering::{Logs, MeterLog, Words};
use crate::site::Site;

/// What a breakdown is made from.
#[derive(Clone, Copy, Debug)]
pub struct Ground<'a> {
    /// The site.
    pub site: &'a Site,
    /// Its logs.
    pub logs: &'a Logs,
    /// Its meters as analysed.
    pub meters: &'a [MeterEnergy],
}

/// The energy of every meter by parts. `words`: the column, where it is by a column.
#[must_use]
pub fn breakdown(ground: &Ground<'_>, by: &BreakdownBy, words: Option<&Words>) -> Breakdown {
    let mut result = Breakdown::default();
    for log in &ground.logs.meters {
        let id = &ground.site.meters[log.meter].id;
        let Some(meter) = ground.meters.iter().find(|meter| meter.id == *id) else {
            continue;
        };
        of_meter(ground.site, log, meter, by, words, &mut result);
    }
    result
}

/// The parts of one meter.
fn of_meter(
    site: &Site,
    log: &MeterLog,
    meter: &MeterEnergy,
    by: &BreakdownBy,
    words: Option<&Words>,
    result: &mut Breakdown,
) {
    let complete = meter.coverage_pct > 100.0 - 1e-9;
    let split = match by {
        BreakdownBy::Meter => {
            result.parts.extend(
                meter
                    .energy_kwh
                    .map(|kwh| part(meter, by, &meter.id, kwh, complete)),
            );
            return;
        }
        BreakdownBy::Phase => {
            let phases = ["L1", "L2", "L3"].into_iter();
            let kwh = meter.energy_kwh_by_phase.into_iter().flatten();
            let parts = phases.zip(kwh);
            result
                .parts
                .extend(parts.map(|(phase, kwh)| part(meter, by, phase, kwh, complete)));
            return;
        }
        BreakdownBy::Column(column) => {
            let found = words.and_then(|words| word::split(log, words, complete));
            let Some(found) = found else {
                result.notes.push(format!(
                    "meter `{}` is left out: it has no column `{column}`, or no energy",
                    meter.id
                ));
                return;
            };
            found
        }
        _ => calendar::split(site, meter, by),
    };
    result.parts.extend(parts(meter, by, &split));
}

/// The parts of a split, and what has no time of its own.
fn parts(meter: &MeterEnergy, by: &BreakdownBy, split: &Split) -> Vec<EnergyPart> {
    let sums = split.sums();
    let dated: f64 = sums.iter().sum();
    let told = |(label, &kwh): (&Label, &f64)| EnergyPart {
        order: label.order,
        ..part(meter, by, &label.key, kwh, label.complete)
    };
    let mut parts: Vec<EnergyPart> = split.labels.iter().zip(&sums).map(told).collect();
    if let Some(all) = meter.energy_kwh
        && (all - dated).abs() > 1e-6 * all.abs().max(1.0)
    {
        parts.push(part(meter, by, UNDATED, all - dated, false));
    }
    parts
}

fn part(
    meter: &MeterEnergy,
    by: &BreakdownBy,
    key: &str,
    energy_kwh: f64,
    complete: bool,
) -> EnergyPart {
    EnergyPart {
        by: by.clone(),
        key: key.to_owned(),
        meter: meter.id.clone(),
        energy_kwh,
        lagging_kvarh: None,
        max_demand_kw: None,
        max_demand_kva: None,
        cost: None,
        complete,
        basis: None,
        declared_kwh: None,
        without: Vec::new(),
        order: i64::MAX,
    }
}
