//! Carbon by the user's own factor, never by one of ours.

use schemars::JsonSchema;
use serde::Serialize;

use super::meter_energy::MeterEnergy;
use metering::{CarbonFactors, Logs};
use site::Site;

/// The user's factor: one for all time, or one for each half-hour.
#[derive(Clone, Copy, Debug)]
pub(crate) enum CarbonFactor<'a> {
    Constant(f64),
    OverTime(&'a CarbonFactors),
}

impl<'a> CarbonFactor<'a> {
    /// What site.toml names; `None` where it names nothing.
    pub(crate) fn of(site: &Site, logs: &'a Logs) -> Option<CarbonFactor<'a>> {
        let over_time = logs.carbon.as_ref().map(CarbonFactor::OverTime);
        over_time.or_else(|| site.carbon_g_per_kwh.map(CarbonFactor::Constant))
    }

    /// What holds at a moment. (g/kWh)
    pub(crate) fn at(self, at_s: i64) -> Option<f64> {
        match self {
            CarbonFactor::Constant(grams) => Some(grams),
            CarbonFactor::OverTime(factors) => factors.at(at_s),
        }
    }
}

/// Carbon of the energy of each meter.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Carbon {
    /// Source of the factor.
    pub source: String,
    /// By meter with energy drawn, in the order of the site file.
    pub meters: Vec<MeterCarbon>,
}

/// Carbon of one meter's energy.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct MeterCarbon {
    /// The meter's id.
    pub meter: String,
    /// Net energy × the user's factor, over the energy that has one. (kg)
    pub carbon_kg: f64,
    /// Energy without a factor: its time has none, or it has no time. (kWh)
    pub without_factor_kwh: f64,
    /// Mean over the energy that has a factor. (g/kWh)
    pub mean_g_per_kwh: Option<f64>,
}

/// Carbon of every meter; `None` where the user gives no factor.
pub(crate) fn carbon(site: &Site, logs: &Logs, meters: &[MeterEnergy]) -> Option<Carbon> {
    let factor = CarbonFactor::of(site, logs)?;
    let drawn = |meter: &&MeterEnergy| meter.energy_kwh.is_some_and(|kwh| kwh >= 0.0);
    Some(Carbon {
        source: source(site, factor),
        meters: meters
            .iter()
            .filter(drawn)
            .map(|meter| of_meter(meter, factor))
            .collect(),
    })
}

fn of_meter(meter: &MeterEnergy, factor: CarbonFactor<'_>) -> MeterCarbon {
    let all = meter.energy_kwh.unwrap_or(0.0);
    let (kg, known) = match factor {
        CarbonFactor::Constant(grams) => (all * grams / 1000.0, all),
        CarbonFactor::OverTime(factors) => {
            let quarters = meter.trace.quarters.iter();
            quarters.fold((0.0, 0.0), |(kg, kwh), quarter| {
                match factors.at(quarter.start_s) {
                    Some(grams) => (
                        kg + quarter.energy_kwh * grams / 1000.0,
                        kwh + quarter.energy_kwh,
                    ),
                    None => (kg, kwh),
                }
            })
        }
    };
    let without = all - known;
    MeterCarbon {
        meter: meter.id.clone(),
        carbon_kg: kg,
        without_factor_kwh: if without.abs() < 1e-6 * all.abs().max(1.0) {
            0.0
        } else {
            without
        },
        mean_g_per_kwh: (known > 0.0).then(|| 1000.0 * kg / known),
    }
}

fn source(site: &Site, factor: CarbonFactor<'_>) -> String {
    match (factor, &site.carbon) {
        (CarbonFactor::OverTime(_), Some(named)) => {
            format!("factors of `{}`, column `{}`", named.file, named.column)
        }
        (CarbonFactor::Constant(grams), _) => {
            format!("factor of {grams} g/kWh in `site.toml`")
        }
        (CarbonFactor::OverTime(_), None) => "the factors of the site".to_owned(),
    }
}
