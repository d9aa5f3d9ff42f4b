//! How long to look for the best allocation, and within what.

use std::time::Instant;

use crate::pose::hold_back::HeldBack;
use crate::problem::objective::Objective;

/// How to solve a [`Problem`](crate::Problem).
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// What is made small.
    pub objective: Objective,
    /// Seed of the search; the same seed gives the same answer.
    pub seed: u64,
    /// Units held at a turn whatever their choices: (unit, turn).
    pub fixed: Vec<(usize, usize)>,
    /// Conductors with a danger: until they are repaired nothing is moved onto them.
    pub held_back: Vec<HeldBack>,
    /// Also find what moves after the repair add, while a conductor is held back.
    pub after_repair: bool,
    /// Most moves allowed; `None` for any number.
    pub max_moves: Option<usize>,
    /// Most work of the search for a good allocation, in evaluated changes; few units take less.
    pub search_work: u64,
    /// Work of the proof, in million multiplications.
    pub proof_work: u64,
    /// With little information in time, as from a round of readings or a few schedules, how near to the
    /// best is near enough: a proof is then not driven further. (A)
    pub practical_gap_a: f64,
    /// Moves up to which the best neutral is also sought for each number of moves.
    pub curve_moves: usize,
    /// Share of the possible gain at which a plan has moves enough: what more moves add is then left to choose. (%)
    /// `None` makes all the moves that add anything, as a number of moves that is given does.
    pub enough_pct: Option<f64>,
    /// Also give the numbers with which a page can try other allocations.
    pub trial_board: bool,
    /// Moment at which to stop with the best so far. The only setting that makes the answer
    /// depend on the speed of the computer.
    pub deadline: Option<Instant>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            objective: Objective::NeutralRms,
            seed: 1,
            fixed: Vec::new(),
            held_back: Vec::new(),
            after_repair: true,
            max_moves: None,
            search_work: 20_000_000,
            proof_work: 20_000,
            practical_gap_a: 0.1,
            curve_moves: usize::MAX,
            enough_pct: None,
            trial_board: false,
            deadline: None,
        }
    }
}

impl Settings {
    /// True once the deadline has passed.
    pub(crate) fn is_late(&self) -> bool {
        self.deadline
            .is_some_and(|deadline| Instant::now() >= deadline)
    }
}
