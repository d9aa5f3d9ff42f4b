//! The smallest set of moves of listed machines after which a connection point passes.
//!
//! Sets are tried in order of size. Most fail in the few intervals in which others failed, so only those that pass
//! there are calculated over all intervals. A set that fails in some intervals also fails over all of them, so no
//! set that would help is missed.

use super::carried::Added;
use super::check::{Check, CheckName};
use super::connection_point::ConnectionPoint;
use super::load::NewLoad;
use super::memo::FigureCache;
use super::network::{Mover, Network};
use super::ranked_point::MoveNeeded;
use balance::{Standing, connection_of, standing_connection};
use electrical::Phase;
use site::{Connection, Node};

/// More moves than this are a task for `balance`.
const MOST_MOVES: usize = 3;

/// Sets that are tried in the few intervals.
const MOST_TRIED: usize = 40_000;

/// Sets that are calculated over all intervals.
const MOST_COMPUTED: usize = 40;

/// Moves after which a connection point passes.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct MovesFound {
    pub(super) moves: Vec<MoveNeeded>,
    /// Was every smaller set ruled out?
    pub(super) are_fewest: bool,
}

/// A unit of machines that moves together, and its new turn.
#[derive(Clone, Copy, Debug)]
struct TrialMove {
    unit: usize,
    to: usize,
}

#[derive(Debug)]
struct MovingUnit {
    now: usize,
    /// The turns that it may take.
    choices: Vec<usize>,
    movers: Vec<Mover>,
}

impl MovingUnit {
    /// The turns that it may take instead.
    fn elsewhere(&self) -> Vec<usize> {
        let choices = self.choices.iter().copied();
        choices.filter(|&to| to != self.now).collect()
    }
}

/// The smallest set found; `None` where none was found or moves cannot help.
pub(super) fn moves_that_help(
    standing: &Standing,
    spot: &ConnectionPoint<'_>,
    checks: &[Check],
) -> Option<MovesFound> {
    let helps = |check: &Check| {
        matches!(
            check.check,
            CheckName::PhaseLoading
                | CheckName::NeutralLoading
                | CheckName::TransformerLoading
                | CheckName::CircuitLoading
        )
    };
    if !checks.iter().all(|check| check.pass || helps(check)) {
        return None;
    }
    let mut search = MovesSearch::new(standing, spot);
    for count in 1..=MOST_MOVES {
        if let Some(steps) = search.sets_of(count, 0, &mut Vec::new()) {
            // Larger sets are tried only after all smaller ones have failed.
            return Some(MovesFound {
                moves: search.moves_needed(&steps),
                are_fewest: true,
            });
        }
        if search.is_exhausted() {
            let steps = search.greedy()?;
            return Some(MovesFound {
                moves: search.moves_needed(&steps),
                are_fewest: false,
            });
        }
    }
    None
}

struct MovesSearch<'s> {
    spot: &'s ConnectionPoint<'s>,
    units: Vec<MovingUnit>,
    /// Currents not to be exceeded elsewhere: the limit, or the present current.
    elsewhere: Vec<(Node, [f64; 3])>,
    /// Present neutral currents.
    neutrals: Vec<(Node, f64)>,
    intervals: Vec<usize>,
    few: WorstIntervals,
    tried: usize,
    computed: usize,
}

/// Network and loads in a few intervals: those in which currents are largest.
struct WorstIntervals {
    network: Network,
    load: NewLoad,
    movers: Vec<Vec<Mover>>,
}

impl WorstIntervals {
    fn new(
        spot: &ConnectionPoint<'_>,
        units: &[MovingUnit],
        intervals: &[usize],
    ) -> WorstIntervals {
        let few = |movers: &Vec<Mover>| movers.iter().map(|mover| mover.only(intervals)).collect();
        WorstIntervals {
            network: spot.network.only(intervals),
            load: spot.load.only(intervals),
            movers: units.iter().map(|unit| few(&unit.movers)).collect(),
        }
    }
}

