//! Reads machines.csv: one row per machine or group of equal machines.

use std::collections::HashMap;

use super::connection::Connection;
use super::kept_together;
use super::machine::{Machine, Rating};
use super::machine_row::Row;
use super::node::Node;
use super::site::Site;
use crate::electrical::{EfficiencyClass, class_efficiency};
use crate::message::{Message, Messages, Place, closest, did_you_mean};
use crate::units::Watts;

/// The columns of the machine list.
pub(super) const COLUMNS: [&str; 18] = [
    "machine",
    "circuit",
    "connection",
    "power_kw",
    "apparent_kva",
    "current_a",
    "shaft_kw",
    "efficiency",
    "power_factor",
    "utilisation_factor",
    "third_harmonic_pct",
    "schedule",
    "quantity",
    "movable",
    "keep_with",
    "protective_device",
    "meter",
    "description",
];

/// What a machine list refers to.
pub(super) struct Context<'c> {
    pub(super) site: &'c Site,
    pub(super) meter_ids: &'c [&'c str],
    /// Machines that are not tapped off anything yet: no circuit is asked for, an open connection is
    /// usual, and what a motor's plate leaves out is typical.
    pub(super) unplaced: bool,
}

/// What parts the cells of a machine list: a comma, or a semicolon where its header has no comma.
#[must_use]
pub fn list_separator(list: &str) -> u8 {
    let header = list.lines().next().unwrap_or("");
    if header.contains(';') && !header.contains(',') {
        b';'
    } else {
        b','
    }
}

/// The columns of a list, and whether it must name circuits and connections.
#[derive(Clone, Copy)]
pub(super) struct Shape {
    pub(super) columns: &'static [&'static str],
    pub(super) unplaced: bool,
}

/// Reads the list; rows with faults are left out, each fault a message.
pub(super) fn read(
    file: &str,
    text: &str,
    context: &Context<'_>,
    messages: &mut Messages,
) -> Vec<Machine> {
    let mut machines: Vec<Machine> = Vec::new();
    let mut kept_at: Vec<Place> = Vec::new();
    let shape = Shape {
        columns: &COLUMNS,
        unplaced: false,
    };
    read_rows(file, text, shape, messages, |row, messages| {
        if let Some(machine) = read_row(row, context, messages) {
            machines.push(machine);
            kept_at.push(row.place("keep_with"));
        }
    });
    kept_together::check(context.site, &machines, &kept_at, messages);
    machines
}

