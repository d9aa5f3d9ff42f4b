//! Energy and demand as text for a terminal.

use std::fmt::Write;

use super::baseline_text::baseline_text;
use super::bill::bill_text;
use super::carbon::carbon_table;
use super::meters::{all_loads_table, meter_parts, unmetered_table};
use super::quality::quality_shown;
use super::since::since_text;
use super::study_text::study_text;
use demand::{EnergyResult, SelfConsumption};
use site::Site;
use tables::{Table, plain};
use units::{format_kwh, format_number, format_percent};

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
    if let Some(own) = &result.self_consumption {
        text.push_str(&self_consumption_text(own));
    }
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

fn self_consumption_text(own: &SelfConsumption) -> String {
    let share = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), format_percent);
    format!(
        "\nSelf-consumption over the {} h with readings of {} and {}\n  generated {}; used on site {} ({} of it, {} of what the site uses); exported {}\n",
        format_number(own.hours, 2),
        plain(&own.meters.join(", ")),
        plain(&own.supply),
        format_kwh(own.generated_kwh),
        format_kwh(own.used_on_site_kwh),
        share(own.self_consumption_pct),
        share(own.self_sufficiency_pct),
        format_kwh(own.exported_kwh),
    )
}
