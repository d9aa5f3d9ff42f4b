//! Reads machines that look for a place: a list of their own, or the arguments of a command.

use super::connection::Connection;
use super::machine::{Machine, Rating};
use super::machine_row::Row;
use super::new_machine::{NewMachine, OwnCable, Start};
use super::read_machines::{Context, Shape, find_node, read_row, read_rows};
use super::site::Site;
use crate::electrical::{EfficiencyClass, typical_motor_current};
use crate::message::{InputErrors, Message, Messages, Place};
use crate::units::{Volts, Watts};

/// The columns of a list of new machines: those of the machine list, and what placing needs besides.
const COLUMNS: [&str; 24] = [
    "machine",
    "circuit",
    "connection",
    "power_kw",
    "apparent_kva",
    "current_a",
    "shaft_kw",
    "efficiency",
    "efficiency_class",
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
    "start",
    "start_ratio",
    "cable_m",
    "cable_mm2",
    "candidates",
];

/// Typical power factor of a motor while it starts: IEC 60364-5-52 gives none; handbooks take 0.35
/// (Electrical Installation Guide, from memory).
const STARTING_POWER_FACTOR: f64 = 0.35;

/// Reads a list of new machines.
///
/// # Errors
///
/// [`InputErrors`] with everything that is wrong in it.
pub fn read_new_machines(
    site: &Site,
    file: &str,
    text: &str,
) -> Result<Vec<NewMachine>, InputErrors> {
    let mut messages = Messages::new();
    let machines = read_list(site, file, text, &mut messages);
    if machines.is_empty() && !messages.has_errors() {
        messages.push(
            Message::error("no-machine", format!("`{file}` lists no machine"))
                .at(Place::file(file), "")
                .help("write one row for each machine that looks for a place"),
        );
    }
    messages.into_result()?;
    Ok(machines)
}

