//! The rows of a circuit chart: everything that is connected to a board.

use super::changed::{ChangedSite, Mark};
use super::ways::BoardWays;
use balance::{standing_connection, turn};
use site::{Cable, Conductor, Connection, DeviceKind, Node, ProtectiveDevice, Site};

/// What a row of the chart is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum RowKind {
    /// A circuit, or a machine with a circuit of its own.
    Circuit,
    /// A board fed from here.
    Board,
    /// A way that holds nothing.
    Spare,
}

/// A circuit, a machine with a circuit of its own, a board fed from here, or a spare way.
#[derive(Clone, Debug)]
pub(super) struct ChartRow {
    /// Number of its way; `None` where it has none.
    pub(super) way: Option<u32>,
    /// Uses a way on L1, L2, L3.
    pub(super) phases: [bool; 3],
    /// The same in words.
    pub(super) on: String,
    pub(super) id: String,
    pub(super) serves: Vec<Served>,
    pub(super) device: String,
    pub(super) rcd: String,
    /// Cross-sectional areas of phase and neutral [mm²], and what is known of the cable besides.
    pub(super) phase_mm2: String,
    pub(super) neutral_mm2: String,
    pub(super) cable: String,
    /// `new`, `moved`, `changed`; empty where nothing is.
    pub(super) word: &'static str,
    pub(super) kind: RowKind,
}

/// A machine on a row.
#[derive(Clone, Debug)]
pub(super) struct Served {
    pub(super) text: String,
    /// `new`, or `moved, was on L1`; empty where nothing is changed.
    pub(super) remark: String,
}

/// Shown where the site file gives nothing.
const NOT_GIVEN: &str = units::UNKNOWN;

impl ChartRow {
    /// A row of which only its place is known.
    fn at(phases: [bool; 3], on: String, kind: RowKind) -> ChartRow {
        let not_given = || NOT_GIVEN.to_owned();
        ChartRow {
            way: None,
            phases,
            on,
            id: String::new(),
            serves: Vec::new(),
            device: not_given(),
            rcd: not_given(),
            phase_mm2: not_given(),
            neutral_mm2: not_given(),
            cable: not_given(),
            word: "",
            kind,
        }
    }

    fn with_cable(self, cable: Option<&Cable>) -> ChartRow {
        let Some(cable) = cable else { return self };
        ChartRow {
            phase_mm2: cable.phase_mm2.to_string(),
            neutral_mm2: cable.neutral_mm2.to_string(),
            cable: format!("{}\u{A0}m {}", cable.length_m, metal(cable.conductor)),
            ..self
        }
    }

    pub(super) fn is_board(&self) -> bool {
        self.kind == RowKind::Board
    }

    pub(super) fn is_spare(&self) -> bool {
        self.kind == RowKind::Spare
    }

    /// Number and phases of its way: `3 L1`.
    fn at_way(&self) -> Option<String> {
        Some(format!("way {} on {}", self.way?, self.on))
    }
}

/// Numbered ways in their order on the board, the spare ones among them; then what has no number: three-phase circuits,
/// those between phases, then L1, L2, L3, each in the order of the site file.
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
    let declared = match here {
        Node::Board(index) => site.boards[index].ways,
        _ => None,
    };
    let ways = find_ways(&mut rows, declared);
    let uses_ways = |row: &ChartRow| !row.is_board();
    // Where a circuit has no number nobody knows which ways are spare, only how many.
    if rows
        .iter()
        .all(|(_, row)| row.way.is_some() || !uses_ways(row))
    {
        rows.extend(ways.spare().into_iter().map(|(way, phases)| {
            let row = ChartRow {
                way: Some(way),
                ..spare(phases)
            };
            (0, row)
        }));
    } else if let Some(declared) = declared {
        let free = [0, 1, 2].map(|k| {
            let used = rows
                .iter()
                .filter(|(_, row)| uses_ways(row) && row.phases[k]);
            (declared[k] as usize).saturating_sub(used.count())
        });
        if free.iter().any(|free| *free > 0) {
            let row = ChartRow {
                id: format!("{} on L1, {} on L2, {} on L3", free[0], free[1], free[2]),
                ..spare(free.map(|free| free > 0))
            };
            rows.push((LAST, row));
        }
    }
    rows.sort_by_key(|(place, row)| {
        let first = row.phases.iter().position(|taken| *taken).unwrap_or(3);
        let unnumbered = if row.is_board() { 0 } else { u64::MAX };
        let way = row.way.map_or(unnumbered, u64::from);
        // Within a numbered way by phase; spare ones count as what would be there.
        let within = if row.way.is_some() { first } else { *place };
        (way, within)
    });
    rows.into_iter().map(|(_, row)| row).collect()
}

