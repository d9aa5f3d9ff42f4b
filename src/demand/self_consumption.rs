//! What is generated on site: how much of it is used there, and how much is exported.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::metered::Metered;
use crate::meter::quarters::Quarter;
use site::{Measured, Site};
use units::percent_of;

/// Energy generated, used on site and exported, over the quarter-hours that all of their meters have.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct SelfConsumption {
    /// The meters of generation.
    pub meters: Vec<String>,
    /// The meter of the supply.
    pub supply: String,
    /// Time with readings of all of them. (h)
    pub hours: f64,
    /// Energy generated. (kWh)
    pub generated_kwh: f64,
    /// Energy exported. (kWh)
    pub exported_kwh: f64,
    /// Generated and used on site. (kWh)
    pub used_on_site_kwh: f64,
    /// Share of what is generated that is used on site; `None` where nothing is generated. (%)
    pub self_consumption_pct: Option<f64>,
    /// Share of what is used on site that is generated there; `None` where nothing is used. (%)
    pub self_sufficiency_pct: Option<f64>,
}

/// `None` where no generation is metered, or it cannot be compared with the supply, which is noted.
pub(super) fn self_consumption(
    site: &Site,
    metered: &[Metered],
    export_known: impl Fn(usize) -> bool,
    notes: &mut Vec<String>,
) -> Option<SelfConsumption> {
    let measures = |meter: &Metered| site.meters[meter.meter].measures;
    let generates = |meter: &&Metered| match measures(meter) {
        Measured::Machine(machine) => site.machines[machine].generates(),
        Measured::Node(_) => false,
    };
    let generators: Vec<&Metered> = metered.iter().filter(generates).collect();
    if generators.is_empty() {
        return None;
    }
    let mut supplies = metered
        .iter()
        .enumerate()
        .filter(|(_, meter)| measures(meter) == Measured::SUPPLY);
    let (Some((index, supply)), None) = (supplies.next(), supplies.next()) else {
        notes.push(
            "what is generated is not divided into used on site and exported: that needs one meter of the supply"
                .to_owned(),
        );
        return None;
    };
    let id = |meter: &Metered| site.meters[meter.meter].id.clone();
    if !export_known(index) {
        notes.push(format!(
            "what is generated is not divided into used on site and exported: meter `{}` does not show export",
            id(supply)
        ));
        return None;
    }
    let mut generated: BTreeMap<i64, (usize, f64)> = BTreeMap::new();
    for generator in &generators {
        let whole = generator.quarters.iter().filter(is_whole);
        // A meter of generation may count it either way.
        let sign = generator.energy_kwh.map_or(1.0, f64::signum);
        for quarter in whole {
            let known = generated.entry(quarter.start_s).or_default();
            known.0 += 1;
            known.1 += (sign * quarter.energy_kwh).max(0.0);
        }
    }
    let (mut hours, mut made, mut exported, mut imported) = (0.0, 0.0, 0.0, 0.0);
    for quarter in supply.quarters.iter().filter(is_whole) {
        let Some((count, kwh)) = generated.get(&quarter.start_s) else {
            continue;
        };
        if *count == generators.len() {
            hours += 0.25;
            made += kwh;
            exported += quarter.export_kwh;
            imported += quarter.import_kwh;
        }
    }
    if hours <= 0.0 {
        return None;
    }
    let used = made - exported;
    if used < 0.0 {
        notes.push(format!(
            "meter `{}` exports {} while {} are metered as generated: other generation is not metered, and what is used on site is not known",
            id(supply),
            units::format_kwh(exported),
            units::format_kwh(made)
        ));
        return None;
    }
    Some(SelfConsumption {
        meters: generators.iter().map(|meter| id(meter)).collect(),
        supply: id(supply),
        hours,
        generated_kwh: made,
        exported_kwh: exported,
        used_on_site_kwh: used,
        self_consumption_pct: percent_of(used, made),
        self_sufficiency_pct: percent_of(used, used + imported),
    })
}

fn is_whole(quarter: &Quarter) -> bool {
    quarter.covered_s > 899.5
}
