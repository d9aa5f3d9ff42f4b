//! A good allocation where the largest block counts.

#[cfg(test)]
mod tests;
mod watched;

use self::watched::WatchedBlocks;
use crate::form::model::Model;
use crate::form::peak::Peak;
use crate::form::state::{PhaseChange, State};
use crate::problem::evaluation::tolerance;
use crate::problem::settings::Settings;
use crate::search::found::BestFound;
use crate::search::incumbent::Incumbent;
use crate::search::random::Dice;
use crate::search::reduce_excess::lessen_excess;

/// Blocks watched at most.
const MOST_WATCHED: usize = 60;
/// Random changes while cooling down, per unit.
const ANNEALING: usize = 1500;
/// Temperatures as shares of the largest block's mean square.
const HOTTEST: f64 = 0.05;
const COLDEST: f64 = 0.01;
/// Runs without a better allocation after which the search ends.
const PATIENCE: usize = 12;
/// Limits watched at most.
const MOST_ROWS: usize = 400;

/// Cools down from the starts and from changed copies of the best; then descends by changes of one and two
/// units. Blocks are watched once an allocation made them the largest; a record is always judged by all.
pub(crate) fn search_peak(
    model: &Model,
    peak: &Peak,
    settings: &Settings,
    starts: &[Vec<usize>],
    most_work: u64,
) -> BestFound {
    let first = starts.first().cloned().unwrap_or_else(|| model.start());
    let mut search = PeakSearch {
        state: State::new(model, first.clone()),
        watched: Vec::new(),
        best: Incumbent::new(model, first.clone()),
        free: model.free(),
        dice: Dice::new(settings.seed),
        work: 0,
        model,
        peak,
    };
    search.watch(&first);
    let mut idle = 0;
    let mut run = 0;
    while !search.free.is_empty() && (run < starts.len() || search.work < most_work) {
        let before = search.best.clone();
        let start = starts.get(run).cloned();
        let is_given = start.is_some();
        let start = start.unwrap_or_else(|| search.next_start(run));
        search.run(&start, !is_given);
        run += 1;
        idle = if search.best.beats(&before, model.scale) {
            0
        } else {
            idle + 1
        };
        if settings.is_late() || (idle >= PATIENCE && run >= starts.len()) {
            break;
        }
    }
    if !search.best.is_feasible() {
        search.work += lessen_excess(model, &mut search.best, most_work / 4);
    }
    search.settle();
    BestFound {
        best: search.best,
        work: search.work,
    }
}

struct PeakSearch<'m, 'p> {
    model: &'m Model<'p>,
    peak: &'m Peak<'p>,
    free: Vec<usize>,
    state: State<'m, 'p>,
    watched: Vec<WatchedBlocks>,
    best: Incumbent,
    dice: Dice,
    work: u64,
}

impl PeakSearch<'_, '_> {
    /// A random allocation every fourth time, else the best one with some units turned.
    fn next_start(&mut self, run: usize) -> Vec<usize> {
        let mut turns = self.best.turns.clone();
        let share = if run.is_multiple_of(4) {
            1
        } else {
            2 + run % 4
        };
        self.dice
            .turn_some(&mut turns, share, &self.free, &self.model.choices);
        turns
    }

    fn run(&mut self, start: &[usize], cools: bool) {
        self.set(start);
        if cools {
            self.anneal();
        }
        // Each descent may make a block the largest that was not watched.
        for _ in 0..MOST_WATCHED {
            self.descend();
            if !self.record() {
                break;
            }
        }
    }

    fn set(&mut self, turns: &[usize]) {
        self.state.set(turns);
        for block in &mut self.watched {
            block.set(turns);
        }
    }

    fn apply(&mut self, change: PhaseChange) {
        let before = self.state.turns[change.0];
        for block in &mut self.watched {
            block.apply(change, before);
        }
        self.state.apply(change);
    }

    /// Watches the largest block of an allocation; true when it was not watched yet.
    fn watch(&mut self, turns: &[usize]) -> bool {
        let place = self.peak.largest(turns).place;
        self.work += self.peak.cost() / 4;
        let is_new = self.watched.len() < MOST_WATCHED
            && !self.watched.iter().any(|block| block.place == place);
        if is_new {
            let block = WatchedBlocks::new(self.peak, place, &self.state.turns);
            self.watched.push(block);
        }
        is_new
    }

    /// Largest of the watched blocks. (A²)
    fn square(&self) -> f64 {
        self.watched
            .iter()
            .map(WatchedBlocks::square)
            .fold(0.0, f64::max)
    }

    /// The same after some changes; may stop once it is above `enough`.
    fn square_after(&mut self, changes: &[PhaseChange], enough: f64) -> f64 {
        let mut largest: f64 = 0.0;
        for block in &self.watched {
            largest = largest.max(block.square_after(&self.state.turns, changes));
            self.work += block.cost() / 8 + 1;
            if largest > enough {
                break;
            }
        }
        largest
    }

    fn penalty_after(&mut self, changes: &[PhaseChange]) -> f64 {
        if self.model.is_unrestricted() {
            return 0.0;
        }
        self.work += self.state.watched() as u64 / 4 + 1;
        self.state.penalty_after(changes)
    }

