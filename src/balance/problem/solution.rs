//! The allocation found, and its proof.

use super::evaluation::Excess;
use crate::problem::proof::Proof;

/// The best allocation within a number of moves.
#[derive(Clone, Debug, PartialEq)]
pub struct CurvePoint {
    /// Moves allowed.
    pub moves: usize,
    /// Turn of each unit.
    pub choices: Vec<usize>,
    /// Mean square of the supply's neutral. (A²)
    pub mean_square: f64,
    /// Are all limits kept?
    pub feasible: bool,
    /// How far it is known to be the best within so many moves.
    pub proof: Proof,
    /// No allocation within so many moves has a smaller mean square. (A²) `None` when unknown.
    pub lower_bound_mean_square: Option<f64>,
}

/// An allocation with fewer moves than the best.
#[derive(Clone, Debug, PartialEq)]
pub struct FewerMoves {
    /// Turn of each unit.
    pub choices: Vec<usize>,
    /// The quantity that is minimised, as a mean square. (A²)
    pub mean_square: f64,
}

/// The answer to a [`Problem`](crate::Problem).
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// Turn of each unit.
    pub choices: Vec<usize>,
    /// Mean square of the supply's neutral. (A²)
    pub mean_square: f64,
    /// The minimised quantity now, as a mean square. (A²) `None` while a unit has no turn yet.
    pub mean_square_now: Option<f64>,
    /// Moves needed to get there from now.
    pub moves: usize,
    /// Are all limits kept?
    pub feasible: bool,
    /// Total excess over limits.
    pub excess: Excess,
    /// How far it is known to be the best.
    pub proof: Proof,
    /// No allocation that keeps the limits has a smaller mean square. (A²) `None` when unknown.
    pub lower_bound_mean_square: Option<f64>,
    /// Work done by the search, in evaluated changes.
    pub search_work: u64,
    /// Work done by the proof, in million multiplications.
    pub proof_work: u64,
    /// Best neutral for each number of moves, from 0; empty while a unit has no turn yet.
    pub moves_curve: Vec<CurvePoint>,
    /// Allocations with fewer moves, among which the plan is chosen that has enough of them: of the curve, or without
    /// one those with the least useful moves undone; where no allocation keeps the limits, those with the smallest
    /// overload of a few moves. Empty where all moves are asked for.
    pub with_fewer_moves: Vec<FewerMoves>,
}
