//! The one or two moves that relieve a phase most.

use num_complex::Complex64;
use schemars::JsonSchema;
use serde::Serialize;

use balance::{NodeCurrents, Standing, connection_of, standing_connection};
use electrical::{Phase, is_above_limit};
use site::{Node, Site};

/// Largest number of moves that are listed.
const MOVES: usize = 2;

/// What some moves would change on the phase.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Relief {
    /// `Steam box from L1 to L3`.
    pub moves: Vec<String>,
    /// Largest current of the phase before. (A)
    pub highest_before_a: f64,
    /// Largest current of the phase after. (A)
    pub highest_after_a: f64,
    /// Intervals in which the phase is above its limit before.
    pub intervals_over_before: usize,
    /// Intervals in which the phase is above its limit after.
    pub intervals_over_after: usize,
    /// Intervals in which any phase is above the limit after.
    pub intervals_any_over_after: usize,
    /// The neutral's rms current before. (A)
    pub neutral_rms_before_a: f64,
    /// The neutral's rms current after. (A)
    pub neutral_rms_after_a: f64,
}

impl Relief {
    /// One sentence.
    pub fn words(&self, phase: Phase) -> String {
        format!(
            "{}: {phase} then peaks at {:.1} A (now {:.1} A) and is over its limit in {} intervals (now {}); neutral {:.1} A rms (now {:.1} A)",
            self.moves.join("; "),
            self.highest_after_a,
            self.highest_before_a,
            self.intervals_over_after,
            self.intervals_over_before,
            self.neutral_rms_after_a,
            self.neutral_rms_before_a
        )
    }
}

/// The phases of a place, and what can be moved there.
struct RelievedNode<'s> {
    currents: NodeCurrents<'s>,
    limit_a: f64,
    units: Vec<MovableLoad>,
}

/// A load that can be moved, where it is now.
struct MovableLoad {
    name: String,
    machine: usize,
    turn: usize,
    /// The turns that it may take.
    choices: Vec<usize>,
    currents: balance::Currents,
}

/// State of a place: what is compared, the most important first.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
struct Standard {
    any_over: usize,
    highest_a: f64,
    neutral_square: f64,
}

impl Standard {
    fn of(phases: [PhaseLevel; 3], neutral_square: f64) -> Standard {
        Standard {
            any_over: phases.iter().map(|phase| phase.over).sum(),
            highest_a: phases
                .iter()
                .map(|phase| phase.highest_a)
                .fold(0.0, f64::max),
            neutral_square,
        }
    }
}

impl<'s> RelievedNode<'s> {
    fn of(
        site: &Site,
        standing: &'s Standing,
        node: Node,
        limit_a: f64,
    ) -> Option<RelievedNode<'s>> {
        let currents = standing
            .carried(node)
            .filter(|_| standing.is_measured(node))?;
        let units = standing
            .units()
            .filter_map(|(unit, machines)| {
                let inside =
                    |machine: &usize| site.is_within(site.machines[*machine].tapped_off, node);
                machines.iter().all(inside).then_some(())?;
                Some(MovableLoad {
                    name: unit.name.clone(),
                    machine: machines[0],
                    turn: unit.current?,
                    choices: unit.choices.clone(),
                    currents: unit.currents.clone(),
                })
            })
            .collect();
        Some(RelievedNode {
            currents,
            limit_a,
            units,
        })
    }

    fn level(&self, phase: usize) -> PhaseLevel {
        PhaseLevel::of(
            self.currents.phases[phase].iter().map(Complex64::norm_sqr),
            self.limit_a,
        )
    }

    fn neutral_square(&self) -> f64 {
        let rows = self.currents.intervals();
        let sum: f64 = (0..rows).map(|row| self.currents.neutral_square(row)).sum();
        // Below zero it stands for readings beyond the intervals, which no move changes in a known way.
        sum / rows.max(1) as f64 + self.currents.unresolved_square[3].max(0.0)
    }

    fn neutral_rms(&self) -> f64 {
        self.neutral_square().sqrt()
    }

    fn turn(&mut self, unit: usize, to: usize) {
        let candidate = &mut self.units[unit];
        for position in 0..3 {
            let Some(series) = candidate.currents.series(position) else {
                continue;
            };
            for (row, current) in series.iter().enumerate() {
                self.currents.phases[(position + candidate.turn) % 3][row] -= current;
                self.currents.phases[(position + to) % 3][row] += current;
            }
        }
        candidate.turn = to;
    }

    /// The level of a phase once a unit is turned.
    fn level_after(&self, unit: &MovableLoad, to: usize, phase: usize) -> PhaseLevel {
        let on = |turn: usize| unit.currents.series((phase + 3 - turn) % 3);
        let currents = &self.currents.phases[phase];
        let (comes, goes) = (on(to), on(unit.turn));
        let at = |series: Option<&[Complex64]>, row: usize| {
            series.map_or(Complex64::ZERO, |series| series[row])
        };
        let squares = currents.iter().enumerate();
        PhaseLevel::of(
            squares.map(|(row, now)| (now + at(comes, row) - at(goes, row)).norm_sqr()),
            self.limit_a,
        )
    }

    /// The move of something on the phase after which the place is best, if any is better than none.
    fn best(&self, phase: usize) -> Option<(usize, usize)> {
        let now = [0, 1, 2].map(|phase| self.level(phase));
        let neutral_square = self.neutral_square();
        let mut best = Standard::of(now, neutral_square);
        let mut found = None;
        for (index, unit) in self.units.iter().enumerate() {
            let is_on = |phase: usize, turn: usize| {
                let series = unit.currents.series((phase + 3 - turn) % 3);
                series.is_some()
            };
            if !is_on(phase, unit.turn) {
                continue;
            }
            let neutral = NeutralShare::of(&self.currents, &unit.currents);
            let elsewhere = [(unit.turn + 1) % 3, (unit.turn + 2) % 3];
            for to in elsewhere.into_iter().filter(|to| unit.choices.contains(to)) {
                let levels = [0, 1, 2].map(|phase| {
                    // A phase without the unit stays as it is.
                    if is_on(phase, unit.turn) || is_on(phase, to) {
                        self.level_after(unit, to, phase)
                    } else {
                        now[phase]
                    }
                });
                let after = Standard::of(levels, neutral_square + neutral.gain(unit.turn, to));
                if after < best {
                    best = after;
                    found = Some((index, to));
                }
            }
        }
        found
    }
}

