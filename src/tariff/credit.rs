//! Credits for exported energy: what a billing period earns, uses and leaves to the next.

use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use super::band_heads::heads;
use super::net_metering::NetMetering;
use super::sums::EnergySums;
use super::tariff::{EnergyRates, Tariff};

/// The line of a credit in money.
pub(super) const MONEY: &str = "credit";

/// A credit over a billing period.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct CreditBalance {
    /// The energy line that it is deducted from; `credit`: money.
    pub line: String,
    /// `kWh`, or the currency.
    pub unit: String,
    /// From the period before.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub brought_forward: Decimal,
    /// By export in the period.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub earned: Decimal,
    /// Deducted in the period.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub used: Decimal,
    /// Ended with the period, paid out or not.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub settled: Decimal,
    /// To the next period.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub carried_forward: Decimal,
}

impl CreditBalance {
    /// In words, for people.
    #[must_use]
    pub fn sentence(&self) -> String {
        let unit = &self.unit;
        let settled = if self.settled.is_zero() {
            String::new()
        } else {
            format!(", {} {unit} settled", self.settled)
        };
        format!(
            "credit of `{}`: {} {unit} brought forward, {} {unit} earned, {} {unit} used{settled}, {} {unit} carried forward",
            self.line, self.brought_forward, self.earned, self.used, self.carried_forward
        )
    }
}

/// A credit in kWh of one energy line, before what is left of it is carried on.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LineCredit {
    /// The price of energy, and the first band of the line.
    pub(super) set: String,
    pub(super) head: usize,
    /// Name of the line.
    pub(super) line: String,
    pub(super) brought: Decimal,
    pub(super) earned: Decimal,
    pub(super) used: Decimal,
}

impl LineCredit {
    fn left(&self) -> Decimal {
        self.brought + self.earned - self.used
    }
}

/// What is carried from one period to the next, by line.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct CarriedCredit {
    left: Vec<(String, Decimal)>,
    is_open: bool,
}

impl CarriedCredit {
    /// The credit of a line.
    pub(super) fn of(&self, line: &str) -> Decimal {
        let known = self.left.iter().find(|(own, _)| own == line);
        known.map_or(Decimal::ZERO, |(_, left)| *left)
    }

    pub(super) fn set(&mut self, line: &str, value: Decimal) {
        match self.left.iter_mut().find(|(own, _)| own == line) {
            Some((_, left)) => *left = value,
            None => self.left.push((line.to_owned(), value)),
        }
    }

    /// What the energy lines of a run of days can deduct and do deduct; what is left is carried on.
    pub(super) fn deduct(&mut self, tariff: &Tariff, sums: &EnergySums) -> Vec<LineCredit> {
        let Some(net) = &tariff.net_metering else {
            return Vec::new();
        };
        let mut found: Vec<LineCredit> = Vec::new();
        let read = |kwh: f64| tariff.rounding.measured(kwh).unwrap_or_default();
        let sets = tariff.sets().zip(&sums.sets);
        for ((set, rates), sums) in sets.filter(|((set, _), _)| net.nets(set)) {
            for (head, line, bands) in lines_of(set, rates) {
                if !self.is_open {
                    self.set(&line, net.opening);
                    self.is_open = true;
                }
                let of = |kwh: &[f64]| read(bands.iter().map(|&band| kwh[band]).sum());
                let (brought, earned) = (self.of(&line), of(&sums.band_export_kwh));
                let own = LineCredit {
                    used: of(&sums.band_kwh).min(brought + earned),
                    set: set.to_owned(),
                    head,
                    line,
                    brought,
                    earned,
                };
                self.set(&own.line, own.left());
                found.push(own);
            }
        }
        found
    }

    /// What is brought forward in money.
    pub(super) fn money(&mut self, net: &NetMetering) -> Decimal {
        if !self.is_open {
            self.set(MONEY, net.opening);
            self.is_open = true;
        }
        self.of(MONEY)
    }

    /// All of it ends; what was left of each line.
    pub(super) fn settle(&mut self) -> Vec<(String, Decimal)> {
        let ended = self.left.clone();
        for (_, left) in &mut self.left {
            *left = Decimal::ZERO;
        }
        ended
    }
}

/// The lines of a price of energy: first band, name and all bands of each.
fn lines_of(set: &str, rates: &EnergyRates) -> Vec<(usize, String, Vec<usize>)> {
    let EnergyRates::Bands(table) = rates else {
        return vec![(0, set.to_owned(), vec![0])];
    };
    let heads = heads(table.bands());
    let mut lines: Vec<(usize, String, Vec<usize>)> = Vec::new();
    for (at, (head, band)) in heads.into_iter().zip(table.bands()).enumerate() {
        match lines.iter_mut().find(|(own, ..)| *own == head) {
            Some((.., bands)) => bands.push(at),
            None => lines.push((head, format!("{set} {}", band.name), vec![at])),
        }
    }
    lines
}
