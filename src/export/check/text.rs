//! The answer of `check` as text.

use std::fmt::Write;

use super::{CheckResult, CheckedFile, ExceededLimit, Mapped, MeterCheck};
use crate::balance_text::counted;
use crate::text_table::{Side, plain, table};
use message::{Level, Messages};
use units::format_percent;

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
        meter_text(&mut out, meter);
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
    out.push_str(&exceeded_text(&result.exceeded));
    out
}

fn meter_text(out: &mut String, meter: &MeterCheck) {
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

fn exceeded_text(exceeded: &[ExceededLimit]) -> String {
    if exceeded.is_empty() {
        return "\nNo measured current exceeds its limit.\n".to_owned();
    }
    let row = |limit: &ExceededLimit| {
        vec![
            limit.at.clone(),
            limit.conductor.to_owned(),
            format!("{:.1}", limit.value_a),
            format!("{:.1}", limit.limit_a),
        ]
    };
    let head = [
        ("at", Side::Left),
        ("conductor", Side::Left),
        ("largest interval mean (A)", Side::Right),
        ("limit (A)", Side::Right),
    ];
    let rows: Vec<Vec<String>> = exceeded.iter().map(row).collect();
    format!("\nLimits exceeded\n{}", table(&head, &rows))
}

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

/// Files written alike are told together.
fn files_text(files: &[CheckedFile]) -> String {
    let mut out = String::new();
    for alike in files.chunk_by(|a, b| file_text(a) == file_text(b)) {
        let (Some(first), Some(last)) = (alike.first(), alike.last()) else {
            continue;
        };
        let names = match alike.len() {
            1 => plain(&first.file),
            2 => format!("{} and {}", plain(&first.file), plain(&last.file)),
            n => format!("{} … {} ({n} files)", plain(&first.file), plain(&last.file)),
        };
        let _ = writeln!(out, "  {names}: {}", file_text(first));
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

/// In words, without its name.
fn file_text(file: &CheckedFile) -> String {
    let mut parts: Vec<String> = Vec::new();
    if file.packed {
        parts.push("gzip".to_owned());
    }
    parts.push(file.encoding.unwrap_or("Parquet").to_owned());
    match file.separator {
        Some('\t') => parts.push("tabs".to_owned()),
        Some(sign) => parts.push(format!("cells by `{sign}`")),
        None => {}
    }
    parts.extend(file.decimal.map(|sign| format!("decimal sign `{sign}`")));
    if file.encoding.is_some() {
        parts.push(file.header_line.map_or_else(
            || "no header".to_owned(),
            |line| format!("header on line {line}"),
        ));
    }
    parts.extend(file.units_line.map(|line| format!("units on line {line}")));
    let times = file.time_format.as_deref();
    parts.extend(times.map(|format| format!("times `{}`", plain(format))));
    parts.join(", ")
}
