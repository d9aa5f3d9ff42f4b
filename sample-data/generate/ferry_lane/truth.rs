//! What is true of the simulated weeks, from the steps of ten seconds and before any rounding.

use serde::Serialize;

/// Figures that the logs only approach.
#[derive(Debug, Serialize)]
pub struct Truth {
    /// First and last moment, UTC.
    pub(crate) from: String,
    pub(crate) to: String,
    /// At the main meter, the gap included.
    pub(crate) energy_kwh: f64,
    pub(crate) energy_kwh_by_phase: [f64; 3],
    pub(crate) reactive_energy_kvarh: f64,
    /// In the minutes that the main log lost.
    pub(crate) energy_in_gap_kwh: f64,
    /// Half-hour on the half-hour with the highest mean power, the gap included.
    pub(crate) max_demand_kw: f64,
    pub(crate) max_demand_at: String,
    pub(crate) max_demand_kva: f64,
    /// Over the minutes that the main log holds, of minute means.
    pub(crate) neutral_rms_a: f64,
    pub(crate) neutral_max_a: f64,
    pub(crate) phase_max_a: [f64; 3],
    /// Copper of the two feeders.
    pub(crate) feeder_loss_kwh: f64,
    /// Not on the machine list.
    pub(crate) unlisted_kwh: f64,
    pub(crate) loads: Vec<LoadTruth>,
    pub(crate) boards: Vec<BoardTruth>,
    /// Days on which L1 of the supply was above its limit.
    pub(crate) overload_days: Vec<OverloadDay>,
    pub(crate) source: SourceTruth,
    /// `None` in the healthy twin.
    pub(crate) faults: Option<FaultTruth>,
}

impl Truth {
    /// Whether something is wrong with the installation or its logs.
    #[must_use]
    pub fn has_faults(&self) -> bool {
        self.faults.is_some()
    }
}

/// One load.
#[derive(Debug, Serialize)]
pub(crate) struct LoadTruth {
    pub(crate) name: &'static str,
    pub(crate) listed: bool,
    pub(crate) metered: bool,
    pub(crate) energy_kwh: f64,
    pub(crate) running_h: f64,
}

/// One board.
#[derive(Debug, Serialize)]
pub(crate) struct BoardTruth {
    pub(crate) id: &'static str,
    pub(crate) energy_kwh: f64,
    /// Of minute means.
    pub(crate) phase_max_a: [f64; 3],
    pub(crate) minutes_above_limit: [u32; 3],
}

/// One day with an overload.
#[derive(Debug, Serialize)]
pub(crate) struct OverloadDay {
    pub(crate) date: String,
    /// Minutes whose mean was above the limit.
    pub(crate) minutes: u32,
    pub(crate) highest_a: f64,
    pub(crate) lowest_outdoor_c: f64,
}

/// What the supply is like.
#[derive(Debug, Serialize)]
pub(crate) struct SourceTruth {
    /// Resistance up to the main meter, without the joint.
    pub(crate) phase_mohm: f64,
    pub(crate) phase_reactance_mohm: f64,
    pub(crate) neutral_mohm: f64,
    /// Each phase above or below the common voltage.
    pub(crate) level_v: [f64; 3],
    pub(crate) wander_v: f64,
}

/// The faults that are in these logs.
#[derive(Debug, Serialize)]
pub(crate) struct FaultTruth {
    pub(crate) joint_phase: &'static str,
    /// Extra resistance at the start and at the end of the period.
    pub(crate) joint_start_mohm: f64,
    pub(crate) joint_end_mohm: f64,
    pub(crate) joint_trend_mohm_per_week: f64,
    /// Heat in the joint, highest minute mean.
    pub(crate) joint_max_w: f64,
    pub(crate) reversed_meter_of: &'static str,
    pub(crate) rolling_register_of: &'static str,
    /// End of the interval in which the register started again, UTC.
    pub(crate) rolled_over_at: Option<String>,
    pub(crate) gap_first_lost: String,
    pub(crate) gap_last_lost: String,
    pub(crate) gap_rows: u32,
    pub(crate) repeated_rows: u32,
}
