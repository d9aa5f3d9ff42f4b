//! A good allocation by repeated local search with a memory.

use super::found::BestFound;
use super::peak::search_peak;
use super::random::Dice;
use super::ties::settle_ties;
use crate::form::model::Model;
use crate::form::state::{PhaseChange, State};
use crate::problem::settings::Settings;
use crate::search::incumbent::Incumbent;
use crate::search::reduce_excess::lessen_excess;

/// Random changes tried while cooling down, per unit.
const ANNEALING: usize = 10_000;
/// Temperature to begin with, as a share of the mean square of the largest unit.
const HOTTEST: f64 = 0.1;
/// Temperature to end with, as a share of the first.
const COLDEST: f64 = 0.03;
/// Conductors and intervals watched at most.
const MOST_WATCHED: usize = 400;

/// Work beyond which more of it hardly ever finds more, in evaluated changes per unit.
const WORK_PER_UNIT: u64 = 150_000;

/// So few units without limits take less: the proof that follows is quick and mends what was missed.
const FEW_UNITS: usize = 30;
const EASY_WORK_PER_UNIT: u64 = 40_000;

/// More units without limits are beyond a proof: what the search leaves stays lost, so it goes on for longer, and then
/// disturbs what it found.
const MANY_UNITS: usize = 60;
const MANY_TIMES: u64 = 6;
/// Work on disturbing what was found, as a multiple of what found it.
const DISTURBING: u64 = 6;
/// Disturbances without a gain, after which a worse allocation is gone on from, and after which the best is again.
const PATIENT: usize = 200;
const DISHEARTENED: usize = 600;
/// By how much worse that may be, as a share of the mean square.
const WORSE: f64 = 0.004;

/// Searches from the present allocation, from changed copies of the best one and from random ones.
///
/// Each run cools down from random changes, then takes the best single change that was not undone
/// lately, for better or worse, and ends with changes of two units for as long as they help. Limits are watched in the
/// intervals where an allocation first exceeded them; a new best is always checked in all.
pub(crate) fn search(model: &Model, settings: &Settings) -> BestFound {
    let free = model.free().len();
    let (per_unit, times) = match (free, model.is_unrestricted()) {
        (..=FEW_UNITS, true) => (EASY_WORK_PER_UNIT, 1),
        (MANY_UNITS.., true) => (WORK_PER_UNIT, MANY_TIMES),
        _ => (WORK_PER_UNIT, 1),
    };
    let work = times * settings.search_work.min(per_unit * free as u64);
    search_from(model, settings, &[model.start()], work)
}

/// As [`search`], beginning with the given allocations.
pub(crate) fn search_from(
    model: &Model,
    settings: &Settings,
    starts: &[Vec<usize>],
    most_work: u64,
) -> BestFound {
    if let Some(peak) = &model.peak {
        let mut found = search_peak(model, peak, settings, starts, most_work);
        settle_ties(model, &mut found.best);
        return found;
    }
    let free = model.free();
    let first = starts.first().cloned().unwrap_or_else(|| model.start());
    let largest = free
        .iter()
        .map(|&i| model.quadratic.own(i))
        .fold(0.0, f64::max);
    let mut search = LocalSearch {
        state: State::new(model, first.clone()),
        best: Incumbent::new(model, first),
        weight: largest,
        hot: largest,
        change_of_weight: 1.3,
        tabu_until: vec![0; 3 * model.size()],
        step: 0,
        dice: Dice::new(settings.seed),
        least_penalty: f64::INFINITY,
        work: 0,
        model,
        free,
    };
    let mut run = 0;
    while !search.free.is_empty() && (run < starts.len() || search.work < most_work) {
        let start = starts.get(run).cloned();
        let start = start.unwrap_or_else(|| search.next_start(run));
        search.change_of_weight = if run.is_multiple_of(2) { 1.3 } else { 1.1 };
        if run < starts.len() {
            search.run(&start);
        } else {
            let cooled = search.anneal(&start);
            search.run(&cooled);
        }
        run += 1;
        if settings.is_late() {
            break;
        }
    }
    if search.free.len() >= MANY_UNITS && model.is_unrestricted() {
        search.disturb(settings, DISTURBING * most_work);
    }
    if !search.best.is_feasible() {
        search.work += lessen_excess(model, &mut search.best, most_work / 4);
    }
    settle_ties(model, &mut search.best);
    BestFound {
        best: search.best,
        work: search.work,
    }
}