/// Gives what was moved a way on its new phases; the way that it had stays with it in words.
fn find_ways(rows: &mut [(usize, ChartRow)], declared: Option<[u32; 3]>) -> BoardWays {
    let mut ways = BoardWays::new(declared);
    for (_, row) in rows.iter() {
        if let Some(way) = row.way.filter(|_| row.word != "moved") {
            ways.take(way, row.phases);
        }
    }
    for (_, row) in rows.iter_mut().filter(|(_, row)| row.word == "moved") {
        let Some(had) = row.way else { continue };
        row.way = ways.take_near(had, row.phases);
        let remark = match row.at_way() {
            Some(now) if row.way != Some(had) => format!("had way {had}, goes to {now}"),
            Some(_) => continue,
            None => format!("had way {had}; no way is spare on {}", row.on),
        };
        row.serves.push(Served {
            text: String::new(),
            remark,
        });
    }
    ways
}

fn spare(phases: [bool; 3]) -> ChartRow {
    ChartRow {
        device: String::new(),
        rcd: String::new(),
        phase_mm2: String::new(),
        neutral_mm2: String::new(),
        cable: String::new(),
        ..ChartRow::at(phases, "spare".to_owned(), RowKind::Spare)
    }
}

/// Place of what has no phase yet, and of what comes after everything.
const LAST: usize = 6;

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
        id: format!("Board {id}"),
        serves: vec![Served {
            text: "see its own chart".to_owned(),
            remark: String::new(),
        }],
        ..ChartRow::at([true; 3], words(Connection::THREE_PHASE), RowKind::Board)
    }
    .with_cable(cable)
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
    let points = circuit.points.iter().map(|points| Served {
        text: points.clone(),
        remark: String::new(),
    });
    let served = |&machine: &usize| served(changed, machine, is_three_phase);
    let row = ChartRow {
        way: circuit.way,
        id: circuit.id.clone(),
        serves: points.chain(machines.iter().map(served)).collect(),
        device: device_words(circuit.protective_device),
        word,
        ..ChartRow::at(
            taken(circuit.phases),
            words(circuit.phases),
            RowKind::Circuit,
        )
    };
    let rcd = circuit.rcd.clone();
    ChartRow {
        rcd: rcd.unwrap_or(row.rcd),
        ..row
    }
    .with_cable(circuit.cable.as_ref())
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
    let mut row = ChartRow {
        id: "separate way".to_owned(),
        serves: vec![own],
        device: device_words(changed.site.machines[machine].protective_device),
        word,
        ..ChartRow::at(taken(on), words(on), RowKind::Circuit)
    };
    if let Some((length_m, mm2)) = cable {
        row.cable = format!("{length_m}\u{A0}m copper");
        row.phase_mm2 = mm2.map_or_else(|| "to be chosen".to_owned(), |mm2| mm2.to_string());
        row.neutral_mm2.clone_from(&row.phase_mm2);
    }
    row
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
        text = format!("{text} (own {})", device_words(Some(device)));
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

/// In full: `circuit-breaker, type B, 32 A`.
fn device_words(device: Option<ProtectiveDevice>) -> String {
    let Some(device) = device else {
        return NOT_GIVEN.to_owned();
    };
    let kind = match device.kind {
        DeviceKind::Gg => "gG fuse",
        DeviceKind::B => "circuit-breaker type\u{A0}B",
        DeviceKind::C => "circuit-breaker type\u{A0}C",
        DeviceKind::D => "circuit-breaker type\u{A0}D",
        DeviceKind::SemiEnclosed => "semi-enclosed fuse BS\u{A0}3036",
    };
    format!("{kind}, {}\u{A0}A", device.rated_a)
}

fn metal(conductor: Conductor) -> &'static str {
    match conductor {
        Conductor::Copper => "copper",
        Conductor::Aluminium => "aluminium",
    }
}

/// `30 m, 6 mm² copper, neutral 4 mm²`.
pub(super) fn cable_words(cable: &Cable) -> String {
    let neutral = if (cable.phase_mm2 - cable.neutral_mm2).abs() > 1e-9 {
        format!(", neutral {}\u{A0}mm²", cable.neutral_mm2)
    } else {
        String::new()
    };
    format!(
        "{}\u{A0}m, {}\u{A0}mm² {}{neutral}",
        cable.length_m,
        cable.phase_mm2,
        metal(cable.conductor)
    )
}

fn own_cable_words((length_m, mm2): (f64, Option<f64>)) -> String {
    mm2.map_or_else(
        || format!("{length_m}\u{A0}m, cross-sectional area to be chosen"),
        |mm2| format!("{length_m}\u{A0}m, {mm2}\u{A0}mm² copper"),
    )
}
