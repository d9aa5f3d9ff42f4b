//! Energy, demand and unbalance of one meter.

use chrono::{DateTime, FixedOffset, Utc};
use schemars::JsonSchema;
use serde::Serialize;

use super::basis::FigureBasis;
use super::demand_trace::DemandTrace;
use metering::{QualityEntry, RegisterCheck};

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
    /// Energy imported: the sum of the intervals in which energy is imported, or of the import register. (kWh)
    pub energy_import_kwh: Option<f64>,
    /// Energy exported; `None` where the log does not show it. (kWh)
    pub energy_export_kwh: Option<f64>,
    /// Share of the energy that the source marks as estimated or substituted; `None` where it marks nothing. (%)
    pub estimated_pct: Option<f64>,
    /// The same per phase. (kWh)
    pub energy_kwh_by_phase: Option<[f64; 3]>,
    /// Net energy of the log as it is, where faults of the meter are corrected or left out above. (kWh)
    pub energy_kwh_as_logged: Option<f64>,
    /// The same per phase. (kWh)
    pub energy_kwh_by_phase_as_logged: Option<[f64; 3]>,
    /// Maximum demand of the log as it is, likewise. (kW)
    pub max_demand_kw_as_logged: Option<f64>,
    /// Neutral, rms over time, of the log as it is, likewise. (A)
    pub neutral_rms_a_as_logged: Option<f64>,
    /// Largest interval mean of the neutral, of the log as it is, likewise. (A)
    pub neutral_max_a_as_logged: Option<f64>,
    /// Energy from the cumulative register. (kWh)
    pub register_energy_kwh: Option<f64>,
    /// The register against the power, over the time that both saw; `None` unless both are logged.
    pub register_check: Option<RegisterCheck>,
    /// Reactive energy imported (lagging). (kvarh)
    pub reactive_energy_import_kvarh: Option<f64>,
    /// Reactive energy exported (leading). (kvarh)
    pub reactive_energy_export_kvarh: Option<f64>,
    /// Largest complete demand period. (kW)
    pub max_demand_kw: Option<f64>,
    /// Start of that block, local time with offset.
    #[serde(serialize_with = "units::serial::local_option")]
    pub max_demand_at: Option<DateTime<FixedOffset>>,
    /// Largest complete demand period of apparent power, √(kWh² + kvarh²)/h. (kVA)
    pub max_demand_kva: Option<f64>,
    /// Length of a demand period. (min)
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
    /// Problems, worst first.
    pub quality: Vec<QualityEntry>,
    /// Series for charts.
    #[serde(skip)]
    pub trace: DemandTrace,
}
