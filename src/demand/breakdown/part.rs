//! One part of a breakdown, and what the parts cost together.

use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use super::by::BreakdownBy;
use super::compared::Compared;
use super::part_details::PartDetails;

/// Key of what a register counted while nothing was logged: it has no time of its own.
pub const UNDATED: &str = "not dated";

/// Energy of one part.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct EnergyPart {
    /// What the energy is broken down by.
    #[schemars(with = "String")]
    pub by: BreakdownBy,
    /// Which part: `2026-03-09`, `2026-W11`, `2026-03`, `Monday`, `07`, `day shift`, `L1`, a board, a machine, a
    /// word of a column.
    pub key: String,
    /// The meter of the whole.
    pub meter: String,
    /// Net active energy. (kWh)
    pub energy_kwh: f64,
    /// What its energy costs, before tax; `None` without a price for all of it.
    #[serde(serialize_with = "units::serial::decimal_option")]
    #[schemars(with = "Option<f64>")]
    pub cost: Option<Decimal>,
    /// Carbon by the user's own factor; `None` where some of its energy has none. (kg)
    pub carbon_kg: Option<f64>,
    /// Are there readings for all of it? A part that is not complete is not comparable.
    pub complete: bool,
    /// Further details.
    #[serde(flatten)]
    pub details: PartDetails,
    /// The same part of another period, where one is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub compared: Option<Compared>,
    /// What it sorts by among its kind: of a period of the calendar its first day.
    #[serde(skip)]
    pub order: i64,
}

/// What the parts of one meter cost together, and what of the bill no part has.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct PartsCost {
    /// What the energy is broken down by.
    #[schemars(with = "String")]
    pub by: BreakdownBy,
    /// The meter of the whole.
    pub meter: String,
    /// Sum of the parts: the energy lines of the bill.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub energy_cost: Decimal,
    /// The other lines: standing, demand, capacity, reactive energy, power factor, tax.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub other_charges: Decimal,
    /// Both: the bill.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub total: Decimal,
}

/// Energy by parts.
#[derive(Clone, Debug, Default, PartialEq, JsonSchema, Serialize)]
pub struct Breakdown {
    /// The parts, in the order of the meters, then of the calendar or the site file.
    pub parts: Vec<EnergyPart>,
    /// What the parts of the billed meter cost together.
    pub costs: Vec<PartsCost>,
    /// Notes for the reader, one sentence each.
    pub notes: Vec<String>,
}
