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

impl DayShare {
    /// This share of a value.
    #[must_use]
    pub fn of_value(self, value: Decimal) -> Decimal {
        value * Decimal::from(self.days) / Decimal::from(self.of)
    }
}

/// What a line is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineKind {
    /// Fixed, by the day or the month.
    Standing,
    /// Energy drawn.
    Energy,
    /// Demand.
    Demand,
    /// Agreed capacity, and what is above it.
    Capacity,
    /// Reactive energy and power factor.
    Reactive,
    /// Levies, discounts and what makes up a minimum.
    Levy,
    /// Energy exported.
    Export,
    /// Taxes.
    Tax,
}

/// Quantity × rate (× share of the month), rounded.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct BillLine {
    /// What it is for.
    #[serde(skip)]
    pub kind: LineKind,
    /// Is its rate in hundredths of its quantity?
    #[serde(skip)]
    pub percent: bool,
    /// `standing`, `energy day`, `energy block 1`, `demand`, `capacity`, `reactive`, `power factor`, `tax`; as the tariff names
    /// its band sets, demand charges, levies and taxes.
    pub line: String,
    /// The meter that it bills, where several have prices of their own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub meter: Option<String>,
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
        let share = self.share.map(|share| match share {
            DayShare { days, of: 365 } => {
                format!("{} days at 12/365 of the monthly price", days / 12)
            }
            DayShare { days, of } if days > of => {
                format!("{days} days at 1/{of} of the monthly price")
            }
            DayShare { days, of } => format!("{days} of {of} days of the month"),
        });
        let parts: Vec<String> = share.into_iter().chain(self.note.clone()).collect();
        (!parts.is_empty()).then(|| parts.join("; "))
    }
}
