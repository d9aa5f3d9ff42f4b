//! A number within its range.

use std::ops::RangeInclusive;

use toml::Spanned;
use toml::de::DeValue;

use super::Table;
use message::Message;

/// Reads a number and checks its range.
pub(crate) fn number_in(
    table: &Table<'_, '_>,
    key: &str,
    value: &Spanned<DeValue<'_>>,
    range: RangeInclusive<f64>,
    unit: &str,
) -> Option<f64> {
    let number: Option<f64> = match value.get_ref() {
        DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix())
            .ok()
            .map(|whole| whole as f64),
        DeValue::Float(float) => float.as_str().replace('_', "").parse().ok(),
        _ => None,
    };
    let Some(number) = number.filter(|number| number.is_finite()) else {
        let expected = format!("a number{}", in_unit(unit));
        table.wrong_type(key, &value.span(), &expected, value.get_ref());
        return None;
    };
    if range.contains(&number) {
        return Some(number);
    }
    table.source.push(
        Message::error(
            "out-of-range",
            format!("`{key}` in `{}` is out of range", table.title),
        )
        .at(
            table.source.place(&value.span()),
            format!("expected {}, found {number}", range_text(&range, unit)),
        ),
    );
    None
}

fn in_unit(unit: &str) -> String {
    if unit.is_empty() {
        String::new()
    } else {
        format!(" in {unit}")
    }
}

/// `0 to 1`, `more than 0 A`, …
pub(crate) fn range_text(range: &RangeInclusive<f64>, unit: &str) -> String {
    let (low, high) = (*range.start(), *range.end());
    let unit = if unit.is_empty() {
        String::new()
    } else {
        format!(" {unit}")
    };
    let low_text = if low > 0.0 && low <= f64::MIN_POSITIVE {
        "more than 0".to_owned()
    } else {
        format!("at least {low}")
    };
    if high >= f64::MAX {
        format!("{low_text}{unit}")
    } else {
        format!("{low_text} and at most {high}{unit}")
    }
}
