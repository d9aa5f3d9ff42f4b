//! Branch and bound: no allocation left out, most of them by whole branches at once.
//!
//! In: a model and the best allocation that is known. Out: a [`ProofResult`]: the best of all or a better
//! one, and the bound.

mod best;
mod leaf;
mod settle;
mod tighten;

pub(crate) use leaf::Leaf;

use super::bound::{LeastNorms, Relaxation, Scalar};
use super::symmetry::Symmetry;
use crate::form::limits::LimitRow;
use crate::form::model::Model;
use crate::form::quadratic::Quadratic;
use crate::form::state::State;
use crate::problem::objective::Objective;
use crate::problem::settings::Settings;
use crate::search::incumbent::Incumbent;
use crate::search::meet_in_the_middle::Factors;

/// What a node takes besides the arithmetic of its bound, in multiplications of the same duration.
const NODE_WORK: u64 = 20_000;
/// A first bound below this share of the best promises no proof, and that of a mixture of blocks seldom
/// does: then little work is spent.
const PROMISING: f64 = 0.5;
/// A form of at most so many components says little about its bound.
const FEW_COMPONENTS: usize = 6;

/// What the search tree has proven.
#[derive(Clone, Debug)]
pub(crate) struct ProofResult {
    pub(crate) best: Incumbent,
    /// No allocation within the limits has a smaller mean square. [A²]
    pub(crate) bound: f64,
    /// True when the best is proven.
    pub(crate) is_complete: bool,
    /// Multiplications.
    pub(crate) work: u64,
}

/// Proves the best allocation, or finds a better one, as far as the work allows.
///
/// `best` must keep the limits.
pub(crate) fn prove(model: &Model, best: &Incumbent, settings: &Settings) -> ProofResult {
    grow(model, best, settings, None).shown
}

/// The proof with its closed branches.
pub(crate) struct Proven {
    pub(crate) shown: ProofResult,
    pub(crate) symmetry: Symmetry,
    pub(crate) leaves: Vec<Leaf>,
}

/// As [`prove`], keeping the closed branches. The model must be without limits.
pub(crate) fn prove_with_leaves(model: &Model, best: &Incumbent, settings: &Settings) -> Proven {
    grow(model, best, settings, Some(Vec::new()))
}

fn grow(model: &Model, best: &Incumbent, settings: &Settings, leaves: Option<Vec<Leaf>>) -> Proven {
    let free = model.free();
    let form = model.quadratic.restrict(&free, &best.turns);
    if form.is_real() {
        BranchTree::<f64>::new(model, form, free, best, settings).grow(leaves)
    } else {
        BranchTree::<num_complex::Complex64>::new(model, form, free, best, settings).grow(leaves)
    }
}

struct BranchTree<'m, 'p, S> {
    model: &'m Model<'p>,
    settings: &'m Settings,
    form: Quadratic,
    /// Units of the form, by their place in the problem.
    units: Vec<usize>,
    norms: LeastNorms,
    best: Incumbent,
    improver: State<'m, 'p>,
    /// Conductors and intervals in which an allocation tried so far exceeded a limit.
    rows: Vec<LimitRow>,
    /// Smallest bound among the branches that were not followed.
    open: f64,
    stopped: bool,
    nodes: u64,
    work: u64,
    most_work: u64,
    /// How far below the best a branch may be left: 0, or a margin that does not matter in practice. [A]
    near_enough: f64,
    /// Closed branches, where they are kept.
    leaves: Option<Vec<Leaf>>,
    symmetry: Symmetry,
    kind: std::marker::PhantomData<S>,
}

impl<'m, 'p, S: Scalar> BranchTree<'m, 'p, S> {
    fn new(
        model: &'m Model<'p>,
        form: Quadratic,
        units: Vec<usize>,
        best: &Incumbent,
        settings: &'m Settings,
    ) -> Self {
        Self {
            model,
            settings,
            units,
            norms: LeastNorms::new(),
            best: best.clone(),
            improver: State::new(model, best.turns.clone()),
            rows: Vec::new(),
            open: f64::INFINITY,
            stopped: false,
            nodes: 0,
            work: 0,
            most_work: settings.proof_work.saturating_mul(1_000_000),
            near_enough: near_enough(model, &form, settings),
            leaves: None,
            symmetry: Symmetry::default(),
            form,
            kind: std::marker::PhantomData,
        }
    }

