//! Meters and loads of the installation over the quarter-hours of the supply's meter.

use std::collections::BTreeMap;

use chrono::DateTime;

use super::super::BreakdownInput;
use crate::meter::meter_energy::MeterEnergy;
use crate::meter::quarter_hours::QuarterHours;
use analysis::logs_what_is_returned;
use site::{Measured, Node, Site};

/// Energy of a meter by the supply's quarter-hours, `None` where it has no reading. (kWh)
pub(super) type QuarterSeries = Vec<Option<f64>>;

/// Machines that are reported as one: those of one meter, or one without.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct UnitOfList {
    pub(super) name: String,
    pub(super) node: Node,
    /// The meter that measures nothing else.
    pub(super) meter: Option<usize>,
    /// Rating × utilisation factor. (kW)
    pub(super) declared_kw: f64,
    pub(super) schedule: Option<usize>,
    /// Metered nodes above it, the nearest first: places in [`InstallationTree::nodes`].
    pub(super) above: Vec<usize>,
}

/// A node with a meter.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct MeteredNode {
    pub(super) node: Node,
    pub(super) meter: usize,
    /// Metered nodes above it, the nearest first.
    pub(super) above: Vec<usize>,
}

/// What is shared out, and among what.
pub(super) struct InstallationTree<'a> {
    pub(super) site: &'a Site,
    pub(super) meters: &'a [MeterEnergy],
    pub(super) supply: &'a MeterEnergy,
    /// The supply first, then boards and circuits.
    pub(super) nodes: Vec<MeteredNode>,
    pub(super) loads: Vec<UnitOfList>,
    series: BTreeMap<usize, QuarterSeries>,
    /// Does each schedule run in each quarter-hour?
    runs: Vec<Vec<bool>>,
}

impl<'a> InstallationTree<'a> {
    /// The tree, and what is left out of it.
    pub(super) fn of(
        ground: &BreakdownInput<'a>,
        supply: &'a MeterEnergy,
    ) -> (InstallationTree<'a>, Vec<String>) {
        let site = ground.site;
        let (mut series, mut notes) = (BTreeMap::new(), Vec::new());
        for log in &ground.logs.meters {
            let id = &site.meters[log.meter].id;
            let Some(meter) = ground.meters.iter().find(|meter| meter.id == *id) else {
                continue;
            };
            let Some(energy) = meter.energy_kwh else {
                continue;
            };
            if energy < 0.0 && !logs_what_is_returned(&log.table) {
                notes.push(format!(
                    "meter `{id}` shows export from a load: it is not used; the estimate from the machine list is used instead"
                ));
                continue;
            }
            series.insert(
                log.meter,
                aligned(&supply.trace.quarters, &meter.trace.quarters),
            );
        }
        let mut tree = InstallationTree {
            site,
            meters: ground.meters,
            supply,
            nodes: metered_nodes(site, &series),
            loads: Vec::new(),
            series,
            runs: runs(site, &supply.trace.quarters),
        };
        tree.loads = tree.all_loads();
        (tree, notes)
    }

    /// What a meter saw in a quarter-hour, by its place among the supply's. (kWh)
    pub(super) fn seen(&self, meter: usize, quarter: usize) -> Option<f64> {
        self.series.get(&meter)?[quarter]
    }

    /// Does a meter have a reading in every quarter-hour of the supply's?
    pub(super) fn is_whole(&self, meter: usize) -> bool {
        let series = self.series.get(&meter);
        series.is_some_and(|series| series.iter().all(Option::is_some))
    }

    /// What a load would draw in a quarter-hour by the machine list. (kWh)
    pub(super) fn estimated_kwh(&self, load: &UnitOfList, quarter: usize) -> f64 {
        let runs = load
            .schedule
            .is_none_or(|schedule| self.runs[schedule][quarter]);
        if runs {
            load.declared_kw * self.supply.trace.quarters.at(quarter).covered_s / 3600.0
        } else {
            0.0
        }
    }

