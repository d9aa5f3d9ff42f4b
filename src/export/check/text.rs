//! The result of `check` as text.

use std::fmt::Write;

use chrono_tz::Tz;

use super::{CheckResult, CheckedFile, ExceededLimit, Mapped, MeterCheck, UnderstoodTable};
use crate::quality::quality_table;
use crate::wording::{counted, intervals_of};
use message::{Level, Messages};
use site::Quantity;
use tables::{Table, columns, exact, number, plain, words};
use units::{FigureKind as Q, format_moment, format_percent};

/// The result on one screen.
#[must_use]
pub fn check_text(result: &CheckResult, messages: &Messages) -> String {
    let mut out = String::new();
    let _ = writeln!(
        out,
        "{}: {}, {}, {} ({} can be moved to another phase), {}",
        plain(&result.site),
        counted(result.boards, "board", "boards"),
        counted(result.circuits, "circuit", "circuits"),
        counted(result.machines, "machine", "machines"),
        result.movable_machines,
        counted(result.meters.len(), "meter", "meters"),
    );
    for table in &result.understood {
        out.push_str(&understood_text(table));
    }
    for meter in &result.meters {
        meter_text(&mut out, meter);
    }
    for (file, columns) in &result.unused_columns {
        let _ = writeln!(
            out,
            "\nColumns of {} that no meter uses: {}",
            plain(file),
            plain(&in_short(columns))
        );
    }
    let warnings = messages.draw(Level::Warning, false);
    if !warnings.is_empty() {
        let _ = writeln!(out, "\n{warnings}");
    }
    let of_phase = |(quantity, _): &(String, String)| {
        quantity.starts_with("current") || quantity.contains("_l1")
    };
    let has_currents = |meter: &MeterCheck| meter.columns.iter().any(of_phase);
    let is_measured = result.rounds > 0 || result.meters.iter().any(has_currents);
    out.push_str(&exceeded_text(&result.exceeded, is_measured));
    out
}

fn meter_text(out: &mut String, meter: &MeterCheck) {
    let _ = writeln!(
        out,
        "\nMeter {} ({}): a reading every {} s, {}, coverage {}",
        plain(&meter.id),
        plain(&meter.measures),
        meter.cadence_s,
        intervals_of(meter.intervals, meter.interval_s),
        format_percent(meter.coverage_pct),
    );
    out.push_str(&files_text(&meter.files));
    let _ = writeln!(out, "{}", lines_text(meter.rows));
    out.push_str(&mapping_text(&meter.mapping));
    if meter.quality.is_empty() {
        out.push_str("  no problems found in the data\n");
    } else {
        let entries = meter.quality.iter().map(Some);
        let rows = entries.map(|entry| (meter.id.as_str(), meter.coverage_pct, entry));
        let keys = ["count", "kind", "lines", "note"];
        out.push_str(&indented(&quality_table(rows, Tz::UTC).part("", &keys)));
    }
}

/// What each header and word was taken for.
fn understood_text(table: &UnderstoodTable) -> String {
    let mut out = format!("\n{} as understood\n", plain(&table.file));
    let headers = table.columns.iter().map(|pair| ("header", pair));
    let cells = table.words.iter().map(|pair| ("cell", pair));
    let pairs: Vec<(&str, &(String, String))> = headers.chain(cells).collect();
    if !pairs.is_empty() {
        let rows = columns! { pair in &(&str, &(String, String));
            kind: words("In the file") => pair.0;
            written: words("Written") => &pair.1.0;
            read: words("Taken for") => &pair.1.1;
        };
        out.push_str(&indented(&rows.table("understood", "", &pairs)));
    }
    if !table.left_out.is_empty() {
        let rows: Vec<String> = table.left_out.iter().map(|row| plain(row)).collect();
        let _ = writeln!(out, "  not read as rows: {}", in_short(&rows));
    }
    out
}

fn exceeded_text(exceeded: &[ExceededLimit], is_measured: bool) -> String {
    if !is_measured {
        return "\nNo current was logged and none was read with a clamp meter, so no limit is checked.\n".to_owned();
    }
    if exceeded.is_empty() {
        return "\nNo measured current exceeds its limit.\n".to_owned();
    }
    columns! { limit in &ExceededLimit;
        at: words("Location") => &limit.at;
        conductor: words("Conductor") => limit.conductor;
        value_a: number("Measured", Q::Current) => limit.value_a;
        limit_a: exact("Limit", "A") => limit.limit_a;
        limit_of: words("Limit of") => &limit.limit_of;
        read_at: words("Read at").optional() => limit.read_at.map_or_else(String::new, format_moment);
    }
    .table("exceeded", "Limits exceeded", exceeded)
    .text()
}

/// A table below the lines about a meter.
fn indented(table: &Table) -> String {
    let text = table.text_body();
    text.lines().flat_map(|line| ["  ", line, "\n"]).collect()
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

/// Files of one format share a line.
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

/// How many rows were read.
fn lines_text(rows: u64) -> String {
    format!("  {rows} rows")
}

fn mapping_text(mapping: &[Mapped]) -> String {
    let factor = |scale: f64| ((scale - 1.0).abs() >= f64::EPSILON).then_some(scale);
    let table = columns! { column in &Mapped;
        label: words("Quantity") => label(&column.quantity);
        quantity: words("Key") => &column.quantity;
        column: words("Column") => &column.column;
        unit: words("Unit in the log").optional() => column.unit.as_deref().unwrap_or_default();
        scale: words("Factor").optional() => factor(column.scale).map_or_else(String::new, |scale| format!("× {scale}"));
        reason: words("Recognised by") => column.why;
    };
    indented(&table.table("mapping", "", mapping))
}

/// The quantity's name for people, from its key.
fn label(key: &str) -> String {
    Quantity::from_name(key).map_or_else(|| key.to_owned(), Quantity::label)
}

/// The format in words, without the file name.
fn file_text(file: &CheckedFile) -> String {
    let mut parts: Vec<String> = Vec::new();
    if file.packed {
        parts.push("gzip".to_owned());
    }
    if let Some(format) = &file.format {
        parts.push(format!("read as {}", plain(format)));
    }
    match (file.encoding, &file.format) {
        (Some(encoding), _) => parts.push(encoding.to_owned()),
        (None, None) => parts.push("Parquet".to_owned()),
        (None, Some(_)) => {}
    }
    match file.separator {
        Some('\t') => parts.push("separator tab".to_owned()),
        Some(sign) => parts.push(format!("separator `{sign}`")),
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
    parts.push(format!("a time is the {}", plain(&file.stamp)));
    parts.join(", ")
}
