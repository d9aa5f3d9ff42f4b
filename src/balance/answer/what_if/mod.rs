//! The data of the what-if board: a page can try any allocation without the logs.
//!
//! In: a posed [`Problem`], its plans. Out: a [`TrialBoard`] whose figures are the exact root mean
//! squares of every allocation, and the largest currents of a stated set of intervals.

mod board;
mod build;
mod intervals;
mod moments;

pub use board::{Slot, TrialBoard, TrialFigures, TrialNode, TrialPlan, TrialUnit, Wave};
pub(crate) use build::trial_board;