struct LocalSearch<'m, 'p> {
    model: &'m Model<'p>,
    free: Vec<usize>,
    state: State<'m, 'p>,
    best: Incumbent,
    /// What a penalty of one costs. (A²)
    weight: f64,
    /// Mean square of the largest unit, for temperatures. [A²]
    hot: f64,
    /// By how much that grows outside the limits and shrinks inside: a slow run goes far outside,
    /// a quick one follows the edge.
    change_of_weight: f64,
    /// Step until which a unit may not go back to a turn.
    tabu_until: Vec<u64>,
    step: u64,
    dice: Dice,
    least_penalty: f64,
    work: u64,
}

impl LocalSearch<'_, '_> {
    /// A random allocation every fourth time, else the best one with some units turned.
    fn next_start(&mut self, run: usize) -> Vec<usize> {
        let mut turns = self.best.turns.clone();
        let share = if self.model.max_moves.is_some() {
            // From a wholly random start, few moves lead nowhere.
            3 + run % 5
        } else if run.is_multiple_of(4) {
            1
        } else {
            2 + run % 4
        };
        self.dice
            .turn_some(&mut turns, share, &self.free, &self.model.choices);
        turns
    }

    fn run(&mut self, start: &[usize]) {
        self.state.set(start);
        self.tabu_until.fill(0);
        self.record();
        let patience = 20 * self.free.len() as u64 + 50;
        let mut least = (f64::INFINITY, f64::INFINITY);
        let mut best_turns = start.to_vec();
        let mut last_gain = self.step;
        // Where the phases are alike the value is zero but for its rounding, which may be negative.
        let margin = |value: f64| 1e-12 * value.abs() + 1e-14 * self.model.scale;
        let (mut inside, mut outside) = (0, 0);
        while self.step - last_gain < patience {
            self.step += 1;
            let change = self.best_change();
            self.make(change);
            let penalty = self.state.penalty();
            if penalty > 0.0 {
                (inside, outside) = (0, outside + 1);
            } else {
                (inside, outside) = (inside + 1, 0);
            }
            if outside == 8 {
                (self.weight, outside) = (self.weight * self.change_of_weight, 0);
            }
            if inside == 8 && self.restricts() {
                (self.weight, inside) = (self.weight / self.change_of_weight, 0);
            }
            let value = self.state.value;
            let is_less = penalty < least.0 * (1.0 - 1e-9)
                || (penalty <= least.0 && value < least.1 - margin(value));
            if is_less {
                least = (penalty, value);
                last_gain = self.step;
                best_turns.copy_from_slice(&self.state.turns);
                self.record();
            } else if penalty == 0.0 {
                self.record();
            }
            if self.step.is_multiple_of(512) {
                self.state.refresh();
            }
        }
        self.state.set(&best_turns);
        self.work += self.state.descend(&self.free);
        self.record();
    }

    /// Single changes and exchanges at random, fewer and fewer of them for the worse.
    fn anneal(&mut self, start: &[usize]) -> Vec<usize> {
        self.state.set(start);
        let restricted = self.restricts();
        let steps = ANNEALING * self.free.len();
        let hot = HOTTEST * self.hot;
        let mut penalty = self.state.penalty();
        for step in 0..steps {
            let temperature = hot * COLDEST.powf(step as f64 / steps as f64);
            let i = self.free[self.dice.below(self.free.len())];
            let choices = &self.model.choices[i];
            let turn = choices[self.dice.below(choices.len())];
            let now = self.state.turns[i];
            if turn == now {
                continue;
            }
            let mut changes = vec![(i, turn)];
            let mut gain = self.state.gain((i, turn));
            if self.dice.below(2) == 0 {
                let j = self.free[self.dice.below(self.free.len())];
                if self.state.turns[j] == turn && self.model.choices[j].contains(&now) {
                    gain += self.state.gain((j, now)) + self.state.joint((i, turn), (j, now));
                    changes.push((j, now));
                }
            }
            self.work += 1;
            let mut then = penalty;
            if restricted {
                then = self.state.penalty_after(&changes);
                self.work += self.state.watched() as u64 / 4;
            }
            let rise = gain + self.weight * (then - penalty);
            if rise <= 0.0 || rise < temperature * self.dice.waiting() {
                for change in changes {
                    self.state.apply(change);
                }
                penalty = then;
            }
        }
        self.state.refresh();
        self.state.turns.clone()
    }

