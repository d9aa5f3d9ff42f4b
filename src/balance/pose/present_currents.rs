//! The present currents of supply, boards, circuits and machines, interval by interval, for rooms that add to them.

use super::connections::{connection_at, connection_now, turn_of};
use super::from_site::{Posed, pose};
use super::hold_back::{HeldBack, hold_back};
use super::measured::MeasuredNow;
use super::profile::{declared_draws, from_draws, listed_basis, profile};
use crate::answer::figures::NodeFigures;
use crate::node_currents::NodeCurrents;
use crate::pose::based_on::BasedOn;
use crate::problem::currents::Currents;
use crate::problem::error::BalanceError;
use crate::problem::problem::{ProblemNode, Unit};
use metering::Logs;
use site::{Connection, Machine, Node, Site};
use units::Basis;

/// The present currents of the installation, on the intervals of its logs.
#[derive(Debug)]
pub struct Standing {
    pub(crate) posed: Posed,
}

/// Currents of one machine on the intervals.
#[derive(Clone, Debug, PartialEq)]
pub struct MachineSeries {
    /// Fundamental currents at turn 0, each relative to its own phase voltage. (A)
    pub currents: Currents,
    /// Active power, all phases together. (kW)
    pub power_kw: Vec<f64>,
    /// Where they come from.
    pub basis: Basis,
}

impl Standing {
    /// Of a site and its logs.
    ///
    /// # Errors
    ///
    /// [`BalanceError`] where the parts of the site are inconsistent.
    pub fn new(site: &Site, logs: &Logs) -> Result<Standing, BalanceError> {
        Ok(Standing {
            posed: pose(site, logs)?,
        })
    }

    /// With conductors onto which nothing is moved.
    #[must_use]
    pub fn holding(mut self, site: &Site, held: &[HeldBack]) -> Standing {
        hold_back(site, &mut self.posed, held);
        self
    }

    /// Starts of the intervals, Unix seconds, ascending.
    #[must_use]
    pub fn starts(&self) -> &[i64] {
        &self.posed.grid.starts
    }

    /// Length of an interval. (s)
    #[must_use]
    pub fn interval_s(&self) -> i64 {
        self.posed.grid.interval_s
    }

    /// The supply's meter, where it has values per phase.
    #[must_use]
    pub fn main_meter(&self) -> Option<usize> {
        self.posed.grid.main
    }

    /// The data behind the intervals.
    #[must_use]
    pub fn based_on(&self) -> BasedOn {
        self.posed.grid.based_on()
    }

    /// What was assumed, one sentence each.
    #[must_use]
    pub fn notes(&self) -> &[String] {
        &self.posed.notes
    }

    fn node(&self, place: Node) -> Option<(&ProblemNode, &MeasuredNow)> {
        let at = self.posed.places.iter().position(|&known| known == place)?;
        let boards = self.posed.problem.nodes();
        let node = boards
            .get(at)
            .or_else(|| self.posed.circuits.get(at - boards.len()))?;
        Some((node, &self.posed.seen[at]))
    }

    /// Has the place a meter or readings of its own?
    #[must_use]
    pub fn is_measured(&self, place: Node) -> bool {
        self.node(place).is_some_and(|(_, seen)| seen.is_measured)
    }

    /// The measured figures of a place, where it has a meter.
    #[must_use]
    pub fn measured(&self, place: Node) -> Option<&NodeFigures> {
        let (_, seen) = self.node(place)?;
        seen.figures.as_ref().map(|figures| &figures.now)
    }

    /// The currents of a place. Machines without a phase are left out: they are not connected yet.
    #[must_use]
    pub fn carried(&self, place: Node) -> Option<NodeCurrents<'_>> {
        let (node, _) = self.node(place)?;
        let units = self.posed.problem.units();
        let now = |unit: usize| units[unit].current;
        Some(self.posed.problem.node_currents_where(node, now))
    }

    /// A machine of the list.
    #[must_use]
    pub fn machine(&self, machine: usize) -> MachineSeries {
        let profile = &self.posed.profiles[machine];
        MachineSeries {
            currents: profile.currents.clone(),
            power_kw: profile.power_kw.clone(),
            basis: profile.basis,
        }
    }

    /// A machine that is not in the list, with its own log where it names a meter.
    #[must_use]
    pub fn new_machine(&self, site: &Site, logs: &Logs, machine: &Machine) -> MachineSeries {
        let grid = &self.posed.grid;
        let mut notes = Vec::new();
        let profile = if machine.meter.is_some() {
            let mut with = site.clone();
            with.machines.push(machine.clone());
            profile(&with, logs, grid, site.machines.len(), &mut notes)
        } else {
            let declared = declared_draws(site, grid, machine);
            from_draws(site, machine, &declared, listed_basis(machine))
        };
        MachineSeries {
            currents: profile.currents,
            power_kw: profile.power_kw,
            basis: profile.basis,
        }
    }

    /// The units that can move, and the machines of each.
    pub fn units(&self) -> impl Iterator<Item = (&Unit, &[usize])> {
        let members = self.posed.members.iter().map(Vec::as_slice);
        self.posed.problem.units().iter().zip(members)
    }
}

/// The present connection of a machine, taken from its circuit where it has none of its own.
#[must_use]
pub fn standing_connection(site: &Site, machine: usize) -> Connection {
    connection_now(site, machine)
}

/// Turn of a connection: the phase, the pair or the cyclic shift; `None` while it is open.
#[must_use]
pub fn turn(connection: Connection) -> Option<usize> {
    turn_of(connection)
}

/// The connection of a kind of load at a turn.
#[must_use]
pub fn connection_of(kind: Connection, turn: usize) -> Connection {
    connection_at(kind, turn)
}