/// Hands over each row of a list that is not blank.
pub(super) fn read_rows(
    file: &str,
    text: &str,
    shape: Shape,
    messages: &mut Messages,
    mut each: impl FnMut(&Row<'_>, &mut Messages),
) {
    let header_line = text.lines().next().unwrap_or("");
    let separator = list_separator(text);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(text.as_bytes());
    let mut header = csv::StringRecord::new();
    if !reader.read_record(&mut header).unwrap_or(false) {
        messages.push(
            Message::error("empty-file", format!("`{file}` is empty"))
                .at(Place::file(file), "")
                .help("a list without machines still needs its header: `machine,circuit,connection,power_kw`"),
        );
        return;
    }
    let columns = read_header(file, header_line, separator, &header, shape, messages);
    let mut names: HashMap<String, usize> = HashMap::new();
    let mut record = csv::StringRecord::new();
    loop {
        match reader.read_record(&mut record) {
            Ok(false) => break,
            Ok(true) => {}
            Err(error) => {
                messages.push(
                    Message::error("not-csv", format!("`{file}` cannot be read: {error}"))
                        .at(Place::file(file), ""),
                );
                break;
            }
        }
        let position = record
            .position()
            .cloned()
            .unwrap_or_else(csv::Position::new);
        // The line number of a record that follows blank lines is that of the record itself.
        let start = position.byte() as usize;
        let rest = &text[start..];
        let blank = rest.len() - rest.trim_start_matches(['\r', '\n']).len();
        let line = text[..start + blank].matches('\n').count() + 1;
        let line_text = rest[blank..].lines().next().unwrap_or("");
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let row = Row {
            file,
            line,
            text: line_text,
            separator,
            record: &record,
            columns: &columns,
        };
        if record.len() > header.len() {
            row.complain(
                messages,
                "too-many-cells",
                "machine",
                format!("the row of `{}` has more cells than the header", row.name()),
                format!("expected {} cells, found {}", header.len(), record.len()),
                Some("put a text that contains the separator in quotes".to_owned()),
            );
            continue;
        }
        if let Some(name) = row.cell("machine")
            && let Some(first) = names.insert(name.to_owned(), line)
        {
            row.complain(
                messages,
                "duplicate-machine",
                "machine",
                format!("two machines are called `{name}`"),
                format!("used before, in line {first}"),
                Some("give each row its own name, or use `quantity`".to_owned()),
            );
        }
        each(&row, messages);
    }
}

fn read_header(
    file: &str,
    line: &str,
    separator: u8,
    header: &csv::StringRecord,
    shape: Shape,
    messages: &mut Messages,
) -> HashMap<&'static str, usize> {
    let known_columns = || shape.columns.iter().copied();
    let mut columns = HashMap::new();
    let mut meant = Vec::new();
    for (index, name) in header.iter().enumerate() {
        let name = name.trim();
        let place = || Place::in_record(file, 1, line, separator, index);
        if let Some(known) = shape.columns.iter().find(|known| **known == name) {
            if columns.contains_key(known) {
                messages.push(
                    Message::error(
                        "duplicate-column",
                        format!("the column `{name}` stands twice"),
                    )
                    .at(place(), "second time here")
                    .help("take one of the two out"),
                );
            } else {
                columns.insert(*known, index);
            }
        } else if !(name.starts_with("x_") || name.is_empty() && index + 1 == header.len()) {
            meant.extend(closest(name, known_columns()));
            messages.push(
                Message::error(
                    "unknown-column",
                    format!("unknown column `{name}` in `{file}`"),
                )
                .at(place(), "not a column of the machine list")
                .maybe_help(
                    did_you_mean(name, known_columns())
                        .or_else(|| Some("columns of your own start with `x_`".to_owned())),
                ),
            );
        }
    }
    // A misspelt column is one fault, not two.
    let stands = |column: &&str| columns.contains_key(*column) || meant.contains(column);
    for (needed, help) in [
        (
            "machine",
            "add the column `machine`, a name of its own for each row",
        ),
        (
            "circuit",
            "add the column `circuit`, the circuit or board that the machine is tapped off",
        ),
        (
            "connection",
            "add the column `connection`: L1, L2, L3, L1-L2, L2-L3, L3-L1, 3ph, any or any-2",
        ),
    ] {
        let asked_for = needed == "machine" || !shape.unplaced;
        if asked_for && !stands(&needed) {
            messages.push(
                Message::error(
                    "missing-column",
                    format!("`{file}` needs the column `{needed}`"),
                )
                .at(
                    Place::in_line(file, 1, line, line.len()..line.len()),
                    format!("no column `{needed}` in this header"),
                )
                .help(help),
            );
        }
    }
    let ratings = ["power_kw", "apparent_kva", "current_a", "shaft_kw"];
    if !ratings.iter().any(stands) {
        messages.push(
            Message::error(
                "missing-column",
                format!("`{file}` needs a column for the rating"),
            )
            .at(
                Place::in_line(file, 1, line, line.len()..line.len()),
                "expected one of power_kw, apparent_kva, current_a, shaft_kw",
            )
            .help("add the column `power_kw`, the electrical input at rated load"),
        );
    }
    columns
}

