//! Rating and power factor of a row.

use super::Context;
use super::row::Row;
use crate::electrical::{EfficiencyClass, class_efficiency};
use crate::message::{Message, Messages};
use crate::site::machine::Rating;
use crate::units::Watts;

pub(super) fn read_rating(
    row: &Row<'_>,
    context: &Context<'_>,
    messages: &mut Messages,
) -> Option<Rating> {
    let columns = ["power_kw", "apparent_kva", "current_a", "shaft_kw"];
    let given: Vec<&str> = columns
        .into_iter()
        .filter(|column| row.cell(column).is_some())
        .collect();
    let positive = |high: f64| (f64::MIN_POSITIVE, high);
    match given[..] {
        [] => {
            if columns
                .iter()
                .any(|column| row.columns.contains_key(column))
            {
                let column = columns
                    .into_iter()
                    .find(|column| row.columns.contains_key(column))
                    .unwrap_or("machine");
                row.complain(
                    messages,
                    "missing-rating",
                    column,
                    format!("`{}` has no rating", row.name()),
                    "expected exactly one of power_kw, apparent_kva, current_a, shaft_kw",
                    Some("take it from the rating plate".to_owned()),
                );
            }
            None
        }
        ["power_kw"] => row
            .number("power_kw", positive(10_000.0), "kW", messages)
            .map(Rating::Power),
        ["apparent_kva"] => row
            .number("apparent_kva", positive(10_000.0), "kVA", messages)
            .map(Rating::Apparent),
        ["current_a"] => row
            .number("current_a", positive(20_000.0), "A", messages)
            .map(Rating::Current),
        ["shaft_kw"] => {
            let kilowatts = row.number("shaft_kw", positive(10_000.0), "kW", messages);
            let efficiency = row
                .number("efficiency", (0.05, 1.0), "", messages)
                .or_else(|| {
                    let typical = context.unplaced && row.cell("efficiency").is_none();
                    let class = row
                        .cell("efficiency_class")
                        .and_then(|text| text.parse().ok());
                    typical
                        .then(|| usual_efficiency(class, kilowatts?))
                        .flatten()
                });
            if row.cell("efficiency").is_none() && efficiency.is_none() {
                row.complain(
                    messages,
                    "missing-efficiency",
                    "shaft_kw",
                    format!("`shaft_kw` of `{}` needs its efficiency", row.name()),
                    "a shaft power alone does not tell the input",
                    Some("add the column `efficiency`, such as `0.89`".to_owned()),
                );
            }
            Some(Rating::Shaft {
                kilowatts: kilowatts?,
                efficiency: efficiency?,
            })
        }
        [.., second] => {
            row.complain(
                messages,
                "two-ratings",
                second,
                format!(
                    "`{}` has {} ratings: {}",
                    row.name(),
                    given.len(),
                    given.join(", ")
                ),
                "expected exactly one rating",
                Some("leave the other cells empty".to_owned()),
            );
            None
        }
    }
}

/// Of the class named, of IE3 where none is; `None` outside the tables.
fn usual_efficiency(class: Option<EfficiencyClass>, shaft_kw: f64) -> Option<f64> {
    class_efficiency(
        class.unwrap_or(EfficiencyClass::Ie3),
        Watts::from_kilo(shaft_kw),
    )
}

pub(super) fn read_power_factor(row: &Row<'_>, messages: &mut Messages) -> (Option<f64>, bool) {
    let Some(text) = row.cell("power_factor") else {
        return (Some(1.0), false);
    };
    let lower = text.to_ascii_lowercase();
    let leading = lower.ends_with("lead");
    let number = lower
        .trim_end_matches("lead")
        .trim_end_matches("lag")
        .trim();
    // 0.72 written as 72 or 72 %.
    let percent = number.trim_end_matches('%').trim().parse::<f64>();
    if let Some(percent) = percent
        .ok()
        .filter(|percent| (2.0..=100.0).contains(percent))
    {
        row.complain(
            messages,
            "power-factor-range",
            "power_factor",
            format!("the power factor of `{}` is not a percentage", row.name()),
            format!("expected 0.05 to 1, found `{text}`"),
            Some(format!("write `{}`", percent / 100.0)),
        );
        return (None, leading);
    }
    let outside = number
        .parse::<f64>()
        .ok()
        .filter(|n| n.is_finite() && !(0.05..=1.0).contains(n));
    if outside.is_some() {
        messages.push(
            Message::error(
                "power-factor-range",
                format!("the power factor of `{}` cannot be {number}", row.name()),
            )
            .at(
                row.place("power_factor"),
                format!("expected 0.05 to 1, found `{text}`"),
            )
            .note("active power is never more than apparent power: their ratio is at most 1")
            .help("take it from the rating plate; a leading one is written `0.9 lead`"),
        );
        return (None, leading);
    }
    let value = row.number_of(number, "power_factor", (0.05, 1.0), "", messages);
    (value, leading)
}
