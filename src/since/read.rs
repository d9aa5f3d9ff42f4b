//! Reads a report's JSON, of whatever age.

use serde_json::Value;

use super::snapshot::{FindingThen, MachineThen, MeterThen, SHAPE, Snapshot};
use message::{InputErrors, Message, Messages, Place};

/// A part of the file that is not what it should be: where, and what was expected.
type Odd = (String, &'static str);

/// Reads `report.json`, or an `energy.json` of a report that has none.
///
/// # Errors
///
/// [`InputErrors`] where the text is not JSON, ends early, is no report, or is one of a later program.
pub fn read_snapshot(file: &str, text: &str) -> Result<Snapshot, InputErrors> {
    let fault = |message: Message| {
        let mut messages = Messages::new();
        messages.push(message);
        InputErrors(messages)
    };
    let text = text.trim_start_matches('\u{feff}');
    let value: Value =
        serde_json::from_str(text).map_err(|error| fault(not_json(file, text, &error)))?;
    if let Some(shape) = value["report"].as_u64().filter(|shape| *shape > SHAPE) {
        let text = format!(
            "`{file}` was written by a later version of the program (format {shape}; this version reads {SHAPE})"
        );
        return Err(fault(
            Message::error("later-report", text)
                .at(Place::file(file), "")
                .help("use that version, or name an older report"),
        ));
    }
    snapshot_of(&value).map_err(|(at, expected)| {
        let text = format!("`{file}` is not a report: {at} is not {expected}");
        fault(
            Message::error("not-a-report", text)
                .at(Place::file(file), "")
                .help("name the `report.json` or `energy.json` that `tapoff report` writes"),
        )
    })
}

fn not_json(file: &str, text: &str, error: &serde_json::Error) -> Message {
    let name = "not-json";
    if error.is_eof() {
        return Message::error(
            name,
            format!("`{file}` is incomplete: it is cut off or empty"),
        )
        .at(Place::file(file), "")
        .help("write the report again from the same logs, or name an older one");
    }
    let line = text
        .lines()
        .nth(error.line().saturating_sub(1))
        .unwrap_or_default();
    let column = error.column().saturating_sub(1);
    Message::error(name, format!("`{file}` is damaged: it is not JSON"))
        .at(
            Place::in_line(file, error.line(), line, column..column + 1),
            "cannot be read from here on",
        )
        .help("write the report again from the same logs, or name an older one")
}

/// A report as JSON.
///
/// # Errors
///
/// The place of what is not as it should be, and what was expected there.
pub fn snapshot_of(value: &Value) -> Result<Snapshot, Odd> {
    let meters = list(value, "meters")?.ok_or(("`meters`".to_owned(), "a list of meters"))?;
    let meters = meters.iter().enumerate();
    let findings = list(value, "findings")?;
    let machines = list(value, "machines")?;
    Ok(Snapshot {
        site: value["site"].as_str().map(ToOwned::to_owned),
        meters: meters
            .map(|(index, meter)| meter_of(meter, &format!("meters[{index}]")))
            .collect::<Result<_, _>>()?,
        findings: findings
            .map(|all| each(all, "findings", finding_of))
            .transpose()?,
        machines: machines
            .map(|all| each(all, "machines", machine_of))
            .transpose()?,
    })
}

fn each<T>(
    all: &[Value],
    name: &str,
    read: impl Fn(&Value, &str) -> Result<T, Odd>,
) -> Result<Vec<T>, Odd> {
    let all = all.iter().enumerate();
    all.map(|(index, one)| read(one, &format!("{name}[{index}]")))
        .collect()
}

/// A list; `None` where it is not there or null.
fn list<'v>(value: &'v Value, key: &str) -> Result<Option<&'v [Value]>, Odd> {
    match value.get(key) {
        None | Some(Value::Null) => Ok(None),
        Some(Value::Array(all)) => Ok(Some(all)),
        Some(_) => Err((format!("`{key}`"), "a list")),
    }
}

fn text(value: &Value, key: &str, at: &str) -> Result<Option<String>, Odd> {
    match value.get(key) {
        None | Some(Value::Null) => Ok(None),
        Some(Value::String(text)) => Ok(Some(text.clone())),
        Some(_) => Err((format!("`{at}.{key}`"), "a text")),
    }
}

fn needed_text(value: &Value, key: &str, at: &str) -> Result<String, Odd> {
    text(value, key, at)?.ok_or((format!("`{at}.{key}`"), "a text"))
}

fn number(value: &Value, key: &str, at: &str) -> Result<Option<f64>, Odd> {
    match value.get(key) {
        None | Some(Value::Null) => Ok(None),
        Some(found) => match found.as_f64() {
            Some(number) => Ok(Some(number)),
            None => Err((format!("`{at}.{key}`"), "a number")),
        },
    }
}

fn meter_of(value: &Value, at: &str) -> Result<MeterThen, Odd> {
    let intervals = number(value, "intervals", at)?;
    let interval_s = number(value, "interval_s", at)?;
    let phases =
        list(value, "phase_max_a").map_err(|_| (format!("`{at}.phase_max_a`"), "a list"))?;
    let phase_max_a = match phases.map(|all| all.iter().map(Value::as_f64).collect::<Vec<_>>()) {
        None => None,
        Some(all) => match all.as_slice() {
            [Some(l1), Some(l2), Some(l3)] => Some([*l1, *l2, *l3]),
            _ => return Err((format!("`{at}.phase_max_a`"), "a list of three numbers")),
        },
    };
    Ok(MeterThen {
        id: needed_text(value, "id", at)?,
        measures: text(value, "measures", at)?,
        period: [text(value, "from", at)?, text(value, "to", at)?],
        covered_h: intervals.zip(interval_s).map(|(n, s)| n * s / 3600.0),
        energy_kwh: number(value, "energy_kwh", at)?,
        max_demand_kw: number(value, "max_demand_kw", at)?,
        demand_window_min: number(value, "demand_window_min", at)?,
        phase_max_a,
    })
}

fn finding_of(value: &Value, at: &str) -> Result<FindingThen, Odd> {
    let place = value.get("where").unwrap_or(&Value::Null);
    let part = |key: &str| text(place, key, &format!("{at}.where"));
    let figures = value["evidence"].as_object().into_iter().flatten();
    Ok(FindingThen {
        kind: needed_text(value, "kind", at)?,
        severity: needed_text(value, "severity", at)?,
        at: [
            part("meter")?,
            part("phase")?,
            part("node")?,
            part("machine")?,
        ],
        summary: text(value, "summary", at)?.unwrap_or_default(),
        figures: figures
            .filter_map(|(name, figure)| Some((name.clone(), figure.as_f64()?)))
            .collect(),
    })
}

fn machine_of(value: &Value, at: &str) -> Result<MachineThen, Odd> {
    Ok(MachineThen {
        machine: needed_text(value, "machine", at)?,
        circuit: needed_text(value, "circuit", at)?,
        connection: needed_text(value, "connection", at)?,
        rating: text(value, "rating", at)?.unwrap_or_default(),
        quantity: value["quantity"].as_u64().unwrap_or(1),
    })
}
