//! The bill of one local calendar month.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use super::bill_line::BillLine;
use super::credit::CreditBalance;
use super::marginal_kilowatt::MarginalKilowatt;

/// One month.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct BillMonth {
    /// `2026-03`; of a billing period that is no month of the calendar, its first date.
    pub month: String,
    /// First local date of the log in it.
    #[serde(serialize_with = "units::serial::date")]
    pub from: NaiveDate,
    /// The local date after the last of the log in it.
    #[serde(serialize_with = "units::serial::date")]
    pub to: NaiveDate,
    /// Readings for all of the month?
    pub complete: bool,
    /// Share of the whole month that has readings. (%)
    pub covered_pct: f64,
    /// Length of the days that are billed. (s)
    #[serde(skip)]
    pub days_s: f64,
    /// Time of those days with readings. (s)
    #[serde(skip)]
    pub covered_s: f64,
    /// Its lines.
    pub lines: Vec<BillLine>,
    /// Sum of the lines.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub total: Decimal,
    /// Credits for exported energy, where the tariff carries them from period to period.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub credits: Vec<CreditBalance>,
    /// What one kW less at the peak is worth, where demand is charged.
    pub marginal_kilowatt: Option<MarginalKilowatt>,
    /// What is not billed, and why.
    pub notes: Vec<String>,
}
