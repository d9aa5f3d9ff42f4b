//! The sum of the meters of all loads, where the supply has no meter of its own.

use std::sync::Arc;

use chrono::{DateTime, FixedOffset, Utc};
use schemars::JsonSchema;
use serde::Serialize;

use super::reconcile::nearest_below;
use crate::clock;
use crate::meter::blocks::largest;
use crate::meter::demand_trace::DemandTrace;
use crate::meter::profile;
use crate::metered::Metered;
use crate::study::{WeekOfHours, week_of};
use crate::supply_together::{SupplyPart, sum};
use site::{Measured, Node, Site};
use units::Watts;

/// What all listed loads draw together, from the meter of each. What is not listed and what cables lose is not in it.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct AllLoads {
    /// Meters that are summed.
    pub meters: usize,
    /// Start of the first interval of any of them.
    #[serde(serialize_with = "units::serial::utc")]
    pub from: DateTime<Utc>,
    /// End of the last interval of any of them.
    #[serde(serialize_with = "units::serial::utc")]
    pub to: DateTime<Utc>,
    /// Net energy of all, each over the time that it has readings. (kWh)
    pub energy_kwh: f64,
    /// Largest demand period for which every meter has all readings. (kW)
    pub max_demand_kw: Option<f64>,
    /// Its start, local time.
    #[serde(serialize_with = "units::serial::local_option")]
    pub max_demand_at: Option<DateTime<FixedOffset>>,
    /// Length of a demand period. (min)
    pub demand_window_min: u32,
    /// Mean power over the time for which every meter has readings / maximum demand.
    pub load_factor: Option<f64>,
    /// Series for charts.
    #[serde(skip)]
    pub trace: DemandTrace,
    /// Mean power by weekday and hour, for charts.
    #[serde(skip)]
    pub week: Option<WeekOfHours>,
}

/// `None` where the supply has a meter, a listed machine has none above it, or there is one meter alone.
pub(crate) fn all_loads(site: &Site, metered: &[Metered], window_min: u32) -> Option<AllLoads> {
    let measures = |meter: &Metered| site.meters[meter.meter].measures;
    if metered
        .iter()
        .any(|meter| measures(meter) == Measured::SUPPLY)
    {
        return None;
    }
    let meters = nearest_below(site, metered, Node::Supply);
    let is_metered = |(index, machine): (usize, &site::Machine)| {
        meters.iter().any(|meter| match measures(meter) {
            Measured::Machine(own) => own == index,
            Measured::Node(node) => site.is_within(machine.tapped_off, node),
        })
    };
    let is_complete = !site.machines.is_empty() && site.machines.iter().enumerate().all(is_metered);
    if !is_complete || meters.len() < 2 {
        return None;
    }
    let parts: Vec<SupplyPart> = meters
        .iter()
        .map(|meter| SupplyPart {
            meter: String::new(),
            from_s: meter.from_s,
            to_s: meter.to_s,
            window_min,
            energy_kwh: meter.energy_kwh,
            quarters: Arc::clone(&meter.quarters),
            blocks: Arc::clone(&meter.blocks),
            meter_blocks: Vec::new(),
            lagging: None,
            leading: None,
        })
        .collect();
    let all = sum(&parts.iter().collect::<Vec<_>>());
    let most = largest(&all.blocks, |block| Some(block.kw));
    let covered = all
        .quarters
        .iter()
        .filter(|quarter| quarter.covered_s > 0.0);
    let (kwh, covered_s) = covered.fold((0.0, 0.0), |(kwh, covered_s), quarter| {
        (kwh + quarter.energy_kwh, covered_s + quarter.covered_s)
    });
    let mean_kw = (covered_s > 0.0).then(|| kwh * 3600.0 / covered_s);
    let load_factor = mean_kw.zip(most).and_then(|(mean_kw, (_, kw))| {
        let factor = electrical::load_factor(Watts::from_kilo(mean_kw), Watts::from_kilo(kw));
        factor.ok().flatten()
    });
    Some(AllLoads {
        meters: meters.len(),
        from: DateTime::from_timestamp(all.from_s, 0)?,
        to: DateTime::from_timestamp(all.to_s, 0)?,
        energy_kwh: all.energy_kwh?,
        max_demand_kw: most.map(|(_, kw)| kw),
        max_demand_at: most.and_then(|(block, _)| clock::stamp(site.timezone, block.start_s)),
        demand_window_min: window_min,
        load_factor,
        week: week_of(site, String::new(), &all.quarters),
        trace: profile::trace(site.timezone, &site.holidays, &all.quarters, &all.blocks),
    })
}
