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
    currents: balance::Currents,
}

/// State of a place: what is compared, the most important first.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
struct Standard {
    any_over: usize,
    highest_a: f64,
    neutral_square: f64,
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

    fn over(&self, phase: usize) -> usize {
        self.currents.phases[phase]
            .iter()
            .filter(|current| is_above_limit(current.norm(), self.limit_a))
            .count()
    }

    fn highest(&self, phase: usize) -> f64 {
        let most = |most: f64, current: &Complex64| most.max(current.norm_sqr());
        self.currents.phases[phase].iter().fold(0.0, most).sqrt()
    }

    fn neutral_square(&self) -> f64 {
        let rows = self.currents.intervals();
        let sum: f64 = (0..rows).map(|row| self.currents.neutral_square(row)).sum();
        sum / rows.max(1) as f64 + self.currents.unresolved_square[3]
    }

    fn standard(&self) -> Standard {
        Standard {
            any_over: (0..3).map(|phase| self.over(phase)).sum(),
            highest_a: (0..3).map(|phase| self.highest(phase)).fold(0.0, f64::max),
            neutral_square: self.neutral_square(),
        }
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

    /// The move of something on the phase after which the place is best, if any is better than none.
    fn best(&mut self, phase: usize) -> Option<(usize, usize)> {
        let mut best = self.standard();
        let mut found = None;
        for unit in 0..self.units.len() {
            let now = self.units[unit].turn;
            let on = (0..3).any(|position| {
                self.units[unit].currents.series(position).is_some()
                    && (position + now) % 3 == phase
            });
            if !on {
                continue;
            }
            for to in [(now + 1) % 3, (now + 2) % 3] {
                self.turn(unit, to);
                let after = self.standard();
                self.turn(unit, now);
                if after < best {
                    best = after;
                    found = Some((unit, to));
                }
            }
        }
        found
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
    let before = (
        place.highest(k),
        place.over(k),
        place.neutral_square().sqrt(),
    );
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
        told.push(Relief {
            moves: moves.clone(),
            highest_before_a: before.0,
            highest_after_a: place.highest(k),
            intervals_over_before: before.1,
            intervals_over_after: place.over(k),
            intervals_any_over_after: (0..3).map(|phase| place.over(phase)).sum(),
            neutral_rms_before_a: before.2,
            neutral_rms_after_a: place.neutral_square().sqrt(),
        });
    }
    told
}
