//! Energy by calendar, schedule, board, machine, meter, phase or a column of the logs; the parts of a meter
//! add up to its energy, and what they cost to the energy lines of its bill.
//!
//! In: the meters as analysed, with their quarter-hours. Each file shares the quarter-hours of a meter out
//! among parts; the use and cost of a part follow from these shares alone.

mod by;
mod calendar;
mod compare;
mod compared;
mod installation;
mod part;
mod part_basis;
mod part_details;
mod phase;
mod price;
mod split;
mod word;

pub use by::BreakdownBy;
pub use compare::{Comparison, Side, compare};
pub use compared::Compared;
pub use part::{Breakdown, EnergyPart, PartsCost, UNDATED};
pub use part_basis::PartBasis;
pub use part_details::PartDetails;

use self::split::{Label, Split};
use crate::meter::carbon::CarbonFactor;
use crate::meter::meter_energy::MeterEnergy;
use metering::{Logs, MeterLog, Words};
use site::Site;
use tariff::Bill;

/// Less than this is nothing: the noise of sums. (kWh)
const TINY_KWH: f64 = 1e-6;

/// What a breakdown is made from.
#[derive(Clone, Copy, Debug)]
pub struct BreakdownInput<'a> {
    /// The site.
    pub site: &'a Site,
    /// Its logs.
    pub logs: &'a Logs,
    /// Its meters as analysed.
    pub meters: &'a [MeterEnergy],
    /// The bill of the supply.
    pub bill: Option<&'a Bill>,
}

/// A meter whose energy is shared out.
struct Whole<'a> {
    meter: &'a MeterEnergy,
    split: Split,
    /// Details of each part; empty if there are none.
    details: Vec<PartDetails>,
    /// Energy of the parts where it is more than that of their quarter-hours. (kWh)
    kwh: Option<Vec<f64>>,
}

/// The energy of every meter by parts; by board and machine that of the supply. `words`: the column, where it is by a
/// column.
#[must_use]
pub fn breakdown(
    ground: &BreakdownInput<'_>,
    by: &BreakdownBy,
    words: Option<&Words>,
) -> Breakdown {
    let mut result = Breakdown::default();
    if matches!(by, BreakdownBy::Board | BreakdownBy::Machine) {
        match installation::shared(ground, by) {
            Some(shared) => {
                result.notes = shared.notes;
                let whole = Whole {
                    meter: shared.meter,
                    split: shared.split,
                    details: shared.details,
                    kwh: None,
                };
                result.take(ground, by, &whole);
            }
            None => result.notes.push(format!(
                "no meter at the supply has energy: a breakdown by {by} is not possible"
            )),
        }
        return result;
    }
    for log in &ground.logs.meters {
        let id = &ground.site.meters[log.meter].id;
        let Some(meter) = ground.meters.iter().find(|meter| meter.id == *id) else {
            continue;
        };
        match whole(ground.site, log, meter, by, words) {
            Some(whole) => result.take(ground, by, &whole),
            None => {
                if let BreakdownBy::Column(column) = by {
                    result.notes.push(format!(
                        "meter `{id}` is excluded: it has no column `{column}`, or no energy"
                    ));
                }
            }
        }
    }
    result
}

/// One meter shared out by anything but the installation.
fn whole<'a>(
    site: &Site,
    log: &MeterLog,
    meter: &'a MeterEnergy,
    by: &BreakdownBy,
    words: Option<&Words>,
) -> Option<Whole<'a>> {
    let complete = meter.coverage_pct > 100.0 - 1e-9;
    let of = |split: Split, details: Vec<PartDetails>, kwh: Option<Vec<f64>>| Whole {
        meter,
        split,
        details,
        kwh,
    };
    Some(match by {
        BreakdownBy::Meter => {
            let split = Split::whole(&meter.id, &meter.trace.quarters, complete);
            of(
                split,
                vec![PartDetails::figures(meter)],
                Some(vec![meter.energy_kwh?]),
            )
        }
        BreakdownBy::Phase => {
            let kwh = meter.energy_kwh_by_phase?.to_vec();
            of(phase::split(log, complete), Vec::new(), Some(kwh))
        }
        BreakdownBy::Column(_) => of(word::split(log, words?, complete)?, Vec::new(), None),
        _ => {
            let split = calendar::split(site, meter, by);
            let details = calendar::details(meter, &split);
            of(split, details, None)
        }
    })
}

impl Breakdown {
    /// Adds the parts of a whole.
    fn take(&mut self, ground: &BreakdownInput<'_>, by: &BreakdownBy, whole: &Whole<'_>) {
        let meter = whole.meter;
        let sums = whole.kwh.clone().unwrap_or_else(|| whole.split.sums());
        let costs = price::costs(ground, whole);
        let carbon = CarbonFactor::of(ground.site, ground.logs)
            .filter(|_| meter.energy_kwh.is_some_and(|kwh| kwh >= 0.0))
            .map(|factor| whole.split.carbon_kg(factor, &sums));
        let part = |at: usize, label: &Label| EnergyPart {
            by: by.clone(),
            key: label.key.clone(),
            meter: meter.id.clone(),
            energy_kwh: sums[at],
            cost: costs.as_ref().and_then(|costs| costs.parts[at]),
            carbon_kg: carbon.as_ref().and_then(|carbon| carbon[at]),
            complete: label.complete,
            order: label.order,
            details: whole.details.get(at).cloned().unwrap_or_default(),
            compared: None,
        };
        let labels = whole.split.labels.iter().enumerate();
        self.parts.extend(labels.map(|(at, label)| part(at, label)));
        let dated: f64 = sums.iter().sum();
        if let Some(all) = meter.energy_kwh.filter(|_| whole.kwh.is_none())
            && (all - dated).abs() > 1e-6 * all.abs().max(1.0)
        {
            self.parts.push(EnergyPart {
                by: by.clone(),
                key: UNDATED.to_owned(),
                meter: meter.id.clone(),
                energy_kwh: all - dated,
                cost: None,
                carbon_kg: None,
                complete: false,
                order: i64::MAX,
                details: PartDetails::default(),
                compared: None,
            });
        }
        let bill = ground.bill.filter(|bill| bill.meter == meter.id);
        if let (Some(bill), Some(costs)) = (bill, costs)
            && costs.parts.iter().all(Option::is_some)
        {
            self.costs.push(PartsCost {
                by: by.clone(),
                meter: meter.id.clone(),
                energy_cost: costs.total,
                other_charges: bill.total - costs.total,
                total: bill.total,
            });
        }
    }
}
