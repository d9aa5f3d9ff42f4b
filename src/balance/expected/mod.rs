//! What is to be expected where there is no log: from the machine list, and from rounds of clamp-meter readings.
//!
//! In: the site, its rounds and the hours of a typical week. Out: the mean currents behind the analysis intervals, the
//! switching about them, the range that list and readings leave open, and how often a move helps.

mod figures;
mod loads;
mod notes;
mod rounds;
mod states;
mod turns_by_readings;

use std::collections::HashMap;

use num_complex::Complex64;

use crate::pose::connections::moves_with_circuit;
use crate::pose::grid::AnalysisGrid;
use crate::pose::profile::MachineDraw;
use crate::problem::currents::Currents;
use estimation::{Draw, Hours, Load, LoadEstimate, ReadPlace, neutral_of, third_of};
use metering::Logs;
use site::{Node, Site};

pub use figures::ConnectedLoad;
pub use loads::PHASE_DOUBT;
pub(crate) use rounds::rounds;
pub use rounds::{RoundFigures, RoundState};
pub use turns_by_readings::turns_by_readings;

/// Draws of what list and readings leave open.
const DRAWS: usize = 400;
/// Seed of the draws.
const SEED: u64 = 1;
/// 95 % of a normal distribution are within so many standard deviations.
const STANDARD_DEVIATIONS: f64 = 1.96;
/// By how much the current of a load varies from one time that it is on to another, a standard deviation as a share
/// of its rating. Common practice: motors are seldom fully loaded.
const FROM_TIME_TO_TIME: f64 = 0.2;

/// What list and readings say of every load, and over which hours.
#[derive(Debug)]
pub(crate) struct ExpectedLoads {
    /// Machines of the list, equal machines apart, then what is not listed.
    pub(crate) loads: Vec<Load>,
    /// The machine of each; `None` for what is not listed.
    machine: Vec<Option<usize>>,
    /// Supply, boards and circuits in the site's order, then the machines that are read.
    places: Vec<ReadPlace>,
    hours: Vec<Hours>,
    /// The list as it stands.
    listed: Draw,
    pub(crate) estimate: LoadEstimate,
    /// For each analysis interval: its hours, and the draw behind it where readings decide.
    cases: Vec<(usize, Option<usize>)>,
    from_time_to_time: f64,
    /// Was a machine read in every round?
    read_whole: Vec<bool>,
    /// The position in the problem's units of each load that moves.
    units: Vec<Option<usize>>,
}

impl ExpectedLoads {
    /// Of a site without logs per phase.
    pub(crate) fn new(site: &Site, logs: &Logs, grid: &AnalysisGrid) -> ExpectedLoads {
        let rounds: &[metering::Round] = if grid.by_hand { &logs.rounds } else { &[] };
        let (loads, mut machine) = loads::of_list(site, rounds);
        let places = loads::places(site, rounds);
        let readings = loads::readings(site, rounds);
        let estimate = estimation::estimate(
            &loads,
            &places,
            rounds.len(),
            &readings,
            loads::spread(site, FROM_TIME_TO_TIME),
            (DRAWS, SEED),
        );
        let loads = estimate.loads.clone();
        machine.resize(loads.len(), None);
        let (hours, of_interval) = loads::hours(site, grid, &loads, &machine);
        let mut seen = vec![0; hours.len()];
        let mut all = vec![0; hours.len()];
        for &at in &of_interval {
            all[at] += 1;
        }
        // Each part of the week goes through all the draws.
        let cases = of_interval
            .iter()
            .map(|&at| {
                let draw = seen[at] * DRAWS / all[at];
                seen[at] += 1;
                (at, grid.by_hand.then_some(draw))
            })
            .collect();
        ExpectedLoads {
            listed: Draw {
                turns: loads.iter().map(|load| load.turns.first()).collect(),
                share: vec![1.0; loads.len()],
                on: loads.iter().map(|load| load.on_share).collect(),
                in_round: Vec::new(),
            },
            read_whole: (0..site.machines.len())
                .map(|machine| {
                    let is_read = |round: &metering::Round| {
                        round.of(site::Measured::Machine(machine)).is_some()
                    };
                    !rounds.is_empty() && rounds.iter().all(is_read)
                })
                .collect(),
            units: vec![None; loads.len()],
            loads,
            machine,
            places,
            hours,
            estimate,
            cases,
            from_time_to_time: if grid.by_hand { FROM_TIME_TO_TIME } else { 0.0 },
        }
    }

    /// Says which loads move with which unit.
    pub(crate) fn set_units(&mut self, site: &Site, members: &[Vec<usize>]) {
        for (load, unit) in self.units.iter_mut().enumerate() {
            let place = self.loads[load].place;
            *unit = members.iter().position(|list| match self.machine[load] {
                Some(machine) => list.contains(&machine),
                // What is not listed moves with the circuit that it is on.
                None => moves_with_circuit(site, list[0])
                    .is_some_and(|circuit| place == 1 + site.boards.len() + circuit),
            });
        }
    }

    /// Was anything read?
    pub(crate) fn is_read(&self) -> bool {
        self.cases.iter().any(|(_, draw)| draw.is_some())
    }

    fn draw_of(&self, draw: Option<usize>) -> &Draw {
        draw.map_or(&self.listed, |draw| &self.estimate.draws[draw])
    }

    fn runs(&self, hours: usize, load: usize) -> bool {
        self.hours[hours].runs[load]
    }

