//! The oddities that `check` found, row by row.

use chrono::{DateTime, Utc};

use super::CheckResult;
use crate::csv_table::{csv_text, number, text};

/// One row per meter and oddity.
///
/// # Errors
///
/// Those of the CSV writer, which memory does not provoke.
pub fn check_csv(result: &CheckResult) -> Result<String, csv::Error> {
    let header = [
        "meter",
        "coverage_pct",
        "kind",
        "count",
        "note",
        "first",
        "last",
        "first_file",
        "first_line",
        "last_file",
        "last_line",
        "action",
        "effect_kwh",
    ];
    let time = |at: Option<DateTime<Utc>>| {
        at.map_or_else(String::new, |at| {
            at.format("%Y-%m-%dT%H:%M:%SZ").to_string()
        })
    };
    let line = |line: Option<u64>| line.map_or_else(String::new, |line| line.to_string());
    let file = |name: &Option<String>| name.as_deref().map_or_else(String::new, text);
    let mut rows = Vec::new();
    for meter in &result.meters {
        let coverage = number(Some(meter.coverage_pct));
        if meter.quality.is_empty() {
            let mut row = vec![
                text(&meter.id),
                coverage.clone(),
                String::new(),
                "0".to_owned(),
            ];
            row.resize(header.len(), String::new());
            rows.push(row);
        }
        for entry in &meter.quality {
            let action = entry
                .action
                .map_or_else(String::new, |action| action.name().to_owned());
            rows.push(vec![
                text(&meter.id),
                coverage.clone(),
                entry.kind.clone(),
                entry.count.to_string(),
                text(&entry.note),
                time(entry.first),
                time(entry.last),
                file(&entry.first_file),
                line(entry.first_line),
                file(&entry.last_file),
                line(entry.last_line),
                action,
                number(entry.effect_kwh),
            ]);
        }
    }
    csv_text(&header, &rows)
}