    fn anneal(&mut self) {
        let mut square = self.square();
        let mut penalty = self.penalty_after(&[]);
        let hot = HOTTEST * square;
        let steps = ANNEALING * self.free.len();
        for step in 0..steps {
            let temperature = hot * COLDEST.powf(step as f64 / steps as f64);
            let Some(changes) = self.random_changes() else {
                continue;
            };
            let allowed = square + temperature * self.dice.waiting();
            let then = self.square_after(&changes, allowed);
            if then > allowed {
                continue;
            }
            let penalty_then = self.penalty_after(&changes);
            if then + square * penalty_then > allowed + square * penalty {
                continue;
            }
            for change in changes {
                self.apply(change);
            }
            (square, penalty) = (then, penalty_then);
        }
    }

    /// A change of one unit, or an exchange of two.
    fn random_changes(&mut self) -> Option<Vec<PhaseChange>> {
        let i = self.free[self.dice.below(self.free.len())];
        let choices = &self.model.choices[i];
        let turn = choices[self.dice.below(choices.len())];
        let now = self.state.turns[i];
        if turn == now {
            return None;
        }
        let mut changes = vec![(i, turn)];
        if self.dice.below(2) == 0 {
            let j = self.free[self.dice.below(self.free.len())];
            if self.state.turns[j] == turn && self.model.choices[j].contains(&now) {
                changes.push((j, now));
            }
        }
        Some(changes)
    }

    /// Changes of one or two units as long as they lower the penalty, or the largest block at no
    /// higher penalty.
    fn descend(&mut self) {
        let mut improved = true;
        while improved {
            improved = false;
            let free = self.free.clone();
            for (a, &i) in free.iter().enumerate() {
                for &j in &free[a..] {
                    if let Some(changes) = self.better_pair(i, j) {
                        for change in changes {
                            self.apply(change);
                        }
                        improved = true;
                    }
                }
            }
        }
    }

    fn better_pair(&mut self, i: usize, j: usize) -> Option<Vec<PhaseChange>> {
        let square = self.square();
        let penalty = self.penalty_after(&[]);
        let least = square * (1.0 - 1e-10);
        let model = self.model;
        for &turn_i in &model.choices[i] {
            if turn_i == self.state.turns[i] {
                continue;
            }
            for &turn_j in &model.choices[j] {
                let mut changes = vec![(i, turn_i)];
                if i == j && turn_j != turn_i {
                    continue;
                }
                if i != j {
                    if turn_j == self.state.turns[j] {
                        continue;
                    }
                    changes.push((j, turn_j));
                }
                if penalty == 0.0 {
                    if self.square_after(&changes, least) < least
                        && self.penalty_after(&changes) == 0.0
                    {
                        return Some(changes);
                    }
                    continue;
                }
                let then = self.penalty_after(&changes);
                let is_less = then < penalty * (1.0 - 1e-9);
                if is_less || (then <= penalty && self.square_after(&changes, least) < least) {
                    return Some(changes);
                }
            }
        }
        None
    }

    /// Among allocations with the same peak: changes of one or two units that leave less in the neutral,
    /// or need fewer moves.
    fn settle(&mut self) {
        let turns = self.best.turns.clone();
        self.set(&turns);
        let free = self.free.clone();
        let mut improved = self.best.is_feasible();
        while improved {
            improved = false;
            for (a, &i) in free.iter().enumerate() {
                for &j in &free[a..] {
                    improved |= self.settle_pair(i, j);
                }
            }
        }
    }

    fn settle_pair(&mut self, i: usize, j: usize) -> bool {
        let model = self.model;
        let square = self.best.evaluation.mean_square;
        let most = square + tolerance(square, model.scale);
        for &turn_i in &model.choices[i] {
            for &turn_j in &model.choices[j] {
                let mut turns = self.state.turns.clone();
                (turns[i], turns[j]) = (turn_i, turn_j);
                let mut changes = vec![(i, turns[i]), (j, turns[j])];
                if i == j {
                    changes.pop();
                }
                changes.retain(|&(unit, turn)| turn != self.state.turns[unit]);
                let tie = model.tie_square(&turns);
                let is_less = tie < self.best.evaluation.tie_square * (1.0 - 1e-9)
                    || model.problem.moves(&turns) < self.best.evaluation.moves;
                if changes.is_empty()
                    || !is_less
                    || self.square_after(&changes, most) > most
                    || self.penalty_after(&changes) > 0.0
                {
                    continue;
                }
                let found = Incumbent::new(model, turns);
                if found.beats(&self.best, model.scale) {
                    self.best = found;
                    for change in changes {
                        self.apply(change);
                    }
                    return true;
                }
            }
        }
        false
    }

    /// Keeps the allocation if it beats the best; true when something that it passes was not watched yet.
    fn record(&mut self) -> bool {
        let found = Incumbent::new(self.model, self.state.turns.clone());
        self.work += self.model.limits.cost() / 4;
        let turns = self.state.turns.clone();
        let mut is_new = self.watch(&turns);
        if !found.is_feasible() && self.state.watched() < MOST_ROWS {
            let rows = self.model.limits.worst(&turns);
            is_new |= self.state.watch(rows);
        }
        if found.beats(&self.best, self.model.scale) {
            self.best = found;
        }
        is_new
    }
}
