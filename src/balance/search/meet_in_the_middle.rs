//! Little information in time: all sums of one half of the loads combined with those of the other.
//!
//! With one snapshot, or a few schedules, the form has a rank r of one to three: J = c + |f + Σ aᵢ vᵢ|², the
//! vᵢ having r components. Bounds say nothing then; but of two halves with n/2 units each, all 3^(n/2)
//! sums can be listed, and a sum of the one half needs to be set only against those of the other
//! that are near its opposite.

use num_complex::Complex64;

use crate::form::model::Model;
use crate::form::quadratic::{Quadratic, turn_factors};
use crate::problem::evaluation::tolerance;
use crate::search::incumbent::Incumbent;

/// Largest rank for which sums are met.
const MOST_COMPONENTS: usize = 3;
/// Sums of one half at most.
const MOST_SUMS: u64 = 1_600_000;
/// Most pairs tried, and most allocations checked in full.
const MOST_PAIRS: u64 = 400_000_000;
const MOST_CHECKED: u64 = 200_000;
/// Share of the largest mean square below which the rest of the form is rounding.
const ROUNDING: f64 = 1e-13;

/// The form as squares of sums.
pub(crate) struct Factors {
    /// Per unit, its components.
    units: Vec<Vec<Complex64>>,
    fixed: Vec<Complex64>,
    /// What the squares leave out at most. [A²]
    slack: f64,
    constant: f64,
}

impl Factors {
    /// By Cholesky's method, the largest remaining unit first; `None` when `most` components are not enough.
    pub(crate) fn new(form: &Quadratic, most: usize) -> Option<Self> {
        let size = form.size();
        let mut rest: Vec<Vec<Complex64>> = (0..size)
            .map(|i| {
                let mut row = form.row(i).to_vec();
                row.push(form.linear[i]);
                row
            })
            .collect();
        let mut factors = Self {
            units: vec![Vec::new(); size],
            fixed: Vec::new(),
            slack: 0.0,
            constant: form.constant,
        };
        let own = |rest: &[Vec<Complex64>], i: usize| rest[i][i].re.max(0.0);
        let scale = (0..size).map(|i| own(&rest, i)).fold(0.0, f64::max);
        loop {
            let pivot = (0..size).max_by(|&a, &b| own(&rest, a).total_cmp(&own(&rest, b)))?;
            let square = own(&rest, pivot);
            if square <= ROUNDING * scale {
                let left: f64 = (0..size).map(|i| own(&rest, i)).sum();
                factors.slack = left * size as f64 + ROUNDING * scale * (size * size) as f64;
                return Some(factors);
            }
            if factors.fixed.len() == most {
                return None;
            }
            let row: Vec<Complex64> = rest[pivot].iter().map(|e| e / square.sqrt()).collect();
            for (i, unit) in factors.units.iter_mut().enumerate() {
                unit.push(row[i]);
            }
            factors.fixed.push(row[size]);
            factors.constant -= row[size].norm_sqr();
            for (i, rest) in rest.iter_mut().enumerate() {
                for (entry, value) in rest.iter_mut().zip(&row) {
                    *entry -= row[i].conj() * value;
                }
            }
        }
    }

    /// Number of components.
    pub(crate) fn rank(&self) -> usize {
        self.fixed.len()
    }
}

/// All sums of some units.
struct Half {
    units: Vec<usize>,
    /// Components of sum after sum.
    sums: Vec<Complex64>,
    /// Which allocation each sum is, the first unit counting least.
    numbers: Vec<u32>,
}

/// The best allocation, or `None` where the form has too many components, there are too many units, or too many
/// allocations are close together. `found` is a good one that keeps the limits.
pub(crate) fn meet(model: &Model, found: &Incumbent) -> Option<Incumbent> {
    if model.peak.is_some() || !found.is_feasible() {
        return None;
    }
    let free = model.free();
    let form = model.quadratic.restrict(&free, &found.turns);
    let factors = Factors::new(&form, MOST_COMPONENTS)?;
    if factors.rank() == 0 {
        // Nothing that moves reaches the neutral.
        return None;
    }
    let mut order: Vec<usize> = (0..free.len()).collect();
    order.sort_by(|&a, &b| form.own(b).total_cmp(&form.own(a)).then(a.cmp(&b)));
    let (mut first, mut second) = (Vec::new(), Vec::new());
    let (mut many, mut few) = (1_u64, 1_u64);
    for unit in order {
        let choices = model.choices[free[unit]].len() as u64;
        let (half, count) = if many <= few {
            (&mut first, &mut many)
        } else {
            (&mut second, &mut few)
        };
        half.push(unit);
        *count = count.saturating_mul(choices);
    }
    if many.max(few) > MOST_SUMS {
        return None;
    }
    let nothing = vec![Complex64::ZERO; factors.rank()];
    let meeting = Meeting {
        first: Half::new(model, &free, &factors, first, &factors.fixed),
        second: Half::new(model, &free, &factors, second, &nothing),
        model,
        free,
        factors,
    };
    meeting.best(found)
}

