//! What is to be decided: units that move, what stays, and the limits.

use std::ops::Range;

use num_complex::Complex64;

use super::currents::Currents;
use super::evaluation::{Evaluation, Excess};
use crate::node_currents::NodeCurrents;
use crate::problem::feeder_resistance::FeederResistance;
use electrical::{Phase, is_above_limit};

/// Something that changes its phase as one: a load, loads kept together, or a whole circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// Name for messages.
    pub name: String,
    /// Its currents at turn 0.
    pub currents: Currents,
    /// Turns it may take, ascending, each 0, 1 or 2; a single one means that it stays.
    pub choices: Vec<usize>,
    /// Turn it has now; `None` while not yet assigned.
    pub current: Option<usize>,
    /// What it costs to change, in moves. Assigning a unit that has no turn yet costs nothing.
    pub moves: usize,
}

/// A unit as seen at one node.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// Position in the list of units.
    pub unit: usize,
    /// The part of it that this node feeds, at turn 0; `None` when it feeds all of it.
    pub part: Option<Currents>,
}

/// The supply, a board or a circuit: the units it feeds, and its limits.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ProblemNode {
    /// Name for messages.
    pub name: String,
    /// Units below it.
    pub shares: Vec<Share>,
    /// Currents of its fixed loads.
    pub fixed: Currents,
    /// Part of the neutral per interval that phasors cannot explain; it adds in quadrature. (A)
    /// Empty when there is none.
    pub beyond: Vec<f64>,
    /// Mean squares of L1, L2, L3 and N as measured, less those of the series above: what varies within the
    /// intervals, and what was measured outside them. They add to whatever is decided. (A²)
    pub unresolved_square: [f64; 4],
    /// Resistance of its feeder, where it is declared.
    pub feeder: Option<FeederResistance>,
    /// Largest current of a phase in any interval. (A)
    pub phase_limit_a: Option<f64>,
    /// Largest current of the neutral in any interval. (A)
    pub neutral_limit_a: Option<f64>,
}

/// Single-pole ways of one board that are there for the units.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ways {
    /// Name for messages.
    pub name: String,
    /// Ways on L1, L2, L3 not taken by what stays.
    pub free: [usize; 3],
    /// Units fed from here and the ways each takes on the three phases at turn 0.
    pub uses: Vec<(usize, [usize; 3])>,
}

/// Which turn shall each unit have for the lowest neutral current at the supply?
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    intervals: usize,
    units: Vec<Unit>,
    nodes: Vec<ProblemNode>,
    ways: Vec<Ways>,
    blocks: Vec<Range<usize>>,
}

/// What is wrong with a problem.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ProblemError {
    /// There are no intervals.
    #[error("there are no intervals")]
    NoIntervals,
    /// A series is too short, too long or holds a value that is not finite.
    #[error("a series of `{0}` does not have one finite value for each interval")]
    UnsoundSeries(String),
    /// A unit has no choice, an unordered list of them, or a turn beyond 2.
    #[error("the choices of `{0}` are not an ascending list of turns 0, 1, 2")]
    UnsoundChoices(String),
    /// A node or board speaks of a unit that is not there, or of one unit twice.
    #[error("`{0}` names a unit that does not exist, or one twice")]
    UnsoundShare(String),
    /// A limit is not a positive number.
    #[error("a limit of `{0}` is not a positive current")]
    UnsoundLimit(String),
    /// A demand block is empty, or ends beyond the last interval.
    #[error("a demand period has no interval, or one that does not exist")]
    UnsoundBlock,
}

impl Problem {
    /// Checks the parts and puts them together.
    ///
    /// `supply` is the node whose neutral counts; all units are below it in full, so its shares are
    /// set here. `others` are the nodes below it that have limits.
    ///
    /// # Errors
    ///
    /// [`ProblemError`] names the first part that does not fit.
    pub fn new(
        intervals: usize,
        units: Vec<Unit>,
        mut supply: ProblemNode,
        others: Vec<ProblemNode>,
        ways: Vec<Ways>,
    ) -> Result<Self, ProblemError> {
        supply.shares = (0..units.len())
            .map(|unit| Share { unit, part: None })
            .collect();
        let mut nodes = vec![supply];
        nodes.extend(others);
        if intervals == 0 {
            return Err(ProblemError::NoIntervals);
        }
        for unit in &units {
            check_unit(unit, intervals)?;
        }
        for node in &nodes {
            check_node(node, units.len(), intervals)?;
        }
        for board in &ways {
            check_members(
                &board.name,
                board.uses.iter().map(|&(unit, _)| unit),
                units.len(),
            )?;
        }
        Ok(Self {
            intervals,
            units,
            nodes,
            ways,
            blocks: (0..intervals).map(|t| t..t + 1).collect(),
        })
    }

