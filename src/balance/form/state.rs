//! An allocation under change: what each change would bring, at the price of a few multiplications.

use num_complex::Complex64;

use super::limits::LimitRow;
use super::model::Model;
use super::quadratic::turn_factors;

/// One unit that gets another turn.
pub(crate) type PhaseChange = (usize, usize);

/// An allocation with everything needed to judge changes of one or two units.
#[derive(Debug)]
pub(crate) struct State<'m, 'p> {
    model: &'m Model<'p>,
    factors: [Complex64; 3],
    pub(crate) turns: Vec<usize>,
    /// Q a + l.
    gradient: Vec<Complex64>,
    /// Mean square. (A²)
    pub(crate) value: f64,
    moves: usize,
    /// Boards with limited ways on which each unit sits, and the ways it takes.
    boards: Vec<Vec<(usize, [usize; 3])>>,
    taken: Vec<[usize; 3]>,
    /// Conductors and intervals watched.
    rows: Vec<LimitRow>,
    sums: Vec<Complex64>,
}

impl<'m, 'p> State<'m, 'p> {
    pub(crate) fn new(model: &'m Model<'p>, turns: Vec<usize>) -> Self {
        let mut boards = vec![Vec::new(); model.size()];
        for (board, ways) in model.problem.ways().iter().enumerate() {
            for &(unit, uses) in &ways.uses {
                boards[unit].push((board, uses));
            }
        }
        let mut state = Self {
            model,
            factors: turn_factors(),
            turns,
            gradient: Vec::new(),
            value: 0.0,
            moves: 0,
            boards,
            taken: Vec::new(),
            rows: Vec::new(),
            sums: Vec::new(),
        };
        state.refresh();
        state
    }

    pub(crate) fn model(&self) -> &'m Model<'p> {
        self.model
    }

    /// Puts another allocation in place.
    pub(crate) fn set(&mut self, turns: &[usize]) {
        self.turns.copy_from_slice(turns);
        self.refresh();
    }

    /// Computes everything afresh, which also removes the rounding that changes leave behind.
    pub(crate) fn refresh(&mut self) {
        let quadratic = &self.model.quadratic;
        self.gradient = (0..self.turns.len())
            .map(|i| {
                let row = quadratic.row(i).iter().zip(&self.turns);
                quadratic.linear[i]
                    + row
                        .map(|(q, &turn)| q * self.factors[turn])
                        .sum::<Complex64>()
            })
            .collect();
        self.value = quadratic.value(&self.turns);
        self.moves = self.model.problem.moves(&self.turns);
        self.taken = vec![[0; 3]; self.model.problem.ways().len()];
        for (unit, uses) in self.boards.iter().enumerate() {
            for &(board, ways) in uses {
                for (position, count) in ways.into_iter().enumerate() {
                    self.taken[board][(position + self.turns[unit]) % 3] += count;
                }
            }
        }
        self.sums = self.rows.iter().map(|row| row.sum(&self.turns)).collect();
    }

    /// Watches more conductors; true when one of them is new.
    pub(crate) fn watch(&mut self, rows: Vec<LimitRow>) -> bool {
        let mut any = false;
        for row in rows {
            let sum = row.sum(&self.turns);
            if row.add_to(&mut self.rows) {
                self.sums.push(sum);
                any = true;
            }
        }
        any
    }

    /// Number of conductors and intervals watched.
    pub(crate) fn watched(&self) -> usize {
        self.rows.len()
    }

    /// How much the mean square changes. (A²)
    pub(crate) fn gain(&self, (i, turn): PhaseChange) -> f64 {
        let step = self.factors[turn] - self.factors[self.turns[i]];
        2.0 * (step.conj() * self.gradient[i]).re + step.norm_sqr() * self.model.quadratic.own(i)
    }

    /// How much the mean square changes beyond the two changes' own gains. (A²)
    pub(crate) fn joint(&self, (i, a): PhaseChange, (j, b): PhaseChange) -> f64 {
        let step_i = self.factors[a] - self.factors[self.turns[i]];
        let step_j = self.factors[b] - self.factors[self.turns[j]];
        2.0 * (step_i.conj() * self.model.quadratic.row(i)[j] * step_j).re
    }

    /// Makes a change.
    pub(crate) fn apply(&mut self, change: PhaseChange) {
        let (i, turn) = change;
        if self.turns[i] == turn {
            return;
        }
        self.value += self.gain(change);
        let step = self.factors[turn] - self.factors[self.turns[i]];
        for (gradient, entry) in self.gradient.iter_mut().zip(self.model.quadratic.row(i)) {
            *gradient += entry.conj() * step;
        }
        self.moves =
            self.moves + self.model.moves_of(i, turn) - self.model.moves_of(i, self.turns[i]);
        for &(board, ways) in &self.boards[i] {
            shift_ways(&mut self.taken[board], ways, self.turns[i], turn);
        }
        for (sum, row) in self.sums.iter_mut().zip(&self.rows) {
            *sum += row.terms[i][turn] - row.terms[i][self.turns[i]];
        }
        self.turns[i] = turn;
    }

    /// Moves needed to get here.
    pub(crate) fn moves(&self) -> usize {
        self.moves
    }

    /// Total excess over limits: excess moves and ways, and overloads as shares of the limit.
    pub(crate) fn penalty(&self) -> f64 {
        self.penalty_after(&[])
    }

    /// The penalty once some changes (of different units) are made.
    pub(crate) fn penalty_after(&self, changes: &[PhaseChange]) -> f64 {
        let mut moves = self.moves;
        for &(i, turn) in changes {
            moves = moves + self.model.moves_of(i, turn) - self.model.moves_of(i, self.turns[i]);
        }
        let mut counts = self.model.moves_over(moves);
        for (board, ways) in self.model.problem.ways().iter().enumerate() {
            let mut taken = self.taken[board];
            for &(i, turn) in changes {
                for &(_, uses) in self.boards[i].iter().filter(|(of, _)| *of == board) {
                    shift_ways(&mut taken, uses, self.turns[i], turn);
                }
            }
            counts += taken
                .iter()
                .zip(ways.free)
                .map(|(taken, free)| taken.saturating_sub(free))
                .sum::<usize>();
        }
        let mut over = 0.0;
        for (sum, row) in self.sums.iter().zip(&self.rows) {
            let mut sum = *sum;
            for &(i, turn) in changes {
                sum += row.terms[i][turn] - row.terms[i][self.turns[i]];
            }
            over += row.over(sum);
        }
        counts as f64 + over
    }
}

fn shift_ways(taken: &mut [usize; 3], ways: [usize; 3], from: usize, to: usize) {
    for (position, count) in ways.into_iter().enumerate() {
        taken[(position + to) % 3] += count;
        taken[(position + from) % 3] -= count;
    }
}
