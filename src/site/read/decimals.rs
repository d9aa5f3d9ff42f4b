//! Decimals of a TOML table, taken from its own text: money never passes through a binary number.

use rust_decimal::Decimal;
use toml::Spanned;
use toml::de::DeValue;

use super::table::{Located, SiteTable, number_range};
use message::Message;

impl SiteTable<'_, '_> {
    /// A decimal within a range.
    pub(crate) fn decimal(&self, key: &'static str) -> Option<Decimal> {
        self.located_decimal(key).map(|found| found.value)
    }

    /// A decimal within a range, with its place.
    pub(crate) fn located_decimal(&self, key: &'static str) -> Option<Located<Decimal>> {
        let value = self.get(key)?;
        let declared = self.key(key);
        let (low, high) = number_range(declared).into_inner();
        // The ends of a declared range are whole numbers.
        let end = |number: f64| Decimal::from(number as i64);
        let range = end(low)..=end(high);
        let unit = declared.unit;
        let Some(number) = decimal_of(value) else {
            self.wrong_type(
                key,
                &value.span(),
                "a decimal number of at most 28 digits",
                value.get_ref(),
            );
            return None;
        };
        if range.contains(&number) {
            return Some(Located {
                value: number,
                span: value.span(),
            });
        }
        let unit = if unit.is_empty() {
            String::new()
        } else {
            format!(" {unit}")
        };
        self.source.push(
            Message::error(
                "out-of-range",
                format!("`{key}` in `{}` is out of range", self.title),
            )
            .at(
                self.source.place(&value.span()),
                format!(
                    "expected {} to {}{unit}, found {number}",
                    range.start(),
                    range.end()
                ),
            ),
        );
        None
    }

    /// A decimal that must be there.
    pub(crate) fn required_decimal(&self, key: &'static str) -> Option<Decimal> {
        if self.get(key).is_none() {
            self.missing(key);
            return None;
        }
        self.decimal(key)
    }
}

/// The decimal as it is written; `None` of other values, and of more digits than a decimal holds.
fn decimal_of(value: &Spanned<DeValue<'_>>) -> Option<Decimal> {
    match value.get_ref() {
        DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix())
            .ok()
            .map(Decimal::from),
        DeValue::Float(float) => {
            let text = float.as_str().replace('_', "");
            Decimal::from_str_exact(&text)
                .or_else(|_| Decimal::from_scientific(&text))
                .ok()
        }
        _ => None,
    }
}
