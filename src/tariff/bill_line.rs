//! One line of a bill.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

/// Part of a month for which a price by the month is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
pub struct DayShare {
    /// Days of the month under this tariff.
    pub days: u32,
    /// Days of the month.
    pub of: u32,
}

/// Quantity × rate (× share of the month), rounded.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct BillLine {
    /// `standing`, `energy day`, `energy block 1`, `demand`, `capacity`, `reactive`, `power factor`, `tax`.
    pub line: String,
    /// First local date.
    #[serde(serialize_with = "units::serial::date")]
    pub from: NaiveDate,
    /// The local date after the last.
    #[serde(serialize_with = "units::serial::date")]
    pub to: NaiveDate,
    /// How much.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub quantity: Decimal,
    /// Unit of the quantity: `kWh`, `kvarh`, `kW`, `kVA`, `days`, `kVA·days`, `%` of what is taxed.
    pub unit: String,
    /// Price of one unit; of a tax, the percentage.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub rate: Decimal,
    /// Share of a price by the month; `None`: all of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub share: Option<DayShare>,
    /// What is due.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub amount: Decimal,
    /// How the quantity comes about, where it is more than a sum.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl BillLine {
    /// How the quantity comes about and what share of a price by the month is due.
    #[must_use]
    pub fn remark(&self) -> Option<String> {
        let share = self
            .share
            .map(|share| format!("{} of {} days of the month", share.days, share.of));
        let parts: Vec<String> = share.into_iter().chain(self.note.clone()).collect();
        (!parts.is_empty()).then(|| parts.join("; "))
    }
}