    /// With demand blocks: stretches of intervals over whose root mean square a peak is judged.
    /// Without them, each interval is one.
    ///
    /// # Errors
    ///
    /// [`ProblemError::UnsoundBlock`] where there is none, or one that holds no interval.
    pub fn with_blocks(mut self, blocks: Vec<Range<usize>>) -> Result<Self, ProblemError> {
        let is_unsound = |block: &Range<usize>| block.is_empty() || block.end > self.intervals;
        if blocks.is_empty() || blocks.iter().any(is_unsound) {
            return Err(ProblemError::UnsoundBlock);
        }
        self.blocks = blocks;
        Ok(self)
    }

    /// The demand blocks, as stretches of intervals.
    #[must_use]
    pub fn blocks(&self) -> &[Range<usize>] {
        &self.blocks
    }

    /// Number of analysis intervals.
    #[must_use]
    pub fn intervals(&self) -> usize {
        self.intervals
    }

    /// What moves.
    #[must_use]
    pub fn units(&self) -> &[Unit] {
        &self.units
    }

    /// The nodes; the supply is the first.
    #[must_use]
    pub fn nodes(&self) -> &[ProblemNode] {
        &self.nodes
    }

    /// The node whose neutral counts.
    #[must_use]
    pub fn supply(&self) -> &ProblemNode {
        &self.nodes[0]
    }

    /// Takes from each unit the turns with which it would load a conductor of a node more than now; `None` is the
    /// neutral: whatever moves changes what flows in it.
    pub(crate) fn keep_off(&mut self, node: &ProblemNode, phase: Option<Phase>) {
        for share in &node.shares {
            let unit = &self.units[share.unit];
            let on = |turn| match phase {
                Some(phase) => self.part(share).loading(turn, phase),
                None => f64::from(u8::from(unit.current != Some(turn))),
            };
            // On the same phase at another turn a load has another angle, and the sum may be larger.
            let least = unit
                .choices
                .iter()
                .map(|&turn| on(turn))
                .fold(f64::MAX, f64::min);
            let is_kept = |&turn: &usize| match unit.current {
                Some(now) => turn == now || on(turn) <= 0.0,
                None => on(turn) <= least,
            };
            let choices: Vec<usize> = unit.choices.iter().copied().filter(is_kept).collect();
            // What has no choice stays as it is.
            if !choices.is_empty() {
                self.units[share.unit].choices = choices;
            }
        }
    }

    /// The same units with a plan done: these turns are those of now.
    #[must_use]
    pub(crate) fn done(mut self, turns: &[usize]) -> Problem {
        for (unit, &turn) in self.units.iter_mut().zip(turns) {
            unit.current = Some(turn);
        }
        self
    }

    /// Boards with a limited number of ways.
    #[must_use]
    pub fn ways(&self) -> &[Ways] {
        &self.ways
    }

    /// The turns of now; `None` while a unit has none.
    #[must_use]
    pub fn current(&self) -> Option<Vec<usize>> {
        self.units.iter().map(|unit| unit.current).collect()
    }

    /// Moves needed to get from now to `turns`.
    #[must_use]
    pub fn moves(&self, turns: &[usize]) -> usize {
        self.units
            .iter()
            .zip(turns)
            .filter(|(unit, turn)| unit.current.is_some_and(|now| now != **turn))
            .map(|(unit, _)| unit.moves)
            .sum()
    }

