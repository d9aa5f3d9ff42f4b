//! One meter against those below it.

use schemars::JsonSchema;
use serde::Serialize;

/// One meter against those below it.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Reconciliation {
    /// The meter above.
    pub main: String,
    /// The nearest meters below it, except those that show export from a load.
    pub submeters: Vec<String>,
    /// What the meter above has seen beyond those below. (kWh)
    pub unmetered_kwh: f64,
    /// The same as a share of the meter above. (%)
    pub unmetered_pct: Option<f64>,
}