pub(super) fn read_row(
    row: &Row<'_>,
    context: &Context<'_>,
    messages: &mut Messages,
) -> Option<Machine> {
    let site = context.site;
    let name = required(row, "machine", "a unique name", messages);
    let tapped_off = if context.unplaced {
        Some(Node::Supply)
    } else {
        required(row, "circuit", "the id of a circuit or board", messages)
            .and_then(|id| find_node(row, site, id, "circuit", messages))
    };
    let written = if context.unplaced {
        Some(row.cell("connection").unwrap_or("any"))
    } else {
        required(
            row,
            "connection",
            "L1, L2, L3, L1-L2, L2-L3, L3-L1, 3ph, any or any-2",
            messages,
        )
    };
    let connection = written.and_then(|text| {
        let read = text.parse::<Connection>().ok();
        if read.is_none() {
            row.complain(
                messages,
                "connection",
                "connection",
                format!("`{}` cannot be connected to `{text}`", row.name()),
                "expected L1, L2, L3, L1-L2, L2-L3, L3-L1, 3ph, any or any-2",
                // Any other phase would be as near: only the user knows.
                Some("write `any` or `any-2` where the phase is not decided yet".to_owned()),
            );
        }
        read
    });
    if let (Some(node), Some(connection)) = (tapped_off, connection) {
        check_phases(row, site, node, connection, messages);
    }
    let rating = read_rating(row, context, messages);
    let (power_factor, leading) = read_power_factor(row, messages);
    let utilisation_factor = row
        .number("utilisation_factor", (0.0, 1.0), "", messages)
        .unwrap_or(1.0);
    let third_harmonic = row
        .number("third_harmonic_pct", (0.0, 300.0), "%", messages)
        .unwrap_or(0.0)
        / 100.0;
    let schedule = row.cell("schedule").and_then(|wanted| {
        let names = || site.schedules.iter().map(|schedule| schedule.name.as_str());
        let found = names().position(|name| name == wanted);
        if found.is_none() {
            row.complain(
                messages,
                "unknown-schedule",
                "schedule",
                format!("there is no schedule `{wanted}`"),
                "expected the name of a `[[schedule]]` in site.toml",
                did_you_mean(wanted, names()),
            );
        }
        found
    });
    let quantity = row
        .number("quantity", (1.0, 1000.0), "", messages)
        .map_or(1, |quantity| quantity as u32);
    if row
        .cell("quantity")
        .is_some_and(|text| text.parse::<f64>().is_ok_and(|n| n.fract() != 0.0))
    {
        row.complain(
            messages,
            "whole-number",
            "quantity",
            format!("`quantity` of `{}` must be a whole number", row.name()),
            "expected 1, 2, 3, …",
            None,
        );
    }
    let movable = read_movable(row, connection, messages);
    let protective_device = row.cell("protective_device").and_then(|text| {
        text.parse()
            .map_err(|error: super::device::NotADevice| {
                row.complain(
                    messages,
                    "protective-device",
                    "protective_device",
                    error.to_string(),
                    "expected gG, B, C or D and the rated current in A",
                    Some("leave the cell empty where the device is of another kind".to_owned()),
                );
            })
            .ok()
    });
    let meter = row.cell("meter").and_then(|wanted| {
        let ids = || context.meter_ids.iter().copied();
        let found = ids().position(|id| id == wanted);
        if found.is_none() {
            row.complain(
                messages,
                "unknown-meter",
                "meter",
                format!("there is no meter `{wanted}`"),
                "expected the id of a `[[meter]]` in site.toml",
                did_you_mean(wanted, ids()),
            );
        }
        found
    });
    Some(Machine {
        name: name?.to_owned(),
        tapped_off: tapped_off?,
        connection: connection?,
        rating: rating?,
        power_factor: power_factor?,
        leading,
        utilisation_factor,
        third_harmonic,
        schedule,
        quantity,
        movable: movable?,
        keep_with: row.cell("keep_with").map(str::to_owned),
        protective_device,
        meter,
        description: row.cell("description").unwrap_or("").to_owned(),
        line: row.line,
    })
}