    /// Turns a few units of a good allocation and lessens what comes of it, again and again: what is good about it
    /// mostly stays.
    fn disturb(&mut self, settings: &Settings, most_work: u64) {
        let until = self.work + most_work;
        let mut at = (self.best.evaluation.mean_square, self.best.turns.clone());
        let mut without_gain = 0;
        while self.work < until && !settings.is_late() {
            self.state.set(&at.1);
            for _ in 0..3 + self.dice.below(4) {
                let change = self.any_change();
                self.state.apply(change);
            }
            self.work += self.state.descend(&self.free);
            self.record();
            let value = self.state.value;
            if value < at.0 * (1.0 - 1e-12) {
                without_gain = 0;
            } else {
                without_gain += 1;
                if without_gain > DISHEARTENED {
                    at = (self.best.evaluation.mean_square, self.best.turns.clone());
                    without_gain = 0;
                    continue;
                }
                if without_gain < PATIENT || value > at.0 * (1.0 + WORSE) {
                    continue;
                }
            }
            at = (value, self.state.turns.clone());
        }
    }

    fn restricts(&self) -> bool {
        !self.model.is_unrestricted()
    }

    /// The single change after which value and penalty are least, unless it was undone lately.
    fn best_change(&mut self) -> PhaseChange {
        let restricted = self.restricts();
        let mut best = None;
        let mut least = f64::INFINITY;
        for &i in &self.free {
            for &turn in &self.model.choices[i] {
                if turn == self.state.turns[i] {
                    continue;
                }
                self.work += 1;
                let mut value = self.state.gain((i, turn));
                let is_tabu = self.tabu_until[3 * i + turn] > self.step;
                if value >= least {
                    // The penalty cannot make it better than the penalty of now does.
                    if !restricted {
                        continue;
                    }
                }
                let mut penalty = 0.0;
                if restricted {
                    penalty = self.state.penalty_after(&[(i, turn)]);
                    self.work += self.state.watched() as u64 / 4;
                }
                let is_record = penalty == 0.0
                    && self.state.value + value < self.best.evaluation.mean_square * (1.0 - 1e-9);
                value += self.weight * penalty;
                if value < least && (!is_tabu || is_record) {
                    least = value;
                    best = Some((i, turn));
                }
            }
        }
        best.unwrap_or_else(|| self.any_change())
    }

    /// When every change is tabu: one of them.
    fn any_change(&mut self) -> PhaseChange {
        let i = self.free[self.dice.below(self.free.len())];
        let choices: Vec<usize> = self.model.choices[i]
            .iter()
            .copied()
            .filter(|&turn| turn != self.state.turns[i])
            .collect();
        (i, choices[self.dice.below(choices.len())])
    }

    fn make(&mut self, (i, turn): PhaseChange) {
        let tenure = 3 + self.free.len() / 8 + self.dice.below(4 + self.free.len() / 8);
        self.tabu_until[3 * i + self.state.turns[i]] = self.step + tenure as u64;
        self.state.apply((i, turn));
    }

    /// Keeps the allocation if it beats the best; if it exceeds a limit that is not watched yet,
    /// watches it from now on.
    fn record(&mut self) {
        let penalty = self.state.penalty();
        let is_worse = if self.best.is_feasible() {
            let best = &self.best.evaluation;
            penalty > 0.0
                || self.state.value > best.mean_square * (1.0 + 1e-12)
                || (self.state.value > best.mean_square * (1.0 - 1e-12)
                    && self.model.tie.is_none()
                    && self.state.moves() >= best.moves)
        } else {
            penalty > self.least_penalty
        };
        if is_worse {
            return;
        }
        self.least_penalty = penalty;
        let found = Incumbent::new(self.model, self.state.turns.clone());
        self.work += self.model.limits.cost() / 4;
        if !found.evaluation.excess.is_none() && self.state.watched() < MOST_WATCHED {
            let rows = self.model.limits.worst(&self.state.turns);
            self.work += self.model.limits.cost() / 4;
            if self.state.watch(rows) {
                self.least_penalty = f64::INFINITY;
            }
        }
        if found.beats(&self.best, self.model.scale) {
            self.best = found;
        }
    }
}