/// Reads one machine from the arguments of a command: column and value.
///
/// # Errors
///
/// [`InputErrors`], each pointing at its argument.
pub fn read_new_machine(
    site: &Site,
    arguments: &[(&'static str, String)],
) -> Result<Option<NewMachine>, InputErrors> {
    let header: Vec<&str> = arguments.iter().map(|(column, _)| *column).collect();
    let cells: Vec<String> = arguments
        .iter()
        .map(|(_, value)| {
            format!(
                "\"{}\"",
                value.replace('"', "\"\"").replace(['\r', '\n'], " ")
            )
        })
        .collect();
    let text = format!("{}\n{}\n", header.join(","), cells.join(","));
    let mut messages = Messages::new();
    let machines = read_list(site, "arguments", &text, &mut messages);
    let starts: Vec<usize> = cells
        .iter()
        .scan(1, |column, cell| {
            let start = *column;
            *column += cell.chars().count() + 1;
            Some(start)
        })
        .collect();
    let mut told = Messages::new();
    for message in messages.all() {
        told.push(at_argument(message.clone(), arguments, &starts));
    }
    told.into_result()?;
    Ok(machines.into_iter().next())
}

/// `power_kw` as the argument that gives it.
fn argument_of(column: &str) -> String {
    match column {
        "machine" => "--name".to_owned(),
        "protective_device" => "--device".to_owned(),
        column => format!("--{}", column.replace('_', "-")),
    }
}

/// A message about a cell, told of the argument that the cell was made from.
fn at_argument(
    mut message: Message,
    arguments: &[(&'static str, String)],
    starts: &[usize],
) -> Message {
    for column in COLUMNS {
        let (from, to) = (format!("`{column}`"), format!("`{}`", argument_of(column)));
        message.text = message.text.replace(&from, &to);
        message.expected = message.expected.replace(&from, &to);
        message.help = message.help.map(|help| {
            let help = help.replace("add the column", "give");
            help.replace(&from, &to)
        });
    }
    let of_place = message.place.as_ref().map_or(0, |place| place.column);
    let index = starts.iter().rposition(|&start| start <= of_place);
    if let (Some((column, value)), Some(_)) =
        (index.and_then(|index| arguments.get(index)), &message.place)
    {
        let name = argument_of(column);
        let line = format!("{name} {value}");
        let span = name.len() + 1..line.len();
        message.place = Some(Place::in_line("command line", 1, &line, span));
    }
    message
}

fn read_list(site: &Site, file: &str, text: &str, messages: &mut Messages) -> Vec<NewMachine> {
    let meter_ids: Vec<&str> = site.meters.iter().map(|meter| meter.id.as_str()).collect();
    let context = Context {
        site,
        meter_ids: &meter_ids,
        unplaced: true,
    };
    let shape = Shape {
        columns: &COLUMNS,
        unplaced: true,
    };
    let mut machines = Vec::new();
    read_rows(file, text, shape, messages, |row, messages| {
        let machine = read_row(row, &context, messages);
        let rest = Rest::read(row, site, messages);
        if let Some(name) = row.cell("machine")
            && site.machines.iter().any(|machine| machine.name == name)
        {
            row.complain(
                messages,
                "duplicate-machine",
                "machine",
                format!("the machine list has a `{name}` already"),
                "expected a name that is not in machines.csv",
                Some("give the new machine a name of its own".to_owned()),
            );
        }
        if let (Some(machine), Some(rest)) = (machine, rest) {
            machines.push(rest.join(site, row, machine));
        }
    });
    machines
}

/// What a list of new machines has besides the machine list's columns.
struct Rest {
    start: Option<Start>,
    cable: Option<OwnCable>,
    candidates: Vec<super::node::Node>,
}

impl Rest {
    fn read(row: &Row<'_>, site: &Site, messages: &mut Messages) -> Option<Rest> {
        let ratio = row.number("start_ratio", (1.0, 20.0), "", messages);
        let length_m = row.number("cable_m", (0.0, 5000.0), "m", messages);
        let mm2 = row.number("cable_mm2", (0.5, 1000.0), "mm²", messages);
        let start = read_start(row, ratio, messages)?;
        if mm2.is_some() && length_m.is_none() {
            row.complain(
                messages,
                "missing-length",
                "cable_mm2",
                format!("`cable_mm2` of `{}` has no length beside it", row.name()),
                "a section without a length is no cable",
                Some("add the column `cable_m`".to_owned()),
            );
        }
        if let Some(text) = row.cell("efficiency_class")
            && let Err(error) = text.parse::<EfficiencyClass>()
        {
            row.complain(
                messages,
                "efficiency-class",
                "efficiency_class",
                error.to_string(),
                "expected IE1, IE2 or IE3",
                None,
            );
        }
        // One place in `circuit`, or several in `candidates`.
        let listed = row.cell("candidates").or_else(|| row.cell("circuit"));
        let candidates = listed.map_or_else(Vec::new, |text| {
            text.split([',', ';'])
                .map(str::trim)
                .filter(|id| !id.is_empty())
                .filter_map(|id| find_candidate(row, site, id, messages))
                .collect()
        });
        Some(Rest {
            start: Some(start),
            cable: length_m.map(|length_m| OwnCable { length_m, mm2 }),
            candidates,
        })
    }

    fn join(self, site: &Site, row: &Row<'_>, mut machine: Machine) -> NewMachine {
        let mut typical = Vec::new();
        if let Rating::Shaft {
            kilowatts,
            efficiency,
        } = machine.rating
        {
            if row.cell("efficiency").is_none() {
                typical.push(format!(
                    "efficiency {:.1} %, the least of class {} for {kilowatts} kW (IEC 60034-30-1, four poles, 50 Hz)",
                    100.0 * efficiency,
                    row.cell("efficiency_class").unwrap_or("IE3"),
                ));
            }
            if row.cell("power_factor").is_none() {
                machine.power_factor =
                    motor_power_factor(site, kilowatts, efficiency, &mut typical);
            }
        }
        if let Some(start) = self.start.filter(|start| start.is_typical) {
            typical.push(format!(
                "starting current {} times the rated one (common practice)",
                start.ratio
            ));
        }
        NewMachine {
            machine,
            start: self.start.filter(|start| start.ratio > 1.0),
            cable: self.cable,
            candidates: self.candidates,
            typical,
        }
    }
}

/// From the typical current where the table has the output, else 0.8.
fn motor_power_factor(
    site: &Site,
    kilowatts: f64,
    efficiency: f64,
    typical: &mut Vec<String>,
) -> f64 {
    let line = site.supply.line_voltage_v;
    let current = typical_motor_current(Watts::from_kilo(kilowatts), Volts(line));
    if let Some(amps) = current {
        typical.push(format!(
            "current {:.1} A (IEC 60947-4-1, table G.1, from memory), from which the power factor follows",
            amps.0
        ));
        return (kilowatts * 1000.0 / (3.0_f64.sqrt() * line * amps.0 * efficiency)).min(1.0);
    }
    typical.push("power factor 0.8 (common practice)".to_owned());
    0.8
}

fn find_candidate(
    row: &Row<'_>,
    site: &Site,
    id: &str,
    messages: &mut Messages,
) -> Option<super::node::Node> {
    let column = if row.cell("candidates").is_some() {
        "candidates"
    } else {
        "circuit"
    };
    let node = find_node(row, site, id, column, messages)?;
    let three_phase = row.cell("connection") == Some("3ph");
    if let (true, super::node::Node::Circuit(index)) = (three_phase, node)
        && !matches!(site.circuits[index].phases, Connection::ThreePhase { .. })
    {
        row.complain(
            messages,
            "not-on-circuit",
            column,
            format!(
                "`{}` needs three phases, but circuit `{id}` carries only {}",
                row.name(),
                site.circuits[index].phases
            ),
            "expected a circuit on three phases, or a board",
            Some("leave it out of the candidates".to_owned()),
        );
        return None;
    }
    Some(node)
}

fn read_start(row: &Row<'_>, ratio: Option<f64>, messages: &mut Messages) -> Option<Start> {
    let motor = row.cell("shaft_kw").is_some();
    let usual = match row.cell("start").map(str::to_ascii_lowercase).as_deref() {
        None if motor => 6.0,
        None | Some("none") => 1.0,
        Some("direct") => 6.0,
        Some("star-delta") => 2.0,
        Some("soft") => 3.0,
        Some(other) => {
            row.complain(
                messages,
                "start",
                "start",
                format!("`{}` cannot start `{other}`", row.name()),
                "expected direct, star-delta, soft or none",
                None,
            );
            return None;
        }
    };
    Some(Start {
        ratio: ratio.unwrap_or(usual),
        power_factor: STARTING_POWER_FACTOR,
        is_typical: ratio.is_none() && usual > 1.0,
    })
}
