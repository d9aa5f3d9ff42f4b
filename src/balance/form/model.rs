//! A problem made ready for solving.

use std::cmp::Ordering;

use super::limits::{AskedBefore, Limits};
use super::loss::{loss_form, neutrals_below};
use super::quadratic::Quadratic;
use crate::form::peak::{Conductors, Peak, deciding_weights};
use crate::problem::currents::Currents;
use crate::problem::evaluation::{Evaluation, Excess};
use crate::problem::objective::Objective;
use crate::problem::problem::Problem;
use crate::problem::settings::Settings;

/// A problem with time folded away, its limits reduced to what can bind, and its settings applied.
#[derive(Debug)]
pub(crate) struct Model<'a> {
    pub(crate) problem: &'a Problem,
    /// What is made small; where that is a peak, a mixture of blocks that is never above it.
    pub(crate) quadratic: Quadratic,
    /// The peak, where a peak is minimised.
    pub(crate) peak: Option<Peak<'a>>,
    /// What decides between equals.
    pub(crate) tie: Option<Quadratic>,
    pub(crate) limits: Limits<'a>,
    /// Turns each unit may take.
    pub(crate) choices: Vec<Vec<usize>>,
    /// Most moves allowed.
    pub(crate) max_moves: Option<usize>,
    /// A mean square to judge rounding by. (A²)
    pub(crate) scale: f64,
}

impl<'a> Model<'a> {
    pub(crate) fn new(problem: &'a Problem, settings: &Settings) -> Self {
        let mut choices: Vec<Vec<usize>> = problem
            .units()
            .iter()
            .map(|unit| unit.choices.clone())
            .collect();
        for &(unit, turn) in &settings.fixed {
            choices[unit] = vec![turn % 3];
        }
        let peak = match settings.objective {
            Objective::NeutralRms | Objective::NeutralLoss => None,
            Objective::NeutralPeak => Some(Conductors::Neutral),
            Objective::PhasePeak => Some(Conductors::Phases),
        }
        .map(|conductors| Peak::new(problem, conductors, &choices));
        let quadratic = match (&peak, settings.objective) {
            (Some(peak), _) => Some(peak.form(&[(0, 1.0)])),
            (None, Objective::NeutralLoss) => loss_form(problem),
            (None, _) => None,
        }
        .unwrap_or_else(|| Quadratic::fold(problem));
        let tie = match &peak {
            Some(_) => Some(Quadratic::fold(problem)),
            None => neutrals_below(problem),
        };
        let limits = Limits::new(problem, &choices);
        let scale = match settings.objective {
            Objective::NeutralRms => largest_mean_square(problem),
            Objective::NeutralLoss => quadratic.largest(),
            Objective::NeutralPeak | Objective::PhasePeak => peak
                .iter()
                .map(|peak| peak.square(&start_of(problem, &choices)))
                .fold(f64::MIN_POSITIVE, f64::max),
        };
        if limits.are_idle() && peak.is_none() {
            // A load without neutral current stays: no phase is better than another.
            for (i, unit) in problem.units().iter().enumerate() {
                if quadratic.own(i) <= 1e-18 * scale {
                    let stay = unit.current.filter(|turn| choices[i].contains(turn));
                    choices[i] = vec![stay.unwrap_or(choices[i][0])];
                }
            }
        }
        Self {
            problem,
            quadratic,
            peak,
            tie,
            limits,
            choices,
            max_moves: settings.max_moves,
            scale,
        }
    }

    /// Number of units.
    pub(crate) fn size(&self) -> usize {
        self.choices.len()
    }

    /// Units that have a choice, in order.
    pub(crate) fn free(&self) -> Vec<usize> {
        (0..self.size())
            .filter(|&i| self.choices[i].len() > 1)
            .collect()
    }

    /// Number of allocations, as far as it can be counted.
    pub(crate) fn allocations(&self) -> u64 {
        self.choices.iter().fold(1, |product: u64, choices| {
            product.saturating_mul(choices.len() as u64)
        })
    }

    /// Moves if unit `i` has `turn`.
    pub(crate) fn moves_of(&self, i: usize, turn: usize) -> usize {
        let unit = &self.problem.units()[i];
        match unit.current {
            Some(now) if now != turn => unit.moves,
            _ => 0,
        }
    }

    /// Moves beyond those allowed.
    pub(crate) fn moves_over(&self, moves: usize) -> usize {
        self.max_moves.map_or(0, |most| moves.saturating_sub(most))
    }

    /// True when neither limits nor a number of moves restrict the choice.
    pub(crate) fn is_unrestricted(&self) -> bool {
        self.limits.are_idle() && self.max_moves.is_none()
    }