    fn grow(mut self, leaves: Option<Vec<Leaf>>) -> Proven {
        self.leaves = leaves;
        self.watch_peak();
        if self.target() > 0.0 {
            let root = self.root();
            self.explore(root, self.symmetry.mirrored, None);
        }
        let least = self.best.evaluation.mean_square;
        let reached = self.target().min(least);
        let is_complete = !self.stopped && self.near_enough == 0.0;
        let shown = ProofResult {
            bound: if !self.stopped && self.near_enough > 0.0 {
                reached.max(0.0)
            } else if is_complete {
                least
            } else {
                self.open.clamp(0.0, least)
            },
            is_complete,
            best: self.best,
            work: self.work,
        };
        Proven {
            shown,
            symmetry: self.symmetry,
            leaves: self.leaves.unwrap_or_default(),
        }
    }

    /// The node above all others. Where all phases may change places, the largest unit is held.
    fn root(&mut self) -> Relaxation<S> {
        let mut root = Relaxation::<S>::new(&self.form, self.budget());
        // A mixture of blocks may have symmetries that other blocks have not.
        let is_whole = self.model.peak.is_none();
        let turn_along =
            (is_whole && self.model.is_unrestricted()) || self.model.limits_turn_along();
        let all_turn = self.units.iter().all(|&i| self.model.choices[i].len() == 3);
        if !(self.form.is_turn_invariant() && turn_along && all_turn) {
            return root;
        }
        let own = |unit: usize| self.form.own(unit);
        let largest =
            (0..self.units.len()).max_by(|&a, &b| own(a).total_cmp(&own(b)).then(b.cmp(&a)));
        self.symmetry.held = largest;
        if let Some(largest) = largest {
            root.decide(&self.form, largest, 0, &self.norms);
            root.refactor(&self.form);
            // Of two mirror images one is enough, until the phases L2 and L3 differ.
            self.symmetry.mirrored = is_whole
                && S::ROTATIONS == 1
                && (self.model.is_unrestricted() || self.model.has_only_loads_to_neutral());
        }
        root
    }

    fn turn_in_problem(&self, node: &Relaxation<S>) -> Vec<usize> {
        let mut turns = self.best.turns.clone();
        for (&unit, &turn) in self.units.iter().zip(&node.turns) {
            turns[unit] = turn;
        }
        turns
    }

    /// `above` is the knowledge from the parent node.
    fn explore(&mut self, mut node: Relaxation<S>, mirrored: bool, above: Option<f64>) {
        let is_root = above.is_none();
        self.nodes += 1;
        self.work += NODE_WORK + (node.free.len() * node.free.len()) as u64;
        if !self.settle(&mut node) {
            return;
        }
        if node.free.is_empty() {
            self.keep(&node);
            self.arrive(self.turn_in_problem(&node));
            return;
        }
        let bound = self
            .tighten(&mut node, is_root)
            .max(above.unwrap_or(f64::NEG_INFINITY));
        self.work += std::mem::take(&mut node.work);
        if bound >= self.target() {
            self.keep(&node);
            return;
        }
        if self.work > self.most_work || self.settings.is_late() {
            self.stopped = true;
            self.open = self.open.min(bound);
            return;
        }
        if is_root && (self.model.peak.is_some() || bound < PROMISING * self.target()) {
            self.most_work /= 8;
        }
        if is_root || self.nodes.is_multiple_of(16) {
            self.improve(&node);
        }
        let gains = node.gains(&self.norms);
        let place = self.most_decisive(&node, &gains);
        let unit = node.free[place];
        let mut children: Vec<(f64, usize)> = self
            .turns_left(&node, unit, mirrored)
            .into_iter()
            .map(|turn| (gains[place][turn], turn))
            .collect();
        children.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for (gain, turn) in children {
            let below = bound.max(node.bound + gain);
            if below >= self.target() {
                if self.leaves.is_some() {
                    let mut child = node.clone();
                    child.decide(&self.form, unit, turn, &self.norms);
                    self.keep(&child);
                }
                continue;
            }
            if self.stopped {
                self.open = self.open.min(below);
                continue;
            }
            let mut child = node.clone();
            child.decide(&self.form, unit, turn, &self.norms);
            child.refactor(&self.form);
            self.explore(child, mirrored && turn == 0, Some(below));
        }
    }