impl Half {
    fn new(
        model: &Model,
        free: &[usize],
        factors: &Factors,
        units: Vec<usize>,
        start: &[Complex64],
    ) -> Self {
        let turns = turn_factors();
        let mut sums = start.to_vec();
        for &unit in &units {
            let before = sums;
            sums = Vec::with_capacity(before.len() * 3);
            for &turn in &model.choices[free[unit]] {
                for sum in before.chunks_exact(factors.rank()) {
                    let pairs = sum.iter().zip(&factors.units[unit]);
                    sums.extend(pairs.map(|(sum, part)| sum + part * turns[turn]));
                }
            }
        }
        let count = sums.len() / factors.rank();
        Self {
            units,
            sums,
            numbers: (0..count as u32).collect(),
        }
    }

    fn tell(&self, model: &Model, free: &[usize], number: u32, turns: &mut [usize]) {
        let mut number = number as usize;
        for &unit in &self.units {
            let choices = &model.choices[free[unit]];
            turns[free[unit]] = choices[number % choices.len()];
            number /= choices.len();
        }
    }

    /// Leaves one of several equal sums: that with the fewest moves, then the lowest turns.
    fn without_twins(mut self, model: &Model, free: &[usize], rank: usize, grain: f64) -> Self {
        let turns_of = |number: u32| {
            let mut turns = model.start();
            self.tell(model, free, number, &mut turns);
            (model.problem.moves(&turns), turns)
        };
        let place = |number: u32| &self.sums[number as usize * rank..][..rank];
        let key = |number: u32| -> Vec<[i64; 2]> {
            let cell = |value: &Complex64| [value.re, value.im].map(|x| (x / grain).round() as i64);
            place(number).iter().map(cell).collect()
        };
        let mut keyed: Vec<(Vec<[i64; 2]>, u32)> = self
            .numbers
            .iter()
            .map(|&number| (key(number), number))
            .collect();
        keyed.sort_unstable();
        let mut kept: Vec<u32> = Vec::new();
        for twins in keyed.chunk_by(|a, b| a.0 == b.0) {
            let best = if twins.len() == 1 {
                Some(twins[0].1)
            } else {
                twins
                    .iter()
                    .map(|twin| twin.1)
                    .min_by_key(|&number| turns_of(number))
            };
            kept.extend(best);
        }
        kept.sort_unstable();
        self.numbers = kept;
        self
    }
}

struct Meeting<'m, 'p> {
    model: &'m Model<'p>,
    free: Vec<usize>,
    factors: Factors,
    first: Half,
    second: Half,
}

impl Meeting<'_, '_> {
    fn best(mut self, found: &Incumbent) -> Option<Incumbent> {
        let rank = self.factors.rank();
        let grain = 1e-9 * self.model.scale.sqrt();
        if self.model.is_unrestricted() && self.model.tie.is_none() {
            let (model, free) = (self.model, &self.free);
            self.first = self.first.without_twins(model, free, rank, grain);
            self.second = self.second.without_twins(model, free, rank, grain);
        }
        let mut best = found.clone();
        let mut pairs = 0;
        let mut checked = 0;
        // Cells about as wide as the distance between sums give the nearest pairs first.
        let mut width = self.spacing().max(grain);
        loop {
            self.look(width, &mut best, &mut pairs, &mut checked)?;
            let radius = self.radius(&best);
            if radius <= width {
                return Some(best);
            }
            width = (4.0 * width).min(radius);
        }
    }

    /// How far apart two opposite sums may be to leave no more than the best. (A)
    fn radius(&self, best: &Incumbent) -> f64 {
        let square = best.evaluation.mean_square;
        let most = square + tolerance(square, self.model.scale) - self.factors.constant;
        (most + self.factors.slack).max(0.0).sqrt() * (1.0 + 1e-9)
    }

    fn spacing(&self) -> f64 {
        let rank = self.factors.rank();
        let sums = self.second.sums.iter().step_by(rank);
        let reach = sums.map(|sum| sum.norm()).fold(0.0, f64::max);
        reach / (self.second.numbers.len() as f64).sqrt()
    }