    /// True when turning all units alike changes nothing about limits, ways and moves.
    pub(crate) fn limits_turn_along(&self) -> bool {
        let is_empty = |currents: &Currents| (0..3).all(|k| currents.series(k).is_none());
        self.max_moves.is_none()
            && self.problem.ways().is_empty()
            && self.choices.iter().all(|choices| choices.len() == 3)
            && self
                .problem
                .nodes()
                .iter()
                .all(|node| is_empty(&node.fixed))
    }

    /// True when all units are loads to neutral, so that exchanging two phases exchanges their
    /// currents and nothing else.
    pub(crate) fn has_only_loads_to_neutral(&self) -> bool {
        let is_to_neutral =
            |currents: &Currents| currents.series(1).is_none() && currents.series(2).is_none();
        let shares = self.problem.nodes().iter().flat_map(|node| &node.shares);
        shares
            .map(|share| self.problem.part(share))
            .all(is_to_neutral)
    }

    /// Where the search begins: as it is now, and the first choice where nothing is known.
    pub(crate) fn start(&self) -> Vec<usize> {
        start_of(self.problem, &self.choices)
    }

    /// What is made small, as a mean square. (A²)
    pub(crate) fn value(&self, turns: &[usize]) -> f64 {
        match &self.peak {
            Some(peak) => peak.square(turns),
            None => self.quadratic.value(turns).max(0.0),
        }
    }

    /// What decides between equals. (A²)
    pub(crate) fn tie_square(&self, turns: &[usize]) -> f64 {
        let tie = self.tie.as_ref();
        tie.map_or(0.0, |tie| tie.value(turns).max(0.0))
    }

    /// Multiplications that [`Model::value`] takes beyond those of the form.
    pub(crate) fn value_cost(&self) -> u64 {
        self.peak.as_ref().map_or(0, Peak::cost)
    }

    /// Where a peak is made small: takes the mixture of blocks that says most about allocations near
    /// this one.
    pub(crate) fn look_near(&mut self, turns: &[usize]) {
        if let Some(peak) = &self.peak {
            self.quadratic = peak.form(&deciding_weights(peak, &self.choices, turns));
        }
    }

    /// By how much `turns` passes limits; see [`Limits::excess`].
    pub(crate) fn excess(&self, turns: &[usize], enough: Option<&Excess>) -> Excess {
        let moves = self.moves_over(self.problem.moves(turns));
        if enough.is_some_and(|enough| moves > enough.moves) {
            return Excess {
                moves,
                ..Excess::default()
            };
        }
        let enough = enough.map(|enough| Excess {
            moves: 0,
            ..*enough
        });
        Excess {
            moves,
            ..self.limits.excess(turns, enough.as_ref())
        }
    }

    /// Does `turns` pass limits by more than `enough`? See [`Limits::pass_more`].
    pub(crate) fn passes_more(
        &self,
        turns: &[usize],
        enough: &Excess,
        watched: &mut AskedBefore,
    ) -> bool {
        let moves = self.moves_over(self.problem.moves(turns));
        match moves.cmp(&enough.moves) {
            Ordering::Less => false,
            Ordering::Greater => true,
            Ordering::Equal => {
                let enough = Excess {
                    moves: 0,
                    ..*enough
                };
                self.limits.pass_more(turns, &enough, watched)
            }
        }
    }

    /// What counts about `turns`.
    pub(crate) fn evaluate(&self, turns: &[usize]) -> Evaluation {
        Evaluation {
            mean_square: self.value(turns),
            tie_square: self.tie_square(turns),
            excess: self.excess(turns, None),
            moves: self.problem.moves(turns),
        }
    }
}

fn start_of(problem: &Problem, choices: &[Vec<usize>]) -> Vec<usize> {
    problem
        .units()
        .iter()
        .zip(choices)
        .map(|(unit, choices)| {
            let now = unit.current.filter(|turn| choices.contains(turn));
            now.unwrap_or(choices[0])
        })
        .collect()
}

/// More than the mean square could be if all currents ran together through one conductor. (A²)
fn largest_mean_square(problem: &Problem) -> f64 {
    let rms = |currents: &Currents| -> f64 {
        (0..3)
            .filter_map(|position| currents.series(position))
            .map(|series| {
                let sum: f64 = series.iter().map(num_complex::Complex64::norm_sqr).sum();
                (sum / problem.intervals() as f64).sqrt()
            })
            .sum()
    };
    let units: f64 = problem.units().iter().map(|unit| rms(&unit.currents)).sum();
    (units + rms(&problem.supply().fixed)).powi(2)
}
