//! How a contract rounds quantities and amounts.

use rust_decimal::{Decimal, RoundingStrategy};

use super::money;

/// What becomes of digits that are too many.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RoundingWay {
    /// The nearest; halves away from zero.
    HalfUp,
    /// The nearest; halves to the even digit.
    HalfEven,
    /// Towards zero.
    Down,
    /// Away from zero.
    Up,
}

impl RoundingWay {
    /// A value to so many decimals.
    #[must_use]
    pub fn round(self, value: Decimal, decimals: u32) -> Decimal {
        let strategy = match self {
            RoundingWay::HalfUp => RoundingStrategy::MidpointAwayFromZero,
            RoundingWay::HalfEven => RoundingStrategy::MidpointNearestEven,
            RoundingWay::Down => RoundingStrategy::ToZero,
            RoundingWay::Up => RoundingStrategy::AwayFromZero,
        };
        let mut value = value.round_dp_with_strategy(decimals, strategy);
        value.rescale(decimals);
        value
    }

    fn words(self) -> &'static str {
        match self {
            RoundingWay::HalfUp => "exact halves are rounded away from zero",
            RoundingWay::HalfEven => "exact halves are rounded to the even digit",
            RoundingWay::Down => "further digits are cut off",
            RoundingWay::Up => "further digits are rounded away from zero",
        }
    }
}

/// How a contract rounds quantities and amounts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rounding {
    /// Decimals of a quantity.
    pub quantity_decimals: u32,
    /// What becomes of its further digits.
    pub quantities: RoundingWay,
    /// Decimals of an amount; `None`: those of the currency.
    pub amount_decimals: Option<u32>,
    /// What becomes of its further digits.
    pub amounts: RoundingWay,
}

impl Default for Rounding {
    fn default() -> Rounding {
        Rounding {
            quantity_decimals: money::QUANTITY_DECIMALS,
            quantities: RoundingWay::HalfUp,
            amount_decimals: None,
            amounts: RoundingWay::HalfUp,
        }
    }
}

impl Rounding {
    /// A measured quantity.
    pub(super) fn measured(&self, value: f64) -> Option<Decimal> {
        money::read(value).map(|value| self.quantity(value))
    }

    /// A quantity.
    pub(super) fn quantity(&self, value: Decimal) -> Decimal {
        self.quantities.round(value, self.quantity_decimals)
    }

    /// An amount of a currency.
    pub(super) fn amount(&self, value: Decimal, currency: Option<&str>) -> Decimal {
        let decimals = self
            .amount_decimals
            .unwrap_or_else(|| money::decimals_of(currency));
        self.amounts.round(value, decimals)
    }

    /// In words.
    #[must_use]
    pub fn sentence(&self, currency: Option<&str>) -> String {
        let unit = currency.unwrap_or("the currency");
        let decimals = self
            .amount_decimals
            .unwrap_or_else(|| money::decimals_of(currency));
        let amounts = match decimals {
            0 => "whole units".to_owned(),
            decimals => format!("{decimals} decimals"),
        };
        let quantities = self.quantity_decimals;
        if self.quantities == self.amounts {
            return format!(
                "quantities are rounded to {quantities} decimals, then each amount to {amounts} of {unit}, {}; a total is the sum of its rounded lines",
                self.amounts.words()
            );
        }
        format!(
            "quantities are rounded to {quantities} decimals ({}), then each amount to {amounts} of {unit} ({}); a total is the sum of its rounded lines",
            self.quantities.words(),
            self.amounts.words()
        )
    }
}