    /// Keeps a closed branch, where they are kept.
    fn keep(&mut self, node: &Relaxation<S>) {
        if let Some(leaves) = &mut self.leaves {
            leaves.push(Leaf::new(node));
        }
    }

    /// The unit whose decision matters most: large, and with all its turns far from free.
    fn most_decisive(&self, node: &Relaxation<S>, gains: &[[f64; 3]]) -> usize {
        let gap = self.target() - node.bound;
        let score = |place: usize| {
            let unit = node.free[place];
            let choices = &self.model.choices[self.units[unit]];
            let sum: f64 = choices
                .iter()
                .map(|&turn| gains[place][turn].min(gap))
                .sum();
            self.form.own(unit) * (sum / choices.len() as f64 + 0.2 * gap)
        };
        (0..gains.len())
            .max_by(|&a, &b| score(a).total_cmp(&score(b)).then(b.cmp(&a)))
            .unwrap_or(0)
    }
}

/// Where the form has few components, bounds say little and a small gap is left; else none.
fn near_enough(model: &Model, form: &Quadratic, settings: &Settings) -> f64 {
    let is_told_in_amps = settings.objective == Objective::NeutralRms && model.peak.is_none();
    let has_few = || Factors::new(form, FEW_COMPONENTS).is_some();
    if is_told_in_amps && form.size() > 2 * FEW_COMPONENTS && has_few() {
        settings.practical_gap_a.max(0.0)
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::problem::evaluation::tolerance;
    use crate::samples::{Kind, config, random_problem};
    use crate::search::enumerate::enumerate;

    proptest! {
        #![proptest_config(config(700))]

        /// From a poor start the tree must find and prove what trying everything finds.
        #[test]
        fn the_tree_ends_at_the_best_of_all_allocations(
            seed: u64,
            units in 2..10_usize,
            intervals in 1..40_usize,
            plain: bool,
            limits: bool,
            budget in proptest::option::of(2..6_usize),
        ) {
            let kind = Kind { units, intervals, plain, limits: limits && !plain };
            let problem = random_problem(seed, kind);
            let settings = Settings { max_moves: budget, ..Settings::default() };
            let model = Model::new(&problem, &settings);
            let best = enumerate(&model, u64::MAX).expect("few allocations");
            let start = Incumbent::new(&model, model.start());
            prop_assume!(start.is_feasible());
            let shown = prove(&model, &start, &settings);
            prop_assert!(shown.is_complete);
            let difference = shown.best.evaluation.mean_square - best.evaluation.mean_square;
            prop_assert!(
                difference.abs() <= 2.0 * tolerance(best.evaluation.mean_square, model.scale),
                "{:?} is not {:?}", shown.best, best
            );
        }

        /// Stopped at any moment, the bound does not pass the best of all allocations.
        #[test]
        fn a_bound_never_passes_the_best(
            seed: u64, units in 2..9_usize, intervals in 1..40_usize, plain: bool
        ) {
            let kind = Kind { units, intervals, plain, limits: false };
            let problem = random_problem(seed, kind);
            let settings = Settings { proof_work: 0, ..Settings::default() };
            let model = Model::new(&problem, &settings);
            let best = enumerate(&model, u64::MAX).expect("few allocations");
            let shown = prove(&model, &best, &settings);
            let most = best.evaluation.mean_square;
            prop_assert!(shown.bound <= most + tolerance(most, model.scale), "{shown:?} {best:?}");
        }
    }
}