    /// Is a load fed from a place, or from below it?
    fn is_below(&self, load: usize, place: usize) -> bool {
        let up = |&at: &usize| self.places[at].fed_from;
        std::iter::successors(Some(self.loads[load].place), up).any(|at| at == place)
    }

    /// The phases that a load is on, with its current there at its rating and its third harmonic. (A)
    fn conductors(
        &self,
        load: usize,
        turn: Option<usize>,
    ) -> impl Iterator<Item = (usize, Complex64, f64)> {
        let own = &self.loads[load];
        let turn = turn.unwrap_or(own.turns.first());
        (0..3).filter_map(move |position| {
            let amps = own.on_a[position]?;
            Some((
                (position + turn) % 3,
                amps,
                own.third_harmonic * amps.norm(),
            ))
        })
    }

    /// Mean power of a machine over the intervals.
    pub(crate) fn draws_of(&self, site: &Site, machine: usize) -> Vec<MachineDraw> {
        let own: Vec<usize> = (0..self.loads.len())
            .filter(|&load| self.machine[load] == Some(machine))
            .collect();
        let listed = &site.machines[machine];
        let on =
            listed.rated_power(site.supply.phase_voltage_v()) * listed.load_share * listed.flow();
        self.cases
            .iter()
            .map(|&(hours, draw)| {
                let draw = self.draw_of(draw);
                let running = own.iter().filter(|&&load| self.runs(hours, load));
                let share: f64 = running.map(|&load| draw.on[load] * draw.share[load]).sum();
                MachineDraw {
                    power: on * (share / own.len().max(1) as f64),
                    current_a: None,
                }
            })
            .collect()
    }

    /// Mean currents of what is not listed below a place: what stays, and what moves with a unit.
    pub(crate) fn not_listed(&self, place: usize, unit: Option<usize>) -> Currents {
        let mut sum = Currents::none();
        for load in self.estimate.listed..self.loads.len() {
            if self.units[load] != unit || !self.is_below(load, place) {
                continue;
            }
            let turn = self.loads[load].turns.first();
            for position in 0..3 {
                let Some(current) = self.loads[load].on_a[position] else {
                    continue;
                };
                let series: Vec<Complex64> = self
                    .cases
                    .iter()
                    .map(|&(_, draw)| {
                        let draw = self.draw_of(draw);
                        current * (draw.on[load] * draw.share[load])
                    })
                    .collect();
                sum.add_at(
                    if unit.is_some() {
                        position
                    } else {
                        (position + turn) % 3
                    },
                    &series,
                );
            }
        }
        sum
    }

    /// What the means of the loads below a place do not show of its neutral: the switching about them, and third
    /// harmonics. (A)
    pub(crate) fn beyond(&self, place: usize) -> Vec<f64> {
        let here: Vec<(usize, f64, f64)> = (0..self.loads.len())
            .filter(|&load| self.is_below(load, place))
            .map(|load| {
                let turn = self.loads[load].turns.first();
                let third = third_of(&self.loads[load]);
                (
                    load,
                    neutral_of(&self.loads[load], turn).norm_sqr() + third * third,
                    third,
                )
            })
            .collect();
        let mut known = HashMap::new();
        self.cases
            .iter()
            .map(|&case| {
                *known.entry(case).or_insert_with(|| {
                    let draw = self.draw_of(case.1);
                    let (mut third_sum, mut variance) = (0.0, 0.0);
                    for &(load, square, third) in &here {
                        if self.runs(case.0, load) {
                            third_sum += third * draw.on[load] * draw.share[load];
                            variance += square * self.variance(draw, load);
                        }
                    }
                    third_sum.hypot(f64::sqrt(variance))
                })
            })
            .collect()
    }

    /// Variance of a load's share, on and off together.
    fn variance(&self, draw: &Draw, load: usize) -> f64 {
        let (on, share) = (draw.on[load], draw.share[load]);
        on * (share * share + self.from_time_to_time.powi(2)) - (on * share).powi(2)
    }

    /// Mean squares that the means of the loads below a place do not show of L1, L2, L3: the switching about them. (A²)
    pub(crate) fn varying(&self, place: usize) -> [f64; 4] {
        let mut sums = [0.0; 4];
        for load in (0..self.loads.len()).filter(|&load| self.is_below(load, place)) {
            let cases = self
                .cases
                .iter()
                .filter(|(hours, _)| self.runs(*hours, load));
            let variance: f64 = cases
                .map(|(_, draw)| self.variance(self.draw_of(*draw), load))
                .sum();
            for (phase, amps, third) in self.conductors(load, None) {
                let square = amps.norm_sqr() + third * third;
                sums[phase] += square * variance / self.cases.len().max(1) as f64;
            }
        }
        sums
    }

    /// Where a machine's figures come from, when it was read in every round.
    pub(crate) fn basis(&self, machine: usize) -> Option<units::Basis> {
        self.read_whole
            .get(machine)
            .copied()?
            .then_some(units::Basis::Measured)
    }

    /// Turns of the loads under a plan; `None` where a load stays.
    pub(crate) fn turns(&self, now: &[Option<usize>], plan: &[usize]) -> Vec<Option<usize>> {
        self.units
            .iter()
            .map(|unit| unit.and_then(|unit| (now[unit] != Some(plan[unit])).then_some(plan[unit])))
            .collect()
    }
}

/// Position of a node among the places.
pub(crate) fn place_of(site: &Site, node: Node) -> usize {
    match node {
        Node::Supply => 0,
        Node::Board(board) => 1 + board,
        Node::Circuit(circuit) => 1 + site.boards.len() + circuit,
    }
}