    /// The board that a node is or is on; `None`: the supply itself.
    pub(super) fn board_of(&self, node: Node) -> Option<usize> {
        match node {
            Node::Supply => None,
            Node::Board(board) => Some(board),
            Node::Circuit(circuit) => self.board_of(self.site.circuits[circuit].board),
        }
    }

    /// The figures of a meter.
    pub(super) fn figures(&self, meter: usize) -> Option<&MeterEnergy> {
        let id = &self.site.meters[meter].id;
        self.meters.iter().find(|known| known.id == *id)
    }

    fn all_loads(&self) -> Vec<UnitOfList> {
        let site = self.site;
        let mut loads: Vec<UnitOfList> = Vec::new();
        let loads_of_list = site.machines.iter().enumerate();
        for (index, machine) in loads_of_list.filter(|(_, machine)| !machine.generates()) {
            let meter = self.own_meter(index);
            let known = loads
                .iter_mut()
                .find(|load| meter.is_some() && load.meter == meter);
            if let Some(load) = known {
                load.name = format!("{} + {}", load.name, machine.name);
                continue;
            }
            let rated = machine.rated_power(site.supply.phase_voltage_v()).re;
            loads.push(UnitOfList {
                name: machine.name.clone(),
                node: machine.tapped_off,
                meter,
                declared_kw: rated * machine.utilisation_factor,
                schedule: machine.schedule,
                above: above(site, &self.nodes, Some(machine.tapped_off)),
            });
        }
        loads
    }

    /// The meter that sees this machine, or it and others that name it, and nothing else.
    fn own_meter(&self, machine: usize) -> Option<usize> {
        let site = self.site;
        let meter = site.machine_meter(machine)?;
        self.series.get(&meter)?;
        let alone = match site.meters[meter].measures {
            Measured::Machine(_) => true,
            Measured::Node(Node::Supply) => false,
            Measured::Node(node) => (0..site.machines.len()).all(|other| {
                !site.is_within(site.machines[other].tapped_off, node)
                    || site.machine_meter(other) == Some(meter)
            }),
        };
        alone.then_some(meter)
    }
}

/// The meter's quarter-hours at those of the supply's; where the supply has less of one, so much less of it.
fn aligned(supply: &QuarterHours, own: &QuarterHours) -> QuarterSeries {
    let mut own = own.iter().peekable();
    supply
        .iter()
        .map(|quarter| {
            while own.next_if(|own| own.start_s < quarter.start_s).is_some() {}
            let found = own
                .next_if(|own| own.start_s == quarter.start_s)
                .filter(|own| own.covered_s > 0.0)?;
            Some(found.energy_kwh * (quarter.covered_s / found.covered_s).min(1.0))
        })
        .collect()
}

fn metered_nodes(site: &Site, series: &BTreeMap<usize, QuarterSeries>) -> Vec<MeteredNode> {
    let mut nodes: Vec<MeteredNode> = Vec::new();
    for node in site.nodes() {
        let meter = site.meter_of(Measured::Node(node));
        if let Some(meter) = meter.filter(|meter| series.contains_key(meter)) {
            nodes.push(MeteredNode {
                node,
                meter,
                above: Vec::new(),
            });
        }
    }
    for at in 0..nodes.len() {
        nodes[at].above = above(site, &nodes, site.parent(nodes[at].node));
    }
    nodes
}

/// Metered nodes from a node upwards, the node itself included.
fn above(site: &Site, nodes: &[MeteredNode], from: Option<Node>) -> Vec<usize> {
    std::iter::successors(from, |&at| site.parent(at))
        .filter_map(|node| nodes.iter().position(|metered| metered.node == node))
        .collect()
}

fn runs(site: &Site, quarters: &QuarterHours) -> Vec<Vec<bool>> {
    let local = |at_s: i64| {
        let at = DateTime::from_timestamp(at_s, 0).unwrap_or_default();
        at.with_timezone(&site.timezone).naive_local()
    };
    site.schedules
        .iter()
        .map(|schedule| {
            quarters
                .iter()
                .map(|quarter| schedule.runs_at(local(quarter.start_s), &site.holidays))
                .collect()
        })
        .collect()
}