/// Of a phase: how often it is above its limit, and its highest current.
#[derive(Clone, Copy, Debug)]
struct PhaseLevel {
    over: usize,
    highest_a: f64,
}

impl PhaseLevel {
    fn of(squares: impl Iterator<Item = f64>, limit_a: f64) -> PhaseLevel {
        let (mut over, mut highest) = (0, 0.0_f64);
        for square in squares {
            over += usize::from(is_above_limit(square.sqrt(), limit_a));
            highest = highest.max(square);
        }
        PhaseLevel {
            over,
            highest_a: highest.sqrt(),
        }
    }
}

/// What a unit adds to the neutral at turn 0, as means over the intervals: a turn multiplies it by a third of a turn, so
/// that these two give the mean square of the neutral at any turn.
struct NeutralShare {
    /// Of its product with the conjugate of the neutral. (A²)
    product: Complex64,
    /// Of its square. (A²)
    square: f64,
}

impl NeutralShare {
    fn of(node: &NodeCurrents<'_>, unit: &balance::Currents) -> NeutralShare {
        let rows = node.intervals();
        let mut share = NeutralShare {
            product: Complex64::ZERO,
            square: 0.0,
        };
        for row in 0..rows {
            let alone = unit.neutral_alone_at(row);
            let own = unit.neutral_at(row) - alone;
            share.product += node.neutral(row).conj() * own;
            share.square += own.norm_sqr();
        }
        let rows = rows.max(1) as f64;
        share.product /= rows;
        share.square /= rows;
        share
    }

    /// By how much the mean square of the neutral grows when the unit is turned. (A²)
    fn gain(&self, from: usize, to: usize) -> f64 {
        let step = Phase::ALL[to].direction() - Phase::ALL[from].direction();
        2.0 * (self.product * step).re + step.norm_sqr() * self.square
    }
}

/// What one move and two moves would bring: first the time in which any phase is above the limit, then the
/// highest current, then the neutral. The second move is the best after the first.
pub(super) fn relief(site: &Site, standing: &Standing, node: Node, phase: Phase) -> Vec<Relief> {
    let place = site
        .phase_limit_a(node)
        .and_then(|limit| RelievedNode::of(site, standing, node, limit));
    let Some(mut place) = place else {
        return Vec::new();
    };
    let k = phase.index();
    let before = (place.level(k), place.neutral_rms());
    let mut moves = Vec::new();
    let mut told: Vec<Relief> = Vec::new();
    for _ in 0..MOVES {
        let Some((unit, to)) = place.best(k) else {
            break;
        };
        let candidate = &place.units[unit];
        let now = standing_connection(site, candidate.machine);
        let kind = |turn: usize| connection_of(now, turn);
        moves.push(format!(
            "{} from {} to {}",
            candidate.name,
            kind(candidate.turn),
            kind(to)
        ));
        place.turn(unit, to);
        let after = [0, 1, 2].map(|phase| place.level(phase));
        told.push(Relief {
            moves: moves.clone(),
            highest_before_a: before.0.highest_a,
            highest_after_a: after[k].highest_a,
            intervals_over_before: before.0.over,
            intervals_over_after: after[k].over,
            intervals_any_over_after: after.iter().map(|level| level.over).sum(),
            neutral_rms_before_a: before.1,
            neutral_rms_after_a: place.neutral_rms(),
        });
    }
    told
}
