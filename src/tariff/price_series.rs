//! Prices of energy over time, as a file has them.

use rust_decimal::Decimal;

/// Prices of energy, each from its moment on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PriceSeries {
    /// What their line is called.
    name: String,
    /// Start of each, Unix seconds, ascending, and the price. (currency/kWh)
    prices: Vec<(i64, Decimal)>,
    /// How long the last one holds, and the longest that any does. (s)
    step_s: i64,
}

impl PriceSeries {
    /// Ascending prices. Each holds until the next, but no longer than the shortest distance of two.
    #[must_use]
    pub fn new(name: &str, prices: Vec<(i64, Decimal)>) -> PriceSeries {
        let steps = prices.windows(2).map(|pair| pair[1].0 - pair[0].0);
        PriceSeries {
            name: name.to_owned(),
            step_s: steps.min().unwrap_or(3600),
            prices,
        }
    }

    /// What their line is called.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The price at a moment; `None` where the file has none. (currency/kWh)
    #[must_use]
    pub fn at(&self, at_s: i64) -> Option<Decimal> {
        let after = self.prices.partition_point(|(start_s, _)| *start_s <= at_s);
        let (start_s, price) = self.prices[..after].last()?;
        (at_s - start_s < self.step_s).then_some(*price)
    }
}
