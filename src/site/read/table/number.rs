//! A number within its range.

use std::ops::RangeInclusive;

use toml::Spanned;
use toml::de::DeValue;

use super::SiteTable;
use declaration::{Key, ValueKind, range_text};
use message::Message;

/// Reads a number and checks the range that is declared for its key.
pub(crate) fn number_in(
    table: &SiteTable<'_, '_>,
    key: &Key,
    value: &Spanned<DeValue<'_>>,
) -> Option<f64> {
    let (name, unit) = (key.name, key.unit);
    let range = number_range(key);
    let number: Option<f64> = match value.get_ref() {
        DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix())
            .ok()
            .map(|whole| whole as f64),
        DeValue::Float(float) => float.as_str().replace('_', "").parse().ok(),
        _ => None,
    };
    let Some(number) = number.filter(|number| number.is_finite()) else {
        let expected = format!("a number{}", in_unit(unit));
        table.wrong_type(name, &value.span(), &expected, value.get_ref());
        return None;
    };
    if range.contains(&number) {
        return Some(number);
    }
    table.source.push(
        Message::error(
            "out-of-range",
            format!("`{name}` in `{}` is out of range", table.title),
        )
        .at(
            table.source.place(&value.span()),
            format!("expected {}, found {number}", range_text(&range, unit)),
        ),
    );
    None
}

/// The range that is declared for a number.
pub(crate) fn number_range(key: &Key) -> RangeInclusive<f64> {
    let ValueKind::Number(low, high) = key.kind else {
        unreachable!(
            "`{}` is read as a number, but declared as {}",
            key.name, key.kind
        );
    };
    low..=high
}

fn in_unit(unit: &str) -> String {
    if unit.is_empty() {
        String::new()
    } else {
        format!(" in {unit}")
    }
}
