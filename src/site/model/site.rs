//! The whole installation as declared.

use std::path::PathBuf;

use chrono::NaiveDate;
use chrono_tz::Tz;

use super::accepted::Accepted;
use super::accuracy::Accuracy;
use super::carbon::CarbonFile;
use super::connection::Connection;
use super::device::{Cable, ProtectiveDevice};
use super::machine::Machine;
use super::meter::Meter;
use super::node::{Measured, Node};
use super::schedule::Schedule;
use super::site_tariffs::MeterTariffs;
use super::thresholds::Thresholds;
use super::variable::{BaselineTerms, Variable};
use super::work::Work;
use tariff::{BillingPeriods, Tariff, Terms};
use user_tables::{TableFile, Understood};

/// The supply: line voltage, limits and what marks the conductors.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// Is it declared? Without it only energy can be worked out: what is below has no limits.
    pub declared: bool,
    /// Nominal voltage between lines. (V)
    pub line_voltage_v: f64,
    /// Frequency. (Hz)
    pub frequency_hz: f64,
    /// Fuse or agreed capacity, per phase. (A)
    pub phase_limit_a: f64,
    /// Limit of the neutral. (A)
    pub neutral_limit_a: f64,
    /// Rated power of the transformer. (kVA)
    pub transformer_kva: Option<f64>,
    /// What marks L1, L2, L3 and N, in the site's own words.
    pub conductor_marks: Option<[String; 4]>,
}

impl Supply {
    /// Nothing is declared: limits that exclude nothing.
    #[must_use]
    pub fn not_declared() -> Supply {
        const NO_LIMIT_A: f64 = 1e9;
        Supply {
            declared: false,
            line_voltage_v: 400.0,
            frequency_hz: 50.0,
            phase_limit_a: NO_LIMIT_A,
            neutral_limit_a: NO_LIMIT_A,
            transformer_kva: None,
            conductor_marks: None,
        }
    }

    /// Nominal voltage between phase and neutral, U0. (V)
    #[must_use]
    pub fn phase_voltage_v(&self) -> f64 {
        self.line_voltage_v / 3.0_f64.sqrt()
    }
}

/// A distribution board.
#[derive(Clone, Debug, PartialEq)]
pub struct Board {
    /// Unique name.
    pub id: String,
    /// Where it is fed from.
    pub fed_from: Node,
    /// Limit per phase. (A)
    pub phase_limit_a: Option<f64>,
    /// Limit of the neutral. (A)
    pub neutral_limit_a: Option<f64>,
    /// Single-pole ways on L1, L2, L3; `None`: not limited.
    pub ways: Option<[u32; 3]>,
    /// Its feeder.
    pub feeder: Option<Cable>,
    /// Its main switch or incoming device, in the user's own words.
    pub incomer: Option<String>,
    /// When it was last inspected and tested.
    pub tested: Option<NaiveDate>,
    /// Revision of its circuit chart.
    pub revision: Option<String>,
}

/// A circuit of a board.
#[derive(Clone, Debug, PartialEq)]
pub struct Circuit {
    /// Unique name.
    pub id: String,
    /// The board it leaves (or the supply).
    pub board: Node,
    /// Its phases; all that is on a one- or two-phase circuit moves with it.
    pub phases: Connection,
    /// May its phase be changed?
    pub movable: bool,
    /// Its protective device.
    pub protective_device: Option<ProtectiveDevice>,
    /// Its cable.
    pub cable: Option<Cable>,
    /// Largest voltage drop that is accepted. (%)
    pub voltage_drop_limit_pct: f64,
    /// What it is used for.
    pub usage: Option<String>,
    /// Number of its way on the board, counted in rows of one way on each phase.
    pub way: Option<u32>,
    /// Its residual-current device, in the user's own words.
    pub rcd: Option<String>,
    /// Points that it serves, in the user's own words.
    pub points: Option<String>,
}

/// A cable size of the user's own table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CableSize {
    /// Cross-section. (mm²)
    pub mm2: f64,
    /// Current-carrying capacity. (A)
    pub current_capacity_a: f64,
}

/// Where clamp-meter readings are looked for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum ReadingsSource {
    /// In a file of the site folder.
    #[default]
    InFolder,
    /// On a sheet of the workbook that holds the site, where it has one.
    Sheet(Option<TableFile>),
}

