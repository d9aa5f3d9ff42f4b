//! A baseline and what came after it as text for a terminal.

use std::fmt::Write;

use super::baseline_sheets::baseline_sheets;
use super::sheet::Cell;
use super::study_text::folded;
use super::text_table::plain;
use baseline::{Baseline, Change};
use units::signed;

/// What a person reads in one go: the coefficients, how well they fit, the days since, the days that stand out.
pub(super) fn baseline_text(change: &Change) -> String {
    let mut text = String::new();
    if let Some(why) = &change.no_baseline {
        let _ = writeln!(text, "\nNo baseline: {}", plain(why));
    }
    for sheet in baseline_sheets(change) {
        // The baseline's own days are in the table alone, in CSV and JSON.
        let sheet = if sheet.name == "cusum" {
            sheet.only(|row| row[2] == Cell::Flag(false))
        } else {
            sheet
        };
        text.push_str(&folded(sheet));
    }
    if let Some(fitted) = &change.baseline {
        let _ = writeln!(text, "\n{}", plain(&since_sentence(fitted)));
        for note in &fitted.notes {
            let _ = writeln!(text, "  - {}", plain(note));
        }
    }
    text
}

/// What all since the baseline come to.
#[must_use]
pub fn since_sentence(fitted: &Baseline) -> String {
    let Some(since) = &fitted.since else {
        return "Nothing after the baseline can be compared with it.".to_owned();
    };
    let each = fitted.by.name();
    let percent = since
        .difference_pct
        .map_or_else(String::new, |pct| format!(" ({} %)", signed(pct, 1)));
    let verdict = if since.low_95_kwh > 0.0 {
        "more than chance explains"
    } else if since.high_95_kwh < 0.0 {
        "less than chance explains"
    } else {
        "no more than chance explains"
    };
    let left_out = match since.left_out {
        0 => String::new(),
        1 => format!("; 1 {each} could not be compared"),
        count => format!("; {count} {each}s could not be compared"),
    };
    format!(
        "Since the baseline: {} kWh{percent} beside the {:.1} kWh expected of {} {each}s (95 %: {} to {} kWh), \
         {verdict}{left_out}.",
        signed(since.difference_kwh, 1),
        since.expected_kwh,
        since.periods,
        signed(since.low_95_kwh, 1),
        signed(since.high_95_kwh, 1)
    )
}