fn required<'r>(
    row: &Row<'r>,
    column: &'static str,
    expected: &str,
    messages: &mut Messages,
) -> Option<&'r str> {
    let cell = row.cell(column);
    if cell.is_none() && row.columns.contains_key(column) {
        row.complain(
            messages,
            "empty-cell",
            column,
            if column == "machine" {
                "this row has no machine name".to_owned()
            } else {
                format!("`{column}` of `{}` is empty", row.name())
            },
            format!("expected {expected}"),
            None,
        );
    }
    cell
}

pub(super) fn find_node(
    row: &Row<'_>,
    site: &Site,
    id: &str,
    column: &str,
    messages: &mut Messages,
) -> Option<Node> {
    let found = site
        .nodes()
        .into_iter()
        .find(|&node| site.node_name(node) == id);
    if found.is_none() {
        let names = site.nodes().into_iter().map(|node| site.node_name(node));
        row.complain(
            messages,
            "unknown-circuit",
            column,
            format!("there is no circuit or board `{id}`"),
            "expected the id of a circuit or board in site.toml",
            did_you_mean(id, names),
        );
    }
    found
}

/// Of the class named, of IE3 where none is; `None` outside the tables.
fn usual_efficiency(class: Option<EfficiencyClass>, shaft_kw: f64) -> Option<f64> {
    class_efficiency(
        class.unwrap_or(EfficiencyClass::Ie3),
        Watts::from_kilo(shaft_kw),
    )
}

/// A machine on a one- or two-phase circuit must be connected within the circuit's phases.
fn check_phases(
    row: &Row<'_>,
    site: &Site,
    node: Node,
    connection: Connection,
    messages: &mut Messages,
) {
    let Node::Circuit(index) = node else { return };
    let circuit = &site.circuits[index];
    let fits = match circuit.phases {
        Connection::ToNeutral(_) => connection == circuit.phases || connection == Connection::Any,
        Connection::Between(_) => connection == circuit.phases || connection == Connection::AnyPair,
        _ => true,
    };
    if !fits {
        row.complain(
            messages,
            "not-on-circuit",
            "connection",
            format!(
                "`{}` is on `{connection}`, but circuit `{}` carries only {}",
                row.name(),
                circuit.id,
                circuit.phases
            ),
            format!("expected {}", circuit.phases),
            Some(
                "change the circuit's `phases`, or give the circuit that the machine is really on"
                    .to_owned(),
            ),
        );
    }
}

fn read_rating(row: &Row<'_>, context: &Context<'_>, messages: &mut Messages) -> Option<Rating> {
    let columns = ["power_kw", "apparent_kva", "current_a", "shaft_kw"];
    let given: Vec<&str> = columns
        .into_iter()
        .filter(|column| row.cell(column).is_some())
        .collect();
    let positive = |high: f64| (f64::MIN_POSITIVE, high);
    match given[..] {
        [] => {
            if columns
                .iter()
                .any(|column| row.columns.contains_key(column))
            {
                let column = columns
                    .into_iter()
                    .find(|column| row.columns.contains_key(column))
                    .unwrap_or("machine");
                row.complain(
                    messages,
                    "missing-rating",
                    column,
                    format!("`{}` has no rating", row.name()),
                    "expected exactly one of power_kw, apparent_kva, current_a, shaft_kw",
                    Some("take it from the rating plate".to_owned()),
                );
            }
            None
        }
        ["power_kw"] => row
            .number("power_kw", positive(10_000.0), "kW", messages)
            .map(Rating::Power),
        ["apparent_kva"] => row
            .number("apparent_kva", positive(10_000.0), "kVA", messages)
            .map(Rating::Apparent),
        ["current_a"] => row
            .number("current_a", positive(20_000.0), "A", messages)
            .map(Rating::Current),
        ["shaft_kw"] => {
            let kilowatts = row.number("shaft_kw", positive(10_000.0), "kW", messages);
            let efficiency = row
                .number("efficiency", (0.05, 1.0), "", messages)
                .or_else(|| {
                    let typical = context.unplaced && row.cell("efficiency").is_none();
                    let class = row
                        .cell("efficiency_class")
                        .and_then(|text| text.parse().ok());
                    typical
                        .then(|| usual_efficiency(class, kilowatts?))
                        .flatten()
                });
            if row.cell("efficiency").is_none() && efficiency.is_none() {
                row.complain(
                    messages,
                    "missing-efficiency",
                    "shaft_kw",
                    format!("`shaft_kw` of `{}` needs its efficiency", row.name()),
                    "a shaft power alone does not tell the input",
                    Some("add the column `efficiency`, such as `0.89`".to_owned()),
                );
            }
            Some(Rating::Shaft {
                kilowatts: kilowatts?,
                efficiency: efficiency?,
            })
        }
        [.., second] => {
            row.complain(
                messages,
                "two-ratings",
                second,
                format!(
                    "`{}` has {} ratings: {}",
                    row.name(),
                    given.len(),
                    given.join(", ")
                ),
                "expected exactly one rating",
                Some("leave the other cells empty".to_owned()),
            );
            None
        }
    }
}

