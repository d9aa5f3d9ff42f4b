//! The rows of a circuit chart: everything that is connected to a board.

use super::changed::{ChangedSite, Mark};
use balance::{standing_connection, turn};
use site::{Cable, Conductor, Connection, Node, ProtectiveDevice, Site};

/// A circuit, a machine with a circuit of its own, or a board fed from here.
#[derive(Clone, Debug)]
pub(super) struct ChartRow {
    /// Uses a way on L1, L2, L3.
    pub(super) phases: [bool; 3],
    /// The same in words.
    pub(super) on: String,
    pub(super) id: String,
    pub(super) serves: Vec<Served>,
    pub(super) device: String,
    pub(super) cable: String,
    /// `new`, `moved`, `changed`; empty where nothing is.
    pub(super) word: &'static str,
    pub(super) is_board: bool,
}

/// A machine on a row.
#[derive(Clone, Debug)]
pub(super) struct Served {
    pub(super) text: String,
    /// `new`, or `moved, was on L1`; empty where nothing is changed.
    pub(super) remark: String,
}

const NOT_GIVEN: &str = "not given";

/// Three-phase circuits first, then those between phases, then L1, L2, L3, each in the order of the site file.
pub(super) fn rows(changed: &ChangedSite, here: Node) -> Vec<ChartRow> {
    let site = &changed.site;
    let mut rows: Vec<(usize, ChartRow)> = Vec::new();
    for (index, board) in site.boards.iter().enumerate() {
        if site.parent(Node::Board(index)) == Some(here) {
            rows.push((0, feeder(&board.id, board.feeder.as_ref())));
        }
    }
    for (index, circuit) in site.circuits.iter().enumerate() {
        if circuit.board == here {
            rows.push((place(circuit.phases), circuit_row(changed, index)));
        }
    }
    for (index, machine) in site.machines.iter().enumerate() {
        if machine.tapped_off == here {
            let on = standing_connection(site, index);
            rows.push((place(on), machine_row(changed, index, on)));
        }
    }
    rows.sort_by_key(|(place, _)| *place);
    rows.into_iter().map(|(_, row)| row).collect()
}

/// Order of a connection's rows in the chart.
fn place(connection: Connection) -> usize {
    match connection {
        Connection::ThreePhase { .. } => 0,
        Connection::Between(_) => 1,
        Connection::ToNeutral(phase) => 2 + phase.index(),
        Connection::Any | Connection::AnyPair | Connection::Unknown => 5,
    }
}

fn taken(connection: Connection) -> [bool; 3] {
    match (connection, turn(connection)) {
        (Connection::ThreePhase { .. }, _) => [true; 3],
        (Connection::Between(_), Some(at)) => {
            [0, 1, 2].map(|phase| phase == at || phase == (at + 1) % 3)
        }
        (_, Some(at)) => [0, 1, 2].map(|phase| phase == at),
        (_, None) => [false; 3],
    }
}

fn words(connection: Connection) -> String {
    match connection {
        Connection::ThreePhase { .. } => "three-phase".to_owned(),
        Connection::Any | Connection::AnyPair => "no phase yet".to_owned(),
        Connection::Unknown => "phase not known".to_owned(),
        connection => connection.to_string(),
    }
}

fn feeder(id: &str, cable: Option<&Cable>) -> ChartRow {
    ChartRow {
        phases: [true; 3],
        on: words(Connection::THREE_PHASE),
        id: format!("Board {id}"),
        serves: vec![Served {
            text: "see its own chart".to_owned(),
            remark: String::new(),
        }],
        device: NOT_GIVEN.to_owned(),
        cable: cable.map_or_else(|| NOT_GIVEN.to_owned(), cable_words),
        word: "",
        is_board: true,
    }
}

fn circuit_row(changed: &ChangedSite, index: usize) -> ChartRow {
    let site = &changed.site;
    let circuit = &site.circuits[index];
    let machines: Vec<usize> = (0..site.machines.len())
        .filter(|&machine| site.machines[machine].tapped_off == Node::Circuit(index))
        .collect();
    let is_three_phase = matches!(circuit.phases, Connection::ThreePhase { .. });
    let word = match machines.iter().find_map(|&machine| changed.mark(machine)) {
        None => "",
        Some(Mark::Moved { .. }) if !is_three_phase => "moved",
        Some(_) => "changed",
    };
    let served = |&machine: &usize| served(changed, machine, is_three_phase);
    ChartRow {
        phases: taken(circuit.phases),
        on: words(circuit.phases),
        id: circuit.id.clone(),
        serves: machines.iter().map(served).collect(),
        device: device_words(circuit.protective_device),
        cable: circuit
            .cable
            .as_ref()
            .map_or_else(|| NOT_GIVEN.to_owned(), cable_words),
        word,
        is_board: false,
    }
}

fn machine_row(changed: &ChangedSite, machine: usize, on: Connection) -> ChartRow {
    let (word, cable) = match changed.mark(machine) {
        None => ("", None),
        Some(Mark::New { cable }) => ("new", cable),
        Some(Mark::Moved { .. }) => ("moved", None),
    };
    let mut own = served(changed, machine, false);
    if word == "new" {
        own.remark.clear();
    }
    ChartRow {
        phases: taken(on),
        on: words(on),
        id: "separate way".to_owned(),
        serves: vec![own],
        device: device_words(changed.site.machines[machine].protective_device),
        cable: cable.map_or_else(|| NOT_GIVEN.to_owned(), own_cable_words),
        word,
        is_board: false,
    }
}

fn served(changed: &ChangedSite, machine: usize, says_phase: bool) -> Served {
    let site: &Site = &changed.site;
    let row = &site.machines[machine];
    let mut text = row.name.clone();
    if row.quantity > 1 {
        text = format!("{} × {text}", row.quantity);
    }
    if says_phase {
        text = format!("{text}, {}", words(standing_connection(site, machine)));
    }
    if let (Some(device), Node::Circuit(_)) = (row.protective_device, row.tapped_off) {
        text = format!("{text} (own\u{A0}{})", rating(device));
    }
    let remark = match changed.mark(machine) {
        None => String::new(),
        Some(Mark::New { cable }) => cable.map_or_else(
            || "new".to_owned(),
            |cable| format!("new, own cable {}", own_cable_words(cable)),
        ),
        Some(Mark::Moved { from }) => format!("moved, was on {}", words(from)),
    };
    Served { text, remark }
}

fn device_words(device: Option<ProtectiveDevice>) -> String {
    device.map_or_else(|| NOT_GIVEN.to_owned(), rating)
}

/// `gG 20`, not broken over two lines.
fn rating(device: ProtectiveDevice) -> String {
    device.to_string().replace(' ', "\u{A0}")
}

/// `30 m, 6 mm² copper, neutral 4 mm²`.
pub(super) fn cable_words(cable: &Cable) -> String {
    let material = match cable.conductor {
        Conductor::Copper => "copper",
        Conductor::Aluminium => "aluminium",
    };
    let neutral = if (cable.phase_mm2 - cable.neutral_mm2).abs() > 1e-9 {
        format!(", neutral {}\u{A0}mm²", cable.neutral_mm2)
    } else {
        String::new()
    };
    format!(
        "{}\u{A0}m, {}\u{A0}mm² {material}{neutral}",
        cable.length_m, cable.phase_mm2
    )
}

fn own_cable_words((length_m, mm2): (f64, Option<f64>)) -> String {
    mm2.map_or_else(
        || format!("{length_m}\u{A0}m, cross-sectional area to be chosen"),
        |mm2| format!("{length_m}\u{A0}m, {mm2}\u{A0}mm² copper"),
    )
}
