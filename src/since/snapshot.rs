//! What of a report is compared with the next.

use serde::Serialize;
use serde_json::{Value, json};

/// A report's results, as far as they are compared.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Snapshot {
    /// The site's name.
    pub site: Option<String>,
    /// The meters.
    pub meters: Vec<MeterThen>,
    /// The findings; `None` where the file does not give them.
    pub findings: Option<Vec<FindingThen>>,
    /// The machine list; `None` where the file does not give it.
    pub machines: Option<Vec<MachineThen>>,
}

/// A meter of a report.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MeterThen {
    /// Its id.
    pub id: String,
    /// What it measures.
    pub measures: Option<String>,
    /// Start and end of its readings.
    pub period: [Option<String>; 2],
    /// Time with readings. (h)
    pub covered_h: Option<f64>,
    /// Net energy. (kWh)
    pub energy_kwh: Option<f64>,
    /// Maximum demand. (kW)
    pub max_demand_kw: Option<f64>,
    /// Its block, as the report says. (min)
    pub demand_window_min: Option<f64>,
    /// Largest currents of the phases. (A)
    pub phase_max_a: Option<[f64; 3]>,
}

/// A finding of a report.
#[derive(Clone, Debug, PartialEq)]
pub struct FindingThen {
    /// Its kind, by name.
    pub kind: String,
    /// `danger`, `warning` or `notice`.
    pub severity: String,
    /// Meter, phase, node and machine, as far as they are named.
    pub at: [Option<String>; 4],
    /// Its sentence.
    pub summary: String,
    /// Its figures by name.
    pub figures: Vec<(String, f64)>,
}

/// A row of a report's machine list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MachineThen {
    /// Its name.
    pub machine: String,
    /// What it is fed from.
    pub circuit: String,
    /// How it is connected.
    pub connection: String,
    /// Rating of one, in words.
    pub rating: String,
    /// Equal machines in the row.
    pub quantity: u64,
}

/// Version of the shape of a report's JSON; a later one may mean other things by the same names.
pub(super) const SHAPE: u64 = 1;

/// The results in the shape that the next report is compared with. `meters` and `findings` are written as
/// everywhere else.
///
/// # Errors
///
/// Those of the serializer, which results do not provoke.
pub fn report_value(
    site: &str,
    meters: impl Serialize,
    findings: impl Serialize,
    machines: &[MachineThen],
) -> Result<Value, serde_json::Error> {
    let mut meters = serde_json::to_value(meters)?;
    for meter in meters.as_array_mut().into_iter().flatten() {
        if let Some(meter) = meter.as_object_mut() {
            meter.shift_remove("quality");
        }
    }
    Ok(json!({
        "report": SHAPE,
        "program": concat!("tapoff ", env!("CARGO_PKG_VERSION")),
        "site": site,
        "meters": meters,
        "findings": serde_json::to_value(findings)?,
        "machines": serde_json::to_value(machines)?,
    }))
}
