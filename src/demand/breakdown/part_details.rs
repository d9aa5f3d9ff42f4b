//! Details of a part besides its energy and cost.

use schemars::JsonSchema;
use serde::Serialize;

use super::part_basis::PartBasis;
use crate::meter::meter_energy::MeterEnergy;

/// Share of a meter's energy by which a part may differ from it and still be of the same time.
const SAME_TIME: f64 = 1e-4;

/// Details of a part; `None` where it is not known or makes no sense.
#[derive(Clone, Debug, Default, PartialEq, JsonSchema, Serialize)]
pub struct PartDetails {
    /// Lagging reactive energy, if the part's time or meter gives it. (kvarh)
    pub lagging_kvarh: Option<f64>,
    /// Largest complete demand period that begins in it, or that its meter saw. (kW)
    pub max_demand_kw: Option<f64>,
    /// The same of apparent power. (kVA)
    pub max_demand_kva: Option<f64>,
    /// Where the energy comes from, for parts of the installation.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<PartBasis>,
    /// How much of it is declared, not measured. (kWh)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub estimated_kwh: Option<f64>,
    /// Boards that this one feeds and that are parts of their own.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub without: Vec<String>,
}

impl PartDetails {
    /// Where it comes from, and nothing else.
    pub(super) fn of(basis: PartBasis) -> PartDetails {
        PartDetails {
            basis: Some(basis),
            ..PartDetails::default()
        }
    }

    /// The figures of the meter that sees all of it and nothing else.
    pub(super) fn figures(meter: &MeterEnergy) -> PartDetails {
        PartDetails {
            lagging_kvarh: meter.reactive_energy_import_kvarh,
            max_demand_kw: meter.max_demand_kw,
            max_demand_kva: meter.max_demand_kva,
            ..PartDetails::default()
        }
    }

    /// Without the reactive energy of its meter where the part has another energy, of another time. (kWh)
    pub(super) fn within(mut self, kwh: f64, meter: Option<&MeterEnergy>) -> PartDetails {
        let all = meter.and_then(|meter| meter.energy_kwh);
        if all.is_none_or(|all| (all - kwh).abs() > SAME_TIME * all.abs()) {
            self.lagging_kvarh = None;
        }
        self
    }

    /// Measured, with the figures of its meter.
    pub(super) fn measured(meter: Option<&MeterEnergy>) -> PartDetails {
        PartDetails {
            basis: Some(PartBasis::Measured),
            ..meter.map_or_else(PartDetails::default, PartDetails::figures)
        }
    }
}
