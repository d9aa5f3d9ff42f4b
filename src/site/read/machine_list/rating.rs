//! Rating and power factor of a row.

use super::Context;
use super::list_row::ListRow;
use crate::model::machine::Rating;
use electrical::{EfficiencyClass, class_efficiency};
use message::{Message, Messages};
use units::Watts;
use user_tables::TableWords;

/// Columns of which a row fills exactly one.
pub(super) const RATINGS: [&str; 4] = ["power_kw", "apparent_kva", "current_a", "shaft_kw"];

pub(super) fn read_rating(
    row: &ListRow<'_>,
    context: &Context<'_>,
    messages: &mut Messages,
) -> Option<Rating> {
    let given: Vec<&str> = RATINGS
        .into_iter()
        .filter(|column| row.cell(column).is_some())
        .collect();
    match given[..] {
        [] => {
            complain_of_none(row, messages);
            None
        }
        ["power_kw"] => row.number("power_kw", messages).map(Rating::Power),
        ["apparent_kva"] => row.number("apparent_kva", messages).map(Rating::Apparent),
        ["current_a"] => row.number("current_a", messages).map(Rating::Current),
        ["shaft_kw"] => {
            let kilowatts = row.number("shaft_kw", messages);
            let efficiency = read_efficiency(row, context, kilowatts, messages);
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

/// Where no column holds a rating at all, the header was complained of.
fn complain_of_none(row: &ListRow<'_>, messages: &mut Messages) {
    let mut columns = RATINGS.into_iter().chain([TableWords::BY_UNIT]);
    let Some(column) = columns.find(|column| row.columns.get(column).is_some()) else {
        return;
    };
    // A number without unit was reported at the header.
    if row.cell(TableWords::BY_UNIT).is_some() {
        return;
    }
    row.complain(
        messages,
        "missing-rating",
        column,
        format!("`{}` has no rating", row.name()),
        format!("expected exactly one of {}", RATINGS.join(", ")),
        Some("take it from the rating plate".to_owned()),
    );
}

/// Of a machine that is only planned, else its usual one.
fn read_efficiency(
    row: &ListRow<'_>,
    context: &Context<'_>,
    shaft_kw: Option<f64>,
    messages: &mut Messages,
) -> Option<f64> {
    if row.cell("efficiency").is_some() {
        return row.number("efficiency", messages);
    }
    let class = row
        .cell("efficiency_class")
        .and_then(|text| text.parse().ok());
    let usual = shaft_kw
        .filter(|_| context.unplaced)
        .and_then(|shaft_kw| usual_efficiency(class, shaft_kw));
    if usual.is_none() {
        row.complain(
            messages,
            "missing-efficiency",
            "shaft_kw",
            format!("`shaft_kw` of `{}` needs its efficiency", row.name()),
            "the output at the shaft alone does not give the input",
            Some("add the column `efficiency`, such as `0.89`".to_owned()),
        );
    }
    usual
}

/// Of the class named, of IE3 where none is; `None` outside the tables.
fn usual_efficiency(class: Option<EfficiencyClass>, shaft_kw: f64) -> Option<f64> {
    class_efficiency(
        class.unwrap_or(EfficiencyClass::Ie3),
        Watts::from_kilo(shaft_kw),
    )
}

pub(super) fn read_power_factor(row: &ListRow<'_>, messages: &mut Messages) -> (Option<f64>, bool) {
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
    let value = row.number_of(number, "power_factor", messages);
    (value, leading)
}
