//! Energy, demand and quality of each meter, ready for text, JSON, charts and the report.

use chrono::{DateTime, FixedOffset, Utc};
use schemars::JsonSchema;
use serde::Serialize;

use super::breakdown::{Breakdown, Comparison, EnergyPart, PartsCost};
use super::study::LoadStudy;
use crate::meter::basis::FigureBasis;
use crate::meter::carbon::Carbon;
use crate::meter::quarters::Quarter;
use baseline::Change;
use metering::{QualityEntry, RegisterCheck};
use since::Since;
use tariff::{Bill, CostDay};

/// Energy, demand and unbalance of one meter.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct MeterEnergy {
    /// The meter's id.
    pub id: String,
    /// What it measures: `supply`, a board, a circuit or a machine.
    pub measures: String,
    /// Start of the first interval.
    #[serde(serialize_with = "units::serial::utc")]
    pub from: DateTime<Utc>,
    /// End of the last interval.
    #[serde(serialize_with = "units::serial::utc")]
    pub to: DateTime<Utc>,
    /// Base interval. (s)
    pub interval_s: u32,
    /// Number of intervals with readings.
    pub intervals: usize,
    /// Net energy drawn: integral of active power, or sum of interval energies. (kWh)
    pub energy_kwh: Option<f64>,
    /// The same per phase. (kWh)
    pub energy_kwh_by_phase: Option<[f64; 3]>,
    /// Energy from the cumulative register. (kWh)
    pub register_energy_kwh: Option<f64>,
    /// The register against the power, over the time that both saw; `None` unless both are logged.
    pub register_check: Option<RegisterCheck>,
    /// Reactive energy imported (lagging). (kvarh)
    pub reactive_energy_import_kvarh: Option<f64>,
    /// Reactive energy exported (leading). (kvarh)
    pub reactive_energy_export_kvarh: Option<f64>,
    /// Largest complete demand block. (kW)
    pub max_demand_kw: Option<f64>,
    /// Start of that block, local time with offset.
    #[serde(serialize_with = "units::serial::local_option")]
    pub max_demand_at: Option<DateTime<FixedOffset>>,
    /// Largest complete demand block of apparent power, √(kWh² + kvarh²)/h. (kVA)
    pub max_demand_kva: Option<f64>,
    /// Length of a demand block. (min)
    pub demand_window_min: u32,
    /// Mean power over the covered time / maximum demand.
    pub load_factor: Option<f64>,
    /// kWh/√(kWh² + (import − export kvarh)²).
    pub power_factor: Option<f64>,
    /// Rms over time of the neutral: measured where logged, else computed. (A)
    pub neutral_rms_a: Option<f64>,
    /// Largest interval mean of the neutral: measured where logged, else computed. (A)
    pub neutral_max_a: Option<f64>,
    /// Rms over time of the neutral computed from the phase currents. (A)
    pub neutral_computed_rms_a: Option<f64>,
    /// Largest sample of the measured neutral, where samples are faster than the interval. (A)
    pub neutral_sample_max_a: Option<f64>,
    /// Rms over time of each phase current. (A)
    pub phase_rms_a: Option<[f64; 3]>,
    /// Largest interval mean of each phase current. (A)
    pub phase_max_a: Option<[f64; 3]>,
    /// Mean current unbalance. (%)
    pub current_unbalance_mean_pct: Option<f64>,
    /// 95th percentile of the current unbalance. (%)
    pub current_unbalance_p95_pct: Option<f64>,
    /// 95th percentile of the negative-sequence voltage unbalance. (%)
    pub voltage_unbalance_p95_pct: Option<f64>,
    /// Share of the time from first to last reading that has readings. (%)
    pub coverage_pct: f64,
    /// Where the figures come from.
    pub basis: FigureBasis,
    /// Oddities, worst first.
    pub quality: Vec<QualityEntry>,
    /// Series for charts.
    #[serde(skip)]
    pub trace: DemandTrace,
}

/// Series of one meter, for charts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DemandTrace {
    /// Stretches with readings: start and end, Unix seconds, ascending.
    pub covered_s: Vec<(i64, i64)>,
    /// Quarter-hours with readings, ascending.
    pub quarters: Vec<Quarter>,
    /// Lagging energy by quarter-hour, as (start, kvarh); none where only registers tell it.
    pub lagging_kvarh: Vec<(i64, f64)>,
    /// Starts of the complete demand blocks, Unix seconds, ascending.
    pub block_start_s: Vec<i64>,
    /// Mean power of each block. (kW)
    pub block_kw: Vec<f64>,
    /// Mean apparent power of each block, unknown where reactive energy is incomplete. (kVA)
    pub block_kva: Vec<Option<f64>>,
    /// Mean power by local quarter-hour of the day (96 values, none without power) on working days:
    /// Monday to Friday without the site's holidays. Only complete quarter-hours count. (kW)
    pub weekday_profile_kw: Vec<Option<f64>>,
    /// The same on Saturdays, Sundays and holidays. (kW)
    pub weekend_profile_kw: Vec<Option<f64>>,
    /// Largest quarter-hour by local quarter-hour of the day over all days. (kW)
    pub highest_profile_kw: Vec<Option<f64>>,
    /// Local days with readings, ascending; a day may have 92, 96 or 100 quarter-hours.
    pub days: Vec<DayEnergy>,
}

/// Energy of one local day.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct DayEnergy {
    /// Local date, ISO 8601.
    pub date: String,
    /// Net energy. (kWh)
    pub energy_kwh: f64,
    /// False where part of the day has no readings.
    pub complete: bool,
}

/// One meter against those below it.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Reconciliation {
    /// The meter above.
    pub main: String,
    /// The nearest meters below it, except those that show a consumer giving energy.
    pub submeters: Vec<String>,
    /// What the meter above has seen beyond those below. (kWh)
    pub unmetered_kwh: f64,
    /// The same as a share of the meter above. (%)
    pub unmetered_pct: Option<f64>,
}

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
    /// Main against sub-meters.
    pub reconciliation: Vec<Reconciliation>,
    /// What it costs; `None` without a tariff, or without readings of the supply.
    pub cost: Option<Bill>,
    /// What the bill has come to at the end of each day of the log.
    pub cost_by_day: Vec<CostDay>,
    /// Carbon by the user's own factor; `None` where the user gives none.
    pub carbon: Option<Carbon>,
    /// The energy by parts, where it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub breakdown: Option<Vec<EnergyPart>>,
    /// The two periods whose parts stand side by side.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub comparison: Option<Comparison>,
    /// What the parts of the billed meter cost together.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub breakdown_costs: Vec<PartsCost>,
    /// What must be known of the parts, one sentence each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub breakdown_notes: Vec<String>,
    /// What sets the maximum, what is used when nobody is there, and how it hangs together.
    #[serde(flatten)]
    pub study: LoadStudy,
    /// The days beside their baseline, and those that stand out.
    #[serde(flatten)]
    pub change: Change,
    /// What has changed since the last report, where one was named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub since: Option<Since>,
    /// Assumptions and oddities the reader must know, one sentence each.
    pub notes: Vec<String>,
}
