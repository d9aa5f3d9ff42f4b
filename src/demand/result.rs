//! Energy, demand and quality of each meter, ready for text, JSON, charts and the report.

use schemars::JsonSchema;
use serde::Serialize;

use super::breakdown::{Breakdown, Comparison, EnergyPart, PartsCost};
use super::self_consumption::SelfConsumption;
use super::study::LoadStudy;
use crate::above::all_loads::AllLoads;
use crate::above::reconciliation::Reconciliation;
use crate::meter::carbon::Carbon;
use crate::meter::meter_energy::MeterEnergy;
use baseline::Change;
use since::Since;
use tariff::{Bill, CostDay};

/// Energy of one machine, from its meter or its declaration.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct MachineEnergy {
    /// The machine's name.
    pub machine: String,
    /// Energy over the analysis intervals. (kWh)
    pub energy_kwh: f64,
    /// Where it comes from.
    pub basis: units::Basis,
}

impl EnergyResult {
    /// Adds the energy by parts.
    pub fn add(&mut self, breakdown: Breakdown) {
        self.breakdown
            .get_or_insert_default()
            .extend(breakdown.parts);
        self.breakdown_costs.extend(breakdown.costs);
        for note in breakdown.notes {
            if !self.breakdown_notes.contains(&note) {
                self.breakdown_notes.push(note);
            }
        }
    }
}

/// The whole answer of `energy`.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct EnergyResult {
    /// One entry per meter, in the order of the site file.
    pub meters: Vec<MeterEnergy>,
    /// The sum of the meters of all loads; `None` where the supply has a meter, or a load has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub all_loads: Option<AllLoads>,
    /// Main against sub-meters.
    pub reconciliation: Vec<Reconciliation>,
    /// What is generated, used on site and exported, where generation has a meter of its own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub self_consumption: Option<SelfConsumption>,
    /// What it costs; `None` without a tariff, or without readings of the supply.
    pub cost: Option<Bill>,
    /// What the bill has come to at the end of each day of the log.
    pub cost_by_day: Vec<CostDay>,
    /// Carbon by the user's own factor; `None` where the user gives none.
    pub carbon: Option<Carbon>,
    /// The energy by parts, where it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub breakdown: Option<Vec<EnergyPart>>,
    /// The two periods compared.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub comparison: Option<Comparison>,
    /// What the parts of the billed meter cost together.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub breakdown_costs: Vec<PartsCost>,
    /// Notes on the parts, one sentence each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub breakdown_notes: Vec<String>,
    /// What sets the maximum, what is used out of hours, and how it hangs together.
    #[serde(flatten)]
    pub study: LoadStudy,
    /// The days compared with their baseline, and unusual days.
    #[serde(flatten)]
    pub change: Change,
    /// What has changed since the last report, where one was named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub since: Option<Since>,
    /// Assumptions and problems in the data, one sentence each.
    pub notes: Vec<String>,
}