    /// All pairs nearer than `width`; `None` when that is too much work.
    fn look(
        &self,
        width: f64,
        best: &mut Incumbent,
        pairs: &mut u64,
        checked: &mut u64,
    ) -> Option<()> {
        let rank = self.factors.rank();
        let cell = |value: f64| (value / width).floor() as i64;
        let mut cells: Vec<(i64, i64, u32)> = self
            .second
            .numbers
            .iter()
            .map(|&number| {
                let at = -self.second.sums[number as usize * rank];
                (cell(at.re), cell(at.im), number)
            })
            .collect();
        cells.sort_unstable();
        let mut radius = self.radius(best).min(width);
        let mut turns = best.turns.clone();
        for &number in &self.first.numbers {
            let sum = &self.first.sums[number as usize * rank..][..rank];
            let (x, y) = (cell(sum[0].re), cell(sum[0].im));
            for column in x - 1..=x + 1 {
                let from = cells.partition_point(|&(a, b, _)| (a, b) < (column, y - 1));
                let near = cells[from..]
                    .iter()
                    .take_while(|&&(a, b, _)| (a, b) <= (column, y + 1));
                for &(_, _, other) in near {
                    *pairs += 1;
                    let opposite = &self.second.sums[other as usize * rank..][..rank];
                    let square: f64 = sum
                        .iter()
                        .zip(opposite)
                        .map(|(a, b)| (a + b).norm_sqr())
                        .sum();
                    if square > radius * radius {
                        continue;
                    }
                    *checked += 1;
                    if *checked > MOST_CHECKED {
                        return None;
                    }
                    self.first.tell(self.model, &self.free, number, &mut turns);
                    self.second.tell(self.model, &self.free, other, &mut turns);
                    let found = Incumbent::new(self.model, turns.clone());
                    if found.beats(best, self.model.scale) {
                        *best = found;
                        radius = self.radius(best).min(width);
                    }
                }
            }
            if *pairs > MOST_PAIRS {
                return None;
            }
        }
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::samples::{Kind, config, random_problem};
    use crate::search::enumerate::enumerate;
    use crate::{Currents, Problem, ProblemNode, Proof, Settings, Unit, solve};

    proptest! {
        #![proptest_config(config(300))]

        /// Against trying everything, with limits, a budget, things fixed and unequal power factors.
        #[test]
        fn halves_meet_in_the_best_of_all(
            seed: u64, units in 1..10_usize, intervals in 1..4_usize, plain: bool, limits: bool,
            budget in proptest::option::of(1..6_usize),
        ) {
            let kind = Kind { units, intervals, plain, limits: limits && !plain };
            let problem = random_problem(seed, kind);
            let settings = Settings { max_moves: budget, ..Settings::default() };
            let model = Model::new(&problem, &settings);
            let best = enumerate(&model, u64::MAX).expect("few allocations");
            let start = Incumbent::new(&model, model.start());
            prop_assume!(start.is_feasible());
            if let Some(met) = meet(&model, &start) {
                let order = met.evaluation.compare(&best.evaluation, model.scale);
                prop_assert!(order.is_eq(), "{met:?} is not {best:?}");
            }
        }
    }

    /// One round of readings of 26 loads with one decimal: no bound helps, comparing all sums does.
    #[test]
    fn a_snapshot_of_26_loads_is_proven() {
        let units = (0..26)
            .map(|i| {
                let amps = 0.1 * f64::from(7 + (i * i * 37) % 183);
                Unit {
                    name: format!("load {i}"),
                    currents: Currents::to_neutral(vec![Complex64::from_polar(
                        amps,
                        -0.01 * f64::from(i),
                    )]),
                    choices: vec![0, 1, 2],
                    current: Some(0),
                    moves: 1,
                }
            })
            .collect();
        let problem = Problem::new(1, units, ProblemNode::default(), Vec::new(), Vec::new());
        let problem = problem.expect("a sound problem");
        let settings = Settings {
            curve_moves: 0,
            search_work: 100_000,
            ..Settings::default()
        };
        let solution = solve(&problem, &settings);
        assert_eq!(solution.proof, Proof::Optimal);
        // 3^26 allocations over a disc of some 140 A: the nearest to zero is far below a milliampere.
        assert!(
            solution.mean_square.sqrt() < 1e-3,
            "{}",
            solution.mean_square
        );
        let series = problem.evaluate(&solution.choices).mean_square;
        assert!((series - solution.mean_square).abs() < 1e-9);
    }
}
