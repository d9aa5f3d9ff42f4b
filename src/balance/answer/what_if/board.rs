//! The data that a page needs to try allocations.

use num_complex::Complex64;

use electrical::Phase;
use site::Connection;

/// Position of a slot that flows in the neutral and on no phase.
pub(super) const NEUTRAL: usize = 3;

/// Units, nodes and numbers from which any allocation can be calculated.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialBoard {
    /// The units that can change phase.
    pub units: Vec<TrialUnit>,
    /// The supply, then the boards and circuits with limits.
    pub nodes: Vec<TrialNode>,
    /// The series behind the slots, at the chosen intervals.
    pub waves: Vec<Wave>,
    /// Starts of the chosen intervals, Unix seconds, ascending.
    pub start_s: Vec<i64>,
    /// Number of all analysis intervals.
    pub intervals: usize,
    /// Best allocation found for each number of moves, from none.
    pub plans: Vec<TrialPlan>,
    /// Allocations compared with all intervals.
    pub compared: usize,
    /// In those, the most by which the largest current of all intervals exceeded the largest of the
    /// chosen ones, as a share of it. (%)
    pub largest_miss_pct: f64,
}

/// Machines that change phase together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrialUnit {
    /// Its machines, by their index in the machine list.
    pub machines: Vec<usize>,
    /// The circuit that moves as a whole.
    pub circuit: Option<String>,
    /// The board or circuit it is fed from.
    pub at: String,
    /// Turns that it may take, and the connection of each of its machines at that turn.
    pub choices: Vec<(usize, Vec<Connection>)>,
    /// Turn now; `None` while not yet allocated.
    pub now: Option<usize>,
    /// Turn in the best plan.
    pub plan: usize,
    /// Number of moves of a change.
    pub moves: usize,
}

/// The supply or a board.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialNode {
    /// `supply`, or the board's id.
    pub id: String,
    /// Limit per phase. (A)
    pub phase_limit_a: Option<f64>,
    /// Limit of the neutral. (A)
    pub neutral_limit_a: Option<f64>,
    /// The currents through it.
    pub slots: Vec<Slot>,
    /// Mean over all intervals of conj(a)·b for each pair of slots a ≤ b, row after row. (A²)
    pub moments: Vec<Complex64>,
    /// Mean squares of L1, L2, L3 that the series do not resolve. (A²)
    pub unresolved_square: [f64; 3],
    /// Mean square of the neutral's part that phasors cannot explain, and of what the series do not resolve. (A²)
    pub beyond_mean_square: f64,
    /// That part at the chosen intervals; empty where there is none. (A)
    pub beyond_a: Vec<f64>,
}

/// One series of current through a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slot {
    /// Which series.
    pub wave: usize,
    /// The unit that it belongs to; `None` for fixed loads.
    pub unit: Option<usize>,
    /// Phase that it flows on at turn 0, from 0; 3 where it flows in the neutral alone.
    pub position: usize,
}

/// A series of phasors in 16-bit steps of its largest component.
#[derive(Clone, Debug, PartialEq)]
pub struct Wave {
    /// One step. (A)
    pub step_a: f64,
    /// Real and imaginary part, in steps.
    pub values: Vec<[i16; 2]>,
}

/// Best allocation with a number of moves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrialPlan {
    /// Moves allowed.
    pub moves: usize,
    /// Turn of each unit.
    pub turns: Vec<usize>,
}

/// Currents of a node under an allocation.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TrialFigures {
    /// Root mean square over all intervals, L1, L2, L3. (A)
    pub phase_rms_a: [f64; 3],
    /// Root mean square of the neutral over all intervals. (A)
    pub neutral_rms_a: f64,
    /// Largest of the chosen intervals, L1, L2, L3. (A)
    pub phase_max_a: [f64; 3],
    /// Largest neutral of the chosen intervals. (A)
    pub neutral_max_a: f64,
}

impl Wave {
    /// In steps of the 32 767th part of the largest component.
    pub(super) fn new(values: &[Complex64]) -> Wave {
        let largest = values
            .iter()
            .map(|value| value.re.abs().max(value.im.abs()))
            .fold(0.0, f64::max);
        let step_a = largest / f64::from(i16::MAX);
        let steps = |value: f64| {
            if step_a > 0.0 {
                (value / step_a).round() as i16
            } else {
                0
            }
        };
        Wave {
            step_a,
            values: values
                .iter()
                .map(|value| [steps(value.re), steps(value.im)])
                .collect(),
        }
    }

    /// The phasor at a chosen interval. (A)
    #[must_use]
    pub fn at(&self, interval: usize) -> Complex64 {
        let [re, im] = self.values[interval];
        self.step_a * Complex64::new(f64::from(re), f64::from(im))
    }
}

impl TrialBoard {
    /// Figures of every node under an allocation: from these numbers alone, as the page does it.
    ///
    /// # Panics
    ///
    /// When `turns` has not one turn for each unit.
    #[must_use]
    pub fn figures(&self, turns: &[usize]) -> Vec<TrialFigures> {
        assert_eq!(turns.len(), self.units.len(), "one turn for each unit");
        self.nodes
            .iter()
            .map(|node| self.node_figures(node, turns))
            .collect()
    }

    fn node_figures(&self, node: &TrialNode, turns: &[usize]) -> TrialFigures {
        let phases: Vec<usize> = node
            .slots
            .iter()
            .map(|slot| match slot.position {
                NEUTRAL => NEUTRAL,
                position => (position + slot.unit.map_or(0, |unit| turns[unit])) % 3,
            })
            .collect();
        let (phase_squares, neutral_square) = node.mean_squares(&phases);
        let mut figures = TrialFigures {
            phase_rms_a: phase_squares.map(|square| square.max(0.0).sqrt()),
            neutral_rms_a: neutral_square.max(0.0).sqrt(),
            ..TrialFigures::default()
        };
        for interval in 0..self.start_s.len() {
            let mut sums = [Complex64::ZERO; 4];
            for (slot, &phase) in node.slots.iter().zip(&phases) {
                sums[phase] += self.waves[slot.wave].at(interval);
            }
            let neutral: Complex64 = (0..4).map(|k| direction(k) * sums[k]).sum();
            let beyond = node.beyond_a.get(interval).copied().unwrap_or(0.0);
            for (most, sum) in figures.phase_max_a.iter_mut().zip(sums) {
                *most = most.max(sum.norm());
            }
            figures.neutral_max_a = figures.neutral_max_a.max(neutral.norm().hypot(beyond));
        }
        figures
    }
}

impl TrialNode {
    /// Mean squares of the phases and of the neutral when each slot flows on the given phase.
    fn mean_squares(&self, phases: &[usize]) -> ([f64; 3], f64) {
        let mut squares = self.unresolved_square;
        let mut neutral = self.beyond_mean_square;
        let mut pairs = self.moments.iter();
        for (first, &a) in phases.iter().enumerate() {
            for (second, &b) in phases.iter().enumerate().skip(first) {
                let Some(moment) = pairs.next() else { break };
                let twice = if first == second { 1.0 } else { 2.0 };
                if a == b && a != NEUTRAL {
                    squares[a] += twice * moment.re;
                }
                let turn = direction(a).conj() * direction(b);
                neutral += twice * (turn * moment).re;
            }
        }
        (squares, neutral)
    }
}

/// Of a phase's voltage, or of the common frame for what flows in the neutral alone.
fn direction(phase: usize) -> Complex64 {
    Phase::ALL
        .get(phase)
        .map_or(Complex64::ONE, |phase| phase.direction())
}