/// The installation as declared.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// The folder it was read from.
    pub folder: PathBuf,
    /// Its name.
    pub name: String,
    /// Zone that decides days, shifts and tariff bands.
    pub timezone: Tz,
    /// ISO 4217 code.
    pub currency: Option<String>,
    /// The user's own factor. (g/kWh)
    pub carbon_g_per_kwh: Option<f64>,
    /// A file of the user's own factors, where one for all time is not enough.
    pub carbon: Option<CarbonFile>,
    /// Length of a demand block. (min)
    pub demand_window_min: u32,
    /// Days on which no schedule starts.
    pub holidays: Vec<NaiveDate>,
    /// The supply.
    pub supply: Supply,
    /// Boards, in file order.
    pub boards: Vec<Board>,
    /// Circuits, in file order.
    pub circuits: Vec<Circuit>,
    /// Schedules, in file order.
    pub schedules: Vec<Schedule>,
    /// The user's cable table.
    pub cable_sizes: Vec<CableSize>,
    /// Meters, in file order.
    pub meters: Vec<Meter>,
    /// Machines, in list order.
    pub machines: Vec<Machine>,
    /// The machine list in the declared columns.
    pub machine_list: String,
    /// Where the readings are.
    pub readings: ReadingsSource,
    /// How the machine list was understood.
    pub understood: Understood,
    /// Findings that the user has accepted.
    pub accepted: Vec<Accepted>,
    /// Work that changed which phase loads are on, earliest first.
    pub works: Vec<Work>,
    /// Limits that decide whether something is a finding.
    pub thresholds: Thresholds,
    /// How far what is declared and read by hand can be off.
    pub accuracy: Accuracy,
    /// Prices, ascending by the date from which they hold; empty without a tariff.
    pub tariffs: Vec<Tariff>,
    /// Prices of single meters of the supply, which have contracts of their own.
    pub meter_tariffs: Vec<MeterTariffs>,
    /// When billing periods begin.
    pub billing: BillingPeriods,
    /// Series that may explain the energy, in file order.
    pub variables: Vec<Variable>,
    /// What the energy is compared with, where that is declared.
    pub baseline: Option<BaselineTerms>,
}

impl Site {
    /// A site that is nothing but logs: a folder, and meters of one supply.
    #[must_use]
    pub fn of_meters(folder: PathBuf, name: String, timezone: Tz, meters: Vec<Meter>) -> Site {
        Site {
            folder,
            name,
            timezone,
            currency: None,
            carbon_g_per_kwh: None,
            carbon: None,
            demand_window_min: 30,
            holidays: Vec::new(),
            supply: Supply::not_declared(),
            boards: Vec::new(),
            circuits: Vec::new(),
            schedules: Vec::new(),
            cable_sizes: Vec::new(),
            meters,
            machines: Vec::new(),
            machine_list: String::new(),
            readings: ReadingsSource::Sheet(None),
            understood: Understood::default(),
            accepted: Vec::new(),
            works: Vec::new(),
            thresholds: Thresholds::default(),
            accuracy: Accuracy::default(),
            tariffs: Vec::new(),
            meter_tariffs: Vec::new(),
            billing: BillingPeriods::default(),
            variables: Vec::new(),
            baseline: None,
        }
    }

