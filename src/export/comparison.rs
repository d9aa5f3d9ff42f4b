//! The parts of two periods side by side as text.

use std::fmt::Write;

use rust_decimal::Decimal;

use super::bill_text::money;
use super::text_table::{Side, plain, table};
use demand::{Comparison, EnergyPart, EnergyResult};
use units::{format_kwh, or_dash};

/// A table for each meter and each way of breaking down.
#[must_use]
pub fn comparison_text(result: &EnergyResult, periods: &Comparison) -> String {
    let mut out = String::new();
    let day = |date: chrono::NaiveDate| date.pred_opt().unwrap_or(date);
    let _ = writeln!(
        out,
        "{} to {} beside {} to {}",
        periods.from,
        day(periods.to),
        periods.other_from,
        day(periods.other_to)
    );
    let parts = result.breakdown.as_deref().unwrap_or_default();
    let alike = |a: &EnergyPart, b: &EnergyPart| a.meter == b.meter && a.by == b.by;
    for own in parts.chunk_by(alike) {
        let by = plain(&own[0].by.to_string());
        let _ = writeln!(out, "\n{}, by {by}", plain(&own[0].meter));
        let costs = own.iter().any(|part| part.cost.is_some());
        let rows: Vec<Vec<String>> = own.iter().map(|part| row(part, costs)).collect();
        out.push_str(&table(&header(costs), &rows));
    }
    if !result.breakdown_notes.is_empty() {
        out.push('\n');
    }
    for note in &result.breakdown_notes {
        let _ = writeln!(out, "  - {}", plain(note));
    }
    out
}

fn header(costs: bool) -> Vec<(&'static str, Side)> {
    let mut header = vec![
        ("", Side::Left),
        ("energy", Side::Right),
        ("other", Side::Right),
        ("difference", Side::Right),
        ("(%)", Side::Right),
    ];
    if costs {
        header.extend(["cost", "other", "difference"].map(|head| (head, Side::Right)));
    }
    header.push(("", Side::Left));
    header
}

fn row(part: &EnergyPart, costs: bool) -> Vec<String> {
    let other = part.compared.as_ref();
    let signed = |kwh: f64| {
        let text = format_kwh(kwh);
        if kwh > 0.0 { format!("+{text}") } else { text }
    };
    let key = plain(&part.key);
    let name = match other.map(|other| plain(&other.key)) {
        Some(theirs) if theirs != key => format!("{key} / {theirs}"),
        _ => key,
    };
    let mut row = vec![
        name,
        format_kwh(part.energy_kwh),
        or_dash(other.map(|other| other.energy_kwh), format_kwh),
        or_dash(other.and_then(|other| other.difference_kwh), signed),
        or_dash(other.and_then(|other| other.difference_pct), |pct| {
            units::signed(pct, 1)
        }),
    ];
    if costs {
        let more = |cost: Decimal| {
            let text = money(cost);
            if cost > Decimal::ZERO {
                format!("+{text}")
            } else {
                text
            }
        };
        row.push(or_dash(part.cost, money));
        row.push(or_dash(other.and_then(|other| other.cost), money));
        row.push(or_dash(other.and_then(|other| other.difference_cost), more));
    }
    row.push(remark(part).to_owned());
    row
}

fn remark(part: &EnergyPart) -> &'static str {
    match &part.compared {
        None => "not in the other period",
        Some(other) if other.difference_kwh.is_none() => "not compared: readings missing",
        Some(_) => part.told.basis.map_or("", |basis| basis.words()),
    }
}