    /// What flows at a node. (A)
    #[must_use]
    pub fn node_currents<'n>(&self, node: &'n ProblemNode, turns: &[usize]) -> NodeCurrents<'n> {
        self.node_currents_where(node, |unit| Some(turns[unit]))
    }

    /// The same with the units that have a turn.
    pub(crate) fn node_currents_where<'n>(
        &self,
        node: &'n ProblemNode,
        turn: impl Fn(usize) -> Option<usize>,
    ) -> NodeCurrents<'n> {
        let mut sum = Currents::new([0; 3].map(|_| Some(vec![Complex64::ZERO; self.intervals])));
        let fixed = &node.fixed;
        for position in 0..3 {
            if let Some(series) = fixed.series(position) {
                sum.add_at(position, series);
            }
        }
        for share in &node.shares {
            if let Some(turn) = turn(share.unit) {
                sum.add_turned(self.part(share), turn);
            }
        }
        NodeCurrents {
            phases: sum.into_phases(),
            neutral_alone: fixed.neutral_alone(),
            beyond: &node.beyond,
            unresolved_square: node.unresolved_square,
        }
    }

    /// Everything that counts about an allocation, computed directly from the series.
    ///
    /// Any number of moves is allowed here.
    ///
    /// # Panics
    ///
    /// When `turns` has not one turn for each unit.
    #[must_use]
    pub fn evaluate(&self, turns: &[usize]) -> Evaluation {
        assert_eq!(turns.len(), self.units.len(), "one turn for each unit");
        let mut excess = Excess {
            moves: 0,
            ways: self.ways.iter().map(|board| board.missing(turns)).sum(),
            current_a: 0.0,
        };
        let (mut mean_square, mut tie_square) = (0.0, 0.0);
        for (index, node) in self.nodes.iter().enumerate() {
            let currents = self.node_currents(node, turns);
            let mut over = 0.0;
            let mut square_sum = 0.0;
            for interval in 0..self.intervals {
                let square = currents.neutral_square(interval);
                square_sum += square;
                for phase in &currents.phases {
                    over += above(phase[interval].norm(), node.phase_limit_a);
                }
                over += above(square.sqrt(), node.neutral_limit_a);
            }
            excess.current_a += over / self.intervals as f64;
            let mean = square_sum / self.intervals as f64 + node.unresolved_square[3];
            if index == 0 {
                mean_square = mean;
            } else {
                tie_square += mean;
            }
        }
        Evaluation {
            mean_square,
            tie_square,
            excess,
            moves: self.moves(turns),
        }
    }

    /// Adds nodes to be watched besides those of the boards.
    pub(crate) fn watch(&mut self, nodes: impl IntoIterator<Item = ProblemNode>) {
        self.nodes.extend(nodes);
    }

    /// Leaves the first `count` nodes.
    pub(crate) fn keep_nodes(&mut self, count: usize) {
        self.nodes.truncate(count);
    }

    /// The currents behind a share.
    pub(crate) fn part<'a>(&'a self, share: &'a Share) -> &'a Currents {
        share
            .part
            .as_ref()
            .unwrap_or(&self.units[share.unit].currents)
    }
}

impl ProblemNode {
    /// What adds to the sum over the intervals of the squares of the neutral's phasors. (A²)
    pub(crate) fn beyond_square_sum(&self, intervals: usize) -> f64 {
        let beyond: f64 = self.beyond.iter().map(|amps| amps * amps).sum();
        beyond + self.unresolved_square[3] * intervals as f64
    }
}

impl Ways {
    /// Ways that `turns` asks for beyond those that are there.
    #[must_use]
    pub fn missing(&self, turns: &[usize]) -> usize {
        let mut taken = [0; 3];
        for &(unit, ways) in &self.uses {
            for (position, count) in ways.into_iter().enumerate() {
                taken[(position + turns[unit]) % 3] += count;
            }
        }
        taken
            .into_iter()
            .zip(self.free)
            .map(|(taken, free)| taken.saturating_sub(free))
            .sum()
    }
}

/// Amperes above a limit.
pub(crate) fn above(current: f64, limit: Option<f64>) -> f64 {
    match limit {
        Some(limit) if is_above_limit(current, limit) => current - limit,
        _ => 0.0,
    }
}

fn check_unit(unit: &Unit, intervals: usize) -> Result<(), ProblemError> {
    let ascending = unit.choices.windows(2).all(|pair| pair[0] < pair[1]);
    let in_range = unit.choices.iter().all(|&turn| turn < 3);
    if unit.choices.is_empty() || !ascending || !in_range || unit.current.is_some_and(|t| t > 2) {
        return Err(ProblemError::UnsoundChoices(unit.name.clone()));
    }
    if !unit.currents.is_sound(intervals) {
        return Err(ProblemError::UnsoundSeries(unit.name.clone()));
    }
    Ok(())
}

fn check_node(node: &ProblemNode, units: usize, intervals: usize) -> Result<(), ProblemError> {
    check_members(
        &node.name,
        node.shares.iter().map(|share| share.unit),
        units,
    )?;
    let beyond_is_sound = node.beyond.is_empty()
        || (node.beyond.len() == intervals && node.beyond.iter().all(|value| value.is_finite()));
    let parts_are_sound = node
        .shares
        .iter()
        .filter_map(|share| share.part.as_ref())
        .all(|part| part.is_sound(intervals));
    let is_resolved = node
        .unresolved_square
        .iter()
        .all(|square| square.is_finite());
    if !is_resolved || !beyond_is_sound || !parts_are_sound || !node.fixed.is_sound(intervals) {
        return Err(ProblemError::UnsoundSeries(node.name.clone()));
    }
    let limits = [node.phase_limit_a, node.neutral_limit_a];
    if limits
        .into_iter()
        .flatten()
        .any(|limit| !(limit.is_finite() && limit > 0.0))
    {
        return Err(ProblemError::UnsoundLimit(node.name.clone()));
    }
    Ok(())
}

fn check_members(
    name: &str,
    members: impl Iterator<Item = usize>,
    units: usize,
) -> Result<(), ProblemError> {
    let mut seen = vec![false; units];
    for unit in members {
        match seen.get_mut(unit) {
            Some(seen) if !*seen => *seen = true,
            _ => return Err(ProblemError::UnsoundShare(name.to_owned())),
        }
    }
    Ok(())
}
