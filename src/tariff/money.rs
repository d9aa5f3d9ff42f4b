//! Decimals: how quantities become them, how amounts are rounded.

use rust_decimal::{Decimal, RoundingStrategy};

/// Decimals that a quantity of the bill is rounded to.
pub const QUANTITY_DECIMALS: u32 = 3;
/// Decimals that a measured number is read to before it is rounded, so that the noise of binary sums, far
/// below, never decides a half.
const READ_DECIMALS: usize = 6;

/// A measured number as a decimal of six places; `None` beyond what decimals hold.
#[must_use]
pub fn read(value: f64) -> Option<Decimal> {
    format!("{value:.READ_DECIMALS$}").parse().ok()
}

/// A measured quantity as it appears on the bill: three places, halves away from zero.
///
/// ```
/// use tariff::money::quantity;
///
/// // 0.1 + 0.2 is a little more than 0.3 in binary numbers, 1.0005 a little less.
/// assert_eq!(quantity(0.1 + 0.2).map(|kwh| kwh.to_string()).as_deref(), Some("0.300"));
/// assert_eq!(quantity(1.0005).map(|kwh| kwh.to_string()).as_deref(), Some("1.001"));
/// ```
#[must_use]
pub fn quantity(value: f64) -> Option<Decimal> {
    read(value).map(|value| rounded(value, QUANTITY_DECIMALS))
}

/// A decimal as a binary number.
pub(super) fn float(value: Decimal) -> f64 {
    value.to_string().parse().unwrap_or(f64::NAN)
}

/// Halves away from zero.
#[must_use]
pub fn rounded(value: Decimal, decimals: u32) -> Decimal {
    let mut value = value.round_dp_with_strategy(decimals, RoundingStrategy::MidpointAwayFromZero);
    value.rescale(decimals);
    value
}

/// Decimals of a currency's smaller unit (ISO 4217, from memory); two if it is not known.
///
/// ```
/// use tariff::money::decimals_of;
///
/// assert_eq!((decimals_of(Some("EUR")), decimals_of(Some("JPY")), decimals_of(None)), (2, 0, 2));
/// ```
#[must_use]
pub fn decimals_of(currency: Option<&str>) -> u32 {
    match currency {
        Some(
            "BIF" | "CLP" | "DJF" | "GNF" | "ISK" | "JPY" | "KMF" | "KRW" | "PYG" | "RWF" | "UGX"
            | "VND" | "VUV" | "XAF" | "XOF" | "XPF",
        ) => 0,
        Some("BHD" | "IQD" | "JOD" | "KWD" | "LYD" | "OMR" | "TND") => 3,
        _ => 2,
    }
}