impl<'s> MovesSearch<'s> {
    fn new(standing: &Standing, spot: &'s ConnectionPoint<'s>) -> MovesSearch<'s> {
        let site = &spot.network.site;
        let units: Vec<MovingUnit> = standing
            .units()
            .filter(|(_, members)| {
                // A circuit that moves as a whole would move the new machine too.
                moves_with(spot, members).is_none_or(|circuit| circuit != spot.node)
            })
            .filter_map(|(unit, members)| {
                let mover = |&machine: &usize| Mover::new(site, standing, machine);
                Some(MovingUnit {
                    now: unit.current?,
                    choices: unit.choices.clone(),
                    movers: members.iter().map(mover).collect(),
                })
            })
            .collect();
        let nodes = || {
            let all = site.nodes().into_iter();
            all.filter(|node| !matches!(node, Node::Circuit(_)))
        };
        let now = |node| {
            let carried = spot.network.at(node);
            carried.largest(spot.load, Added::Nothing, 0)
        };
        let elsewhere = nodes().filter_map(|node| {
            let limit = site.phase_limit_a(node)?;
            Some((node, now(node).phases_a.map(|amps| limit.max(amps))))
        });
        let mut search = MovesSearch {
            elsewhere: elsewhere.collect(),
            neutrals: nodes().map(|node| (node, now(node).neutral_a)).collect(),
            few: WorstIntervals::new(spot, &units, &[]),
            units,
            spot,
            intervals: Vec::new(),
            tried: 0,
            computed: 0,
        };
        search.add_worst_intervals(spot.network);
        search
    }

    fn is_exhausted(&self) -> bool {
        self.tried >= MOST_TRIED || self.computed >= MOST_COMPUTED
    }

    /// The first set of this many units, from a unit on, after which the connection point passes.
    fn sets_of(
        &mut self,
        count: usize,
        from: usize,
        chosen: &mut Vec<TrialMove>,
    ) -> Option<Vec<TrialMove>> {
        if count == 0 {
            return self.is_enough(chosen).then(|| chosen.clone());
        }
        for unit in from..self.units.len() {
            for to in self.units[unit].elsewhere() {
                if self.is_exhausted() {
                    return None;
                }
                chosen.push(TrialMove { unit, to });
                let found = self.sets_of(count - 1, unit + 1, chosen);
                chosen.pop();
                if found.is_some() {
                    return found;
                }
            }
        }
        None
    }

    fn is_enough(&mut self, steps: &[TrialMove]) -> bool {
        self.tried += 1;
        if self.excess_in_few(steps) > 0.0 {
            return false;
        }
        self.computed += 1;
        let mut network = self.spot.network.clone();
        for step in steps {
            let unit = &self.units[step.unit];
            network.turn_machines(&unit.movers, (unit.now, step.to));
        }
        if self.excess(&network, self.spot.load) <= 0.0 {
            return true;
        }
        self.add_worst_intervals(&network);
        false
    }

    /// Adds the intervals in which the currents of this network are largest.
    fn add_worst_intervals(&mut self, network: &Network) {
        let spot = self.spot;
        for node in spot.network.site.nodes() {
            let carried = network.at(node);
            if carried.is_series() {
                let added = if spot.network.upstream(spot.node).contains(&node) {
                    Added::Running
                } else {
                    Added::Nothing
                };
                self.intervals
                    .extend(carried.worst_intervals(spot.load, added, spot.turn()));
            }
        }
        self.intervals.sort_unstable();
        self.intervals.dedup();
        self.few = WorstIntervals::new(spot, &self.units, &self.intervals);
    }

    fn excess_in_few(&self, steps: &[TrialMove]) -> f64 {
        let mut network = self.few.network.clone();
        for step in steps {
            let now = self.units[step.unit].now;
            network.turn_machines(&self.few.movers[step.unit], (now, step.to));
        }
        self.excess(&network, &self.few.load)
    }

    /// Total excess over limits, as shares of them: of the failed checks, and of nodes that the moves make worse.
    fn excess(&self, network: &Network, load: &NewLoad) -> f64 {
        let memo = FigureCache::default();
        let spot = ConnectionPoint {
            network,
            load,
            memo: &memo,
            neutral_before: &self.neutrals,
            ..*self.spot
        };
        let (mut checks, mut not_checked) = (Vec::new(), Vec::new());
        spot.check(&mut checks, &mut not_checked);
        let own: f64 = checks
            .iter()
            .filter(|check| !check.pass)
            .map(|check| (check.value / check.limit - 1.0).max(1e-6))
            .sum();
        let worse = self.elsewhere.iter().map(|&(node, most)| {
            let then = spot.largest(node, Added::Nothing).phases_a;
            let over = Phase::ALL.map(|k| then[k.index()] / most[k.index()] - 1.0);
            over.into_iter().filter(|over| *over > 1e-9).sum::<f64>()
        });
        own + worse.sum::<f64>()
    }

    /// Move by move, each time the one with the smallest excess over limits.
    fn greedy(&mut self) -> Option<Vec<TrialMove>> {
        let mut steps: Vec<TrialMove> = Vec::new();
        for _ in 0..MOST_MOVES {
            let left = self.excess_in_few(&steps);
            let mut best: Option<(f64, TrialMove)> = None;
            for unit in 0..self.units.len() {
                if steps.iter().any(|step| step.unit == unit) {
                    continue;
                }
                for to in self.units[unit].elsewhere() {
                    let step = TrialMove { unit, to };
                    steps.push(step);
                    let over = self.excess_in_few(&steps);
                    steps.pop();
                    if best.is_none_or(|(least, _)| over < least) {
                        best = Some((over, step));
                    }
                }
            }
            steps.push(best.filter(|&(over, _)| over < left)?.1);
            if self.is_enough(&steps) {
                return Some(steps);
            }
        }
        None
    }

    fn moves_needed(&self, steps: &[TrialMove]) -> Vec<MoveNeeded> {
        let site = &self.spot.network.site;
        let mut moves = Vec::new();
        for step in steps {
            for mover in &self.units[step.unit].movers {
                let from = standing_connection(site, mover.machine);
                moves.push(MoveNeeded {
                    machine: site.machines[mover.machine].name.clone(),
                    from,
                    to: connection_of(from, step.to),
                });
            }
        }
        moves
    }
}

/// The one- or two-phase circuit that a unit moves with.
fn moves_with(spot: &ConnectionPoint<'_>, members: &[usize]) -> Option<Node> {
    let site = &spot.network.site;
    let node = site.machines[*members.first()?].tapped_off;
    match node {
        Node::Circuit(index) => {
            let phases = site.circuits[index].phases;
            (!matches!(phases, Connection::ThreePhase { .. })).then_some(node)
        }
        _ => None,
    }
}
