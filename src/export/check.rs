//! What `check` found: what was read, how, and what is odd.

use std::fmt::Write;

use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::Serialize;

use super::balance_text::counted;
use super::csv_table::{csv_text, number, text};
use super::text_table::{Side, plain, table};
use crate::demand::EnergyResult;
use crate::message::{Level, Message, Messages};
use crate::metering::{Encoding, FileForm, LoggedColumn, Logs, MeterLog, QualityEntry};
use crate::site::Site;
use crate::units::format_percent;

/// A measured current above its limit.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
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
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
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
    #[schemars(with = "std::collections::BTreeMap<String, String>")]
    pub columns: Vec<(String, String)>,
    /// Each column with its factor and the reason why it is taken for the quantity.
    pub mapping: Vec<Mapped>,
    /// How its files are written.
    pub files: Vec<CheckedFile>,
    /// Lines with readings.
    pub rows: u64,
    /// Those of them that were plain enough for the fast path.
    pub plain_rows: u64,
    /// Oddities and what was done about them.
    pub quality: Vec<QualityEntry>,
}

/// A column of a log and what it was taken for.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Mapped {
    /// The quantity.
    pub quantity: String,
    /// Name of the column.
    pub column: String,
    /// The unit that the log names.
    pub unit: Option<String>,
    /// Factor to the unit of the quantity, the correction of current transformers included.
    pub scale: f64,
    /// `declared`, `name`, `obis` or `words`.
    pub reason: &'static str,
    /// The same in words.
    #[serde(skip)]
    pub why: &'static str,
}

/// How a file is written; `None` where that is not a question of the file.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct CheckedFile {
    /// Its name inside the site folder.
    pub file: String,
    /// UTF-8, UTF-16 or Windows-1252.
    pub encoding: Option<&'static str>,
    /// Packed with gzip?
    pub packed: bool,
    /// What separates its cells.
    pub separator: Option<char>,
    /// Its decimal sign.
    pub decimal: Option<char>,
    /// Line of its header, from 1.
    pub header_line: Option<usize>,
    /// Line of its row of units, from 1.
    pub units_line: Option<usize>,
    /// How its times are written.
    pub time_format: Option<String>,
}

impl CheckedFile {
    fn new(form: &FileForm) -> CheckedFile {
        CheckedFile {
            file: form.name.clone(),
            encoding: form.encoding.map(Encoding::name),
            packed: form.packed,
            separator: form.separator,
            decimal: form.decimal,
            header_line: form.header_line,
            units_line: form.units_line,
            time_format: form.time_format.clone(),
        }
    }

    /// In words, without its name.
    fn text(&self) -> String {
        let mut parts: Vec<String> = Vec::new();
        if self.packed {
            parts.push("gzip".to_owned());
        }
        parts.push(self.encoding.unwrap_or("Parquet").to_owned());
        match self.separator {
            Some('\t') => parts.push("tabs".to_owned()),
            Some(sign) => parts.push(format!("cells by `{sign}`")),
            None => {}
        }
        parts.extend(self.decimal.map(|sign| format!("decimal sign `{sign}`")));
        if self.encoding.is_some() {
            parts.push(self.header_line.map_or_else(
                || "no header".to_owned(),
                |line| format!("header on line {line}"),
            ));
        }
        parts.extend(self.units_line.map(|line| format!("units on line {line}")));
        let times = self.time_format.as_deref();
        parts.extend(times.map(|format| format!("times `{}`", plain(format))));
        parts.join(", ")
    }
}

/// The whole answer of `check`.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
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
    #[schemars(with = "std::collections::BTreeMap<String, Vec<String>>")]
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
                    mapping: log.columns.iter().map(mapped).collect(),
                    files: log.files.iter().map(CheckedFile::new).collect(),
                    rows: log.rows,
                    plain_rows: log.plain_rows,
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

fn mapped(column: &LoggedColumn) -> Mapped {
    Mapped {
        quantity: column.quantity.name(),
        column: column.column.clone(),
        unit: column.unit.clone(),
        scale: column.scale,
        reason: column.reason.name(),
        why: column.reason.text(),
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
        out.push_str(&files_text(&meter.files));
        let _ = writeln!(out, "{}", lines_text(meter.rows, meter.plain_rows));
        out.push_str(&mapping_text(&meter.mapping));
        if meter.quality.is_empty() {
            out.push_str("  nothing odd in its readings\n");
        }
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
            plain(&in_short(columns))
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

/// Files written alike are told together.
/// The first names of a list; the JSON result has them all.
fn in_short(names: &[String]) -> String {
    const SHOWN: usize = 40;
    let first: Vec<String> = names
        .iter()
        .take(SHOWN)
        .map(|name| name.chars().take(SHOWN).collect())
        .collect();
    let more = names.len().saturating_sub(SHOWN);
    let rest = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    first.join(", ") + &rest
}

fn files_text(files: &[CheckedFile]) -> String {
    let mut out = String::new();
    for alike in files.chunk_by(|a, b| a.text() == b.text()) {
        let (Some(first), Some(last)) = (alike.first(), alike.last()) else {
            continue;
        };
        let names = match alike.len() {
            1 => plain(&first.file),
            2 => format!("{} and {}", plain(&first.file), plain(&last.file)),
            n => format!("{} … {} ({n} files)", plain(&first.file), plain(&last.file)),
        };
        let _ = writeln!(out, "  {names}: {}", first.text());
    }
    out
}

/// How many lines were read, and how many of them by the fast path.
fn lines_text(rows: u64, plain_rows: u64) -> String {
    let share = 100.0 * plain_rows as f64 / rows.max(1) as f64;
    format!(
        "  {rows} rows, {} of them plain enough for the fast path",
        format_percent(share)
    )
}

fn mapping_text(mapping: &[Mapped]) -> String {
    let rows: Vec<Vec<String>> = mapping
        .iter()
        .map(|column| {
            let factor = if (column.scale - 1.0).abs() < f64::EPSILON {
                String::new()
            } else {
                format!("× {}", column.scale)
            };
            let unit = column.unit.as_deref().unwrap_or_default();
            vec![
                column.quantity.clone(),
                plain(&column.column),
                plain(unit),
                factor,
                column.why.to_owned(),
            ]
        })
        .collect();
    let head = [
        ("quantity", Side::Left),
        ("column", Side::Left),
        ("its unit", Side::Left),
        ("factor", Side::Right),
        ("taken because of", Side::Left),
    ];
    let text = table(&head, &rows);
    text.lines().flat_map(|line| ["  ", line, "\n"]).collect()
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
