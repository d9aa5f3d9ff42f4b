//! Energy and demand as text for a terminal.

use std::fmt::Write;

use super::baseline_text::baseline_text;
use super::bill::bill_text;
use super::carbon::carbon_table;
use super::meters::{all_loads_table, meter_parts, unmetered_table};
use super::quality::quality_shown;
use super::since::since_text;
use super::study_text::study_text;
use demand::EnergyResult;
use site::Site;
use tables::{Table, plain};

/// All meters.
#[must_use]
pub fn energy_text(site: &Site, result: &EnergyResult) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "{}: times in {}", plain(&site.name), site.timezone);
    if result.meters.is_empty() {
        text.push_str("\nNo meter has a log.\n");
    }
    if let Some(since) = &result.since {
        text.push_str(&since_text(since));
    }
    text.extend(meter_parts(result).iter().map(Table::text));
    text.push_str(&all_loads_table(result, site.timezone).text());
    text.push_str(&unmetered_table(result).text());
    if let Some(bill) = &result.cost {
        text.push_str(&bill_text(bill));
    }
    text.push_str(&carbon_table(result).text());
    text.push_str(&study_text(result));
    text.push_str(&baseline_text(&result.change));
    text.push_str(&quality_shown(result, site.timezone).text());
    if !result.notes.is_empty() {
        text.push_str("\nNotes\n");
        for note in &result.notes {
            let _ = writeln!(text, "  - {}", plain(note));
        }
    }
    text
}
