//! A lower bound on the mean square that any allocation can reach.
//!
//! Comes in: the quadratic form with some units decided. Goes out: a bound that holds for every
//! way of deciding the others, the gain from deciding one more, and an estimate of where each
//! undecided unit tends to.
//!
//! The bound is Lagrangian. Turns are cube roots of unity a; |aᵢ|² = 1, and for weights b from the
//! Eisenstein integers whose sum is not divisible by 1 − ζ also |b^H a|² ≥ 1 (a *cut*). With any
//! multipliers D and λ ≥ 0 for which S = Q − D − Σ λ b b^H is positive definite,
//!
//! ```text
//! J ≥ J_F + Σ D + Σ λ (r − |c|²) − B^H S⁻¹ B,   B = Q_RF a_F − Σ λ b c,   c = Σ_F b* a
//! ```
//!
//! where F is decided, R is not, and r is the least |c + `Σ_R` b* a|². The multipliers are improved
//! one at a time, each step exact for the bound plus a barrier μ log det S that keeps S positive
//! definite. A limited number of moves adds one multiplier more (see [`Budget`]).

mod budget;
mod cut;
mod eisenstein;
mod finds;
mod relaxation;
mod scalar;
mod separate;

pub(crate) use budget::Budget;
pub(crate) use eisenstein::LeastNorms;
pub(crate) use relaxation::Relaxation;
pub(crate) use scalar::Scalar;
pub(crate) use separate::{CutReach, separate};