fn read_power_factor(row: &Row<'_>, messages: &mut Messages) -> (Option<f64>, bool) {
    let Some(text) = row.cell("power_factor") else {
        return (Some(1.0), false);
    };
    let lower = text.to_ascii_lowercase();
    let leading = lower.ends_with("lead");
    let number = lower
        .trim_end_matches("lead")
        .trim_end_matches("lag")
        .trim();
    // 0.72 written as 72 or 72 %.
    let percent = number.trim_end_matches('%').trim().parse::<f64>();
    if let Some(percent) = percent
        .ok()
        .filter(|percent| (2.0..=100.0).contains(percent))
    {
        row.complain(
            messages,
            "power-factor-range",
            "power_factor",
            format!("the power factor of `{}` is not a percentage", row.name()),
            format!("expected 0.05 to 1, found `{text}`"),
            Some(format!("write `{}`", percent / 100.0)),
        );
        return (None, leading);
    }
    let outside = number
        .parse::<f64>()
        .ok()
        .filter(|n| n.is_finite() && !(0.05..=1.0).contains(n));
    if outside.is_some() {
        messages.push(
            Message::error(
                "power-factor-range",
                format!("the power factor of `{}` cannot be {number}", row.name()),
            )
            .at(
                row.place("power_factor"),
                format!("expected 0.05 to 1, found `{text}`"),
            )
            .note("active power is never more than apparent power: their ratio is at most 1")
            .help("take it from the rating plate; a leading one is written `0.9 lead`"),
        );
        return (None, leading);
    }
    let value = row.number_of(number, "power_factor", (0.05, 1.0), "", messages);
    (value, leading)
}

fn read_movable(
    row: &Row<'_>,
    connection: Option<Connection>,
    messages: &mut Messages,
) -> Option<bool> {
    let usual = !matches!(connection, Some(Connection::ThreePhase { .. }));
    match row.cell("movable").map(str::to_ascii_lowercase).as_deref() {
        None => Some(usual),
        Some("yes") => Some(true),
        Some("no") => {
            if connection.is_some_and(Connection::is_open) {
                row.complain(
                    messages,
                    "open-and-fixed",
                    "movable",
                    format!("`{}` has no phase yet and cannot be fixed", row.name()),
                    "expected yes, or a definite connection",
                    Some("write the phase that it is on, or let it be assigned".to_owned()),
                );
                return None;
            }
            Some(false)
        }
        Some(_) => {
            row.complain(
                messages,
                "yes-or-no",
                "movable",
                format!("`movable` of `{}` must be yes or no", row.name()),
                "expected yes or no",
                None,
            );
            None
        }
    }
}