    /// The prices with the calendar that they go by. Where meters have prices of their own, those of a load are not known:
    /// none.
    #[must_use]
    pub fn terms(&self) -> Terms<'_> {
        let general = self.terms_of("");
        Terms {
            tariffs: if self.meter_tariffs.is_empty() {
                general.tariffs
            } else {
                &[]
            },
            ..general
        }
    }

    /// The prices that bill a meter of the supply; those of the meters without prices of their own for any other name.
    #[must_use]
    pub fn terms_of(&self, meter: &str) -> Terms<'_> {
        let own = self.meter_tariffs.iter().find(|own| own.meter == meter);
        Terms {
            tariffs: own.map_or(&self.tariffs, |own| &own.tariffs),
            zone: self.timezone,
            holidays: &self.holidays,
            billing: &self.billing,
            currency: self.currency.as_deref(),
        }
    }

    /// Is there any price?
    #[must_use]
    pub fn has_tariff(&self) -> bool {
        !(self.tariffs.is_empty() && self.meter_tariffs.is_empty())
    }

    /// Name of a node: `supply`, or the board's or circuit's id.
    #[must_use]
    pub fn node_name(&self, node: Node) -> &str {
        match node {
            Node::Supply => "supply",
            Node::Board(index) => &self.boards[index].id,
            Node::Circuit(index) => &self.circuits[index].id,
        }
    }

    /// The node of a name; in other capitals where only one node is meant.
    #[must_use]
    pub fn node_called(&self, name: &str) -> Option<Node> {
        let nodes = self.nodes();
        let exact = nodes.iter().find(|&&node| self.node_name(node) == name);
        exact.copied().or_else(|| {
            let lower = name.to_lowercase();
            let mut alike = nodes
                .iter()
                .filter(|&&node| self.node_name(node).to_lowercase() == lower);
            alike.next().copied().filter(|_| alike.next().is_none())
        })
    }

    /// Name of what a meter measures.
    #[must_use]
    pub fn measured_name(&self, measured: Measured) -> &str {
        match measured {
            Measured::Node(node) => self.node_name(node),
            Measured::Machine(index) => &self.machines[index].name,
        }
    }

    /// The node above, `None` for the supply.
    #[must_use]
    pub fn parent(&self, node: Node) -> Option<Node> {
        match node {
            Node::Supply => None,
            Node::Board(index) => Some(self.boards[index].fed_from),
            Node::Circuit(index) => Some(self.circuits[index].board),
        }
    }

    /// Supply, boards and circuits, each once, in file order.
    pub fn nodes(&self) -> Vec<Node> {
        std::iter::once(Node::Supply)
            .chain((0..self.boards.len()).map(Node::Board))
            .chain((0..self.circuits.len()).map(Node::Circuit))
            .collect()
    }

    /// Is `node` the node `above` or somewhere below it?
    #[must_use]
    pub fn is_within(&self, node: Node, above: Node) -> bool {
        std::iter::successors(Some(node), |&at| self.parent(at)).any(|at| at == above)
    }

    /// Does something generate at a measured place or below it, as the machine list says?
    #[must_use]
    pub fn generates_at(&self, measured: Measured) -> bool {
        self.machines.iter().enumerate().any(|(index, machine)| {
            let is_seen = match measured {
                Measured::Machine(own) => own == index,
                Measured::Node(node) => self.is_within(machine.tapped_off, node),
            };
            machine.generates() && is_seen
        })
    }

    /// Limit per phase of a node: declared for supply and boards, the device of a circuit. (A)
    #[must_use]
    pub fn phase_limit_a(&self, node: Node) -> Option<f64> {
        match node {
            Node::Supply => Some(self.supply.phase_limit_a),
            Node::Board(index) => self.boards[index].phase_limit_a,
            Node::Circuit(index) => self.circuits[index]
                .protective_device
                .map(|device| device.rated_a),
        }
    }

    /// Limit of the neutral of a node. (A)
    #[must_use]
    pub fn neutral_limit_a(&self, node: Node) -> Option<f64> {
        match node {
            Node::Supply => Some(self.supply.neutral_limit_a),
            Node::Board(index) => self.boards[index].neutral_limit_a,
            Node::Circuit(_) => None,
        }
    }

    /// Is what a meter measures on three phases? Supply and boards are; circuits and machines as
    /// declared.
    pub fn is_three_phase(&self, measured: Measured) -> bool {
        let connection = match measured {
            Measured::Node(Node::Supply | Node::Board(_)) => return true,
            Measured::Node(Node::Circuit(index)) => self.circuits[index].phases,
            Measured::Machine(index) => self.machines[index].connection,
        };
        matches!(connection, Connection::ThreePhase { .. })
    }

    /// The first meter that measures something.
    #[must_use]
    pub fn meter_of(&self, measured: Measured) -> Option<usize> {
        self.meters
            .iter()
            .position(|meter| meter.measures == measured)
    }

    /// The meter whose log is the machine's profile: named in the list, or measuring it.
    #[must_use]
    pub fn machine_meter(&self, machine: usize) -> Option<usize> {
        self.machines[machine]
            .meter
            .or_else(|| self.meter_of(Measured::Machine(machine)))
    }
}
