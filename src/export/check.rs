//! What `check` found: what was read, how, and what is odd.

use std::fmt::Write;

use chrono::{DateTime, Utc};
use serde::Serialize;

use super::balance_text::counted;
use super::csv_table::{csv_text, number, text};
use super::text_table::{Side, plain, table};
use crate::demand::EnergyResult;
use crate::message::{Level, Message, Messages};
use crate::metering::{Logs, MeterLog, QualityEntry};
use crate::site::Site;
use crate::units::format_percent;

/// A measured current above its limit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ExceededLimit {
    /// `supply`, or the board's or circuit's id.
    pub at: String,
    /// L1, L2, L3 or N.
    pub conductor: &'static str,
    /// Largest interval mean. (A)
    pub value_a: f64,
    /// The limit. (A)
    pub limit_a: f64,
}

/// One meter as it was read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeterCheck {
    /// The meter's id.
    pub id: String,
    /// What it measures.
    pub measures: String,
    /// Time between readings as logged. (s)
    pub cadence_s: u32,
    /// Base interval of the analysis. (s)
    pub interval_s: u32,
    /// Intervals with readings.
    pub intervals: usize,
    /// Share of the time that has readings. (%)
    pub coverage_pct: f64,
    /// Quantity and column of the log.
    #[serde(serialize_with = "super::pairs")]
    pub columns: Vec<(String, String)>,
    /// Oddities and what was done about them.
    pub quality: Vec<QualityEntry>,
}

/// The whole answer of `check`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CheckResult {
    /// The site's name.
    pub site: String,
    /// Counts of what is declared.
    pub boards: usize,
    /// Counts of what is declared.
    pub circuits: usize,
    /// Counts of what is declared.
    pub machines: usize,
    /// Machines whose phase may change.
    pub movable_machines: usize,
    /// One entry per meter with a log.
    pub meters: Vec<MeterCheck>,
    /// Columns of each file that no meter uses.
    #[serde(serialize_with = "super::pairs")]
    pub unused_columns: Vec<(String, Vec<String>)>,
    /// What is odd in the input.
    pub warnings: Vec<Message>,
    /// Measured currents above their limits.
    pub exceeded: Vec<ExceededLimit>,
}

impl CheckResult {
    /// Puts together what was read and found.
    #[must_use]
    pub fn new(
        site: &Site,
        logs: &Logs,
        energy: &EnergyResult,
        warnings: Vec<Message>,
        exceeded: Vec<ExceededLimit>,
    ) -> CheckResult {
        let meters = logs
            .meters
            .iter()
            .map(|log| {
                let meter = &site.meters[log.meter];
                let quality = energy
                    .meters
                    .iter()
                    .find(|known| known.id == meter.id)
                    .map_or_else(|| log.quality.clone(), |known| known.quality.clone());
                MeterCheck {
                    id: meter.id.clone(),
                    measures: site.measured_name(meter.measures).to_owned(),
                    cadence_s: log.cadence_s,
                    interval_s: log.table.interval_s(),
                    intervals: log.table.len(),
                    coverage_pct: log.coverage.percent(),
                    columns: columns_of(log),
                    quality,
                }
            })
            .collect();
        CheckResult {
            site: site.name.clone(),
            boards: site.boards.len(),
            circuits: site.circuits.len(),
            machines: site.machines.len(),
            movable_machines: site
                .machines
                .iter()
                .filter(|machine| machine.movable)
                .count(),
            meters,
            unused_columns: logs.unused_columns.clone(),
            warnings,
            exceeded,
        }
    }
}

/// Quantities and the columns that hold them; parts that add up are joined.
fn columns_of(log: &MeterLog) -> Vec<(String, String)> {
    let mut columns: Vec<(String, String)> = Vec::new();
    for column in &log.columns {
        let name = column.quantity.name();
        match columns.iter_mut().find(|(known, _)| *known == name) {
            Some((_, parts)) => {
                parts.push_str(" + ");
                parts.push_str(&column.column);
            }
            None => columns.push((name, column.column.clone())),
        }
    }
    columns
}

/// One screen for people.
#[must_use]
pub fn check_text(result: &CheckResult, messages: &Messages) -> String {
    let mut out = String::new();
    let _ = writeln!(
        out,
        "{}: {}, {}, {} ({} movable), {}",
        plain(&result.site),
        counted(result.boards, "board", "boards"),
        counted(result.circuits, "circuit", "circuits"),
        counted(result.machines, "machine", "machines"),
        result.movable_machines,
        counted(result.meters.len(), "meter", "meters"),
    );
    for meter in &result.meters {
        let _ = writeln!(
            out,
            "\n{} measures {}: a reading every {} s, {} intervals of {} s, coverage {}",
            plain(&meter.id),
            plain(&meter.measures),
            meter.cadence_s,
            meter.intervals,
            meter.interval_s,
            format_percent(meter.coverage_pct),
        );
        let columns: Vec<String> = meter
            .columns
            .iter()
            .map(|(quantity, column)| format!("{quantity} = `{}`", plain(column)))
            .collect();
        let _ = writeln!(out, "  columns: {}", columns.join(", "));
        for entry in &meter.quality {
            let lines = entry.lines();
            let place = if lines.is_empty() {
                String::new()
            } else {
                format!(" ({})", plain(&lines))
            };
            let _ = writeln!(
                out,
                "  {} × {}{place}: {}",
                entry.count,
                entry.kind,
                plain(&entry.note)
            );
        }
    }
    for (file, columns) in &result.unused_columns {
        let _ = writeln!(
            out,
            "\nNot used of {}: {}",
            plain(file),
            plain(&columns.join(", "))
        );
    }
    let warnings = messages.draw(Level::Warning, false);
    if !warnings.is_empty() {
        let _ = writeln!(out, "\n{warnings}");
    }
    if result.exceeded.is_empty() {
        out.push_str("\nNo measured current exceeds its limit.\n");
    } else {
        out.push_str("\nLimits exceeded\n");
        let rows: Vec<Vec<String>> = result
            .exceeded
            .iter()
            .map(|limit| {
                vec![
                    limit.at.clone(),
                    limit.conductor.to_owned(),
                    format!("{:.1}", limit.value_a),
                    format!("{:.1}", limit.limit_a),
                ]
            })
            .collect();
        out.push_str(&table(
            &[
                ("at", Side::Left),
                ("conductor", Side::Left),
                ("largest interval mean (A)", Side::Right),
                ("limit (A)", Side::Right),
            ],
            &rows,
        ));
    }
    out
}

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
