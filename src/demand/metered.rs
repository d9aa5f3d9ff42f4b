//! What the reconciliation and the studies need to know of a meter.

use std::sync::Arc;

use crate::above::fine::Fine;
use crate::meter::blocks::Block;
use crate::meter::quarter_hours::QuarterHours;
use crate::meter::sliding::SlidingMaximum;

/// A meter with its energy, its quarter-hours and its demand periods.
#[derive(Debug)]
pub(super) struct Metered {
    pub(super) meter: usize,
    pub(super) interval_s: u32,
    /// Of the log, where its readings are further apart. (s)
    pub(super) resolution_s: u32,
    pub(super) energy_kwh: Option<f64>,
    /// First and last second of its readings, Unix time.
    pub(super) from_s: i64,
    pub(super) to_s: i64,
    /// What it measures may export: it logs export.
    pub(super) may_return: bool,
    pub(super) quarters: Arc<QuarterHours>,
    pub(super) blocks: Arc<[Block]>,
    /// Largest mean over a window of a block's length that begins with any interval.
    pub(super) sliding: Option<SlidingMaximum>,
    pub(super) power_factor_by_phase: [Option<f64>; 3],
    /// Means short enough to compare its clock with another's.
    pub(super) fine: Fine,
}

impl Metered {
    /// Are the readings close enough to show the course of a day?
    pub(super) fn shows_hours(&self) -> bool {
        self.resolution_s <= 3600
    }
}
