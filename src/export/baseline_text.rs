//! A baseline and the time since it as text for a terminal.

use std::fmt::Write;

use super::baseline::baseline_tables;
use baseline::{Baseline, Change};
use tables::{Cell, plain};
use units::{format_kwh, format_signed};

/// The coefficients, the quality of the fit, the periods since the baseline, unusual days.
pub(super) fn baseline_text(change: &Change) -> String {
    let mut text = String::new();
    if let Some(why) = &change.no_baseline {
        let _ = writeln!(text, "\nNo baseline: {}", plain(why));
    }
    for table in baseline_tables(change) {
        // The baseline's own days are left to `--table cusum`, CSV and JSON.
        let table = if table.id == "cusum" {
            table.only(|row| row[2] == Cell::YesNo(false))
        } else {
            table
        };
        text.push_str(&table.text());
    }
    if let Some(fitted) = &change.baseline {
        let _ = writeln!(text, "\n{}", plain(&since_sentence(fitted)));
        for note in &fitted.notes {
            let _ = writeln!(text, "  - {}", plain(note));
        }
    }
    text
}

/// The total difference since the baseline.
#[must_use]
pub fn since_sentence(fitted: &Baseline) -> String {
    let Some(since) = &fitted.since else {
        return "No period after the baseline can be compared with it.".to_owned();
    };
    let each = fitted.by.name();
    let percent = since.difference_pct.map_or_else(String::new, |pct| {
        format!(" ({}\u{a0}%)", format_signed(pct, 1))
    });
    let verdict = if since.low_95_kwh > 0.0 {
        "a statistically significant increase"
    } else if since.high_95_kwh < 0.0 {
        "a statistically significant decrease"
    } else {
        "not statistically significant"
    };
    let left_out = match since.left_out {
        0 => String::new(),
        1 => format!("; 1 {each} could not be compared"),
        count => format!("; {count} {each}s could not be compared"),
    };
    format!(
        "Since the baseline: {}\u{a0}kWh{percent} compared with the expected {} over {} {each}s (95\u{a0}%: {} to \
         {}\u{a0}kWh), {verdict}{left_out}.",
        format_signed(since.difference_kwh, 1),
        format_kwh(since.expected_kwh),
        since.periods,
        format_signed(since.low_95_kwh, 1),
        format_signed(since.high_95_kwh, 1)
    )
}
