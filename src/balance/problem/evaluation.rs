//! What counts about an allocation, and the order in which it counts.

use std::cmp::Ordering;

/// By how much an allocation passes the limits.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Excess {
    /// Moves beyond those allowed.
    pub moves: usize,
    /// Ways that are not there.
    pub ways: usize,
    /// Amperes above the limits, summed over nodes and conductors, mean over the intervals. (A)
    pub current_a: f64,
}

impl Excess {
    /// True when every limit is kept.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.moves == 0 && self.ways == 0 && self.current_a == 0.0
    }

    /// Moves first, then missing ways, then amperes, equal within rounding.
    #[must_use]
    pub fn compare(&self, other: &Excess) -> Ordering {
        (self.moves, self.ways)
            .cmp(&(other.moves, other.ways))
            .then_with(|| compare_within(self.current_a, other.current_a, 1e-9))
    }
}

/// What counts about an allocation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Evaluation {
    /// Mean over the intervals of the square of the supply's neutral current. (A²)
    pub mean_square: f64,
    /// What decides between equals: the mean squares of the neutrals below the supply, added up; where a
    /// peak is made small, that of the supply's neutral. (A²)
    pub tie_square: f64,
    /// Total excess over limits.
    pub excess: Excess,
    /// Moves needed to get there from now.
    pub moves: usize,
}

impl Evaluation {
    /// Least excess first, then the minimised quantity, then the tie-breaker, then fewest
    /// moves; equal within rounding.
    ///
    /// `scale` is a mean square that the problem's figures are computed with, for the rounding of
    /// a difference near zero. (A²)
    #[must_use]
    pub fn compare(&self, other: &Evaluation, scale: f64) -> Ordering {
        self.excess
            .compare(&other.excess)
            .then_with(|| compare_mean_square(self.mean_square, other.mean_square, scale))
            .then_with(|| compare_mean_square(self.tie_square, other.tie_square, scale))
            .then_with(|| self.moves.cmp(&other.moves))
    }
}

/// Share of a mean square below which a difference is rounding.
pub(crate) const RELATIVE_TOLERANCE: f64 = 1e-9;

/// The difference between mean squares that is taken as rounding. (A²)
pub(crate) fn tolerance(mean_square: f64, scale: f64) -> f64 {
    RELATIVE_TOLERANCE * mean_square + 1e-13 * scale
}

/// Compares mean squares, equal within rounding.
pub(crate) fn compare_mean_square(a: f64, b: f64, scale: f64) -> Ordering {
    if (a - b).abs() <= tolerance(a.min(b).max(0.0), scale) {
        Ordering::Equal
    } else {
        a.total_cmp(&b)
    }
}

fn compare_within(a: f64, b: f64, relative: f64) -> Ordering {
    if (a - b).abs() <= relative * a.max(b) {
        Ordering::Equal
    } else {
        a.total_cmp(&b)
    }
}
