//! A part compared with the same part of another period.

use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

/// A part compared with the same part of the other period.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Compared {
    /// What the other part is called: of a day, week or month its own name.
    pub key: String,
    /// Its energy. (kWh)
    pub energy_kwh: f64,
    /// What it costs.
    #[serde(serialize_with = "units::serial::decimal_option")]
    #[schemars(with = "Option<f64>")]
    pub cost: Option<Decimal>,
    /// This part less the other; `None` where one of them lacks readings. (kWh)
    pub difference_kwh: Option<f64>,
    /// The same as a share of the other. (%)
    pub difference_pct: Option<f64>,
    /// What it costs more, where both have a price.
    #[serde(serialize_with = "units::serial::decimal_option")]
    #[schemars(with = "Option<f64>")]
    pub difference_cost: Option<Decimal>,
}
