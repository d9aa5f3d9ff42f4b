//! What is wrong at Ferry Lane, when and by how much.

use chrono::{NaiveDate, NaiveDateTime};

use super::calendar::Moment;

/// Extra resistance of the joint at the start and after four weeks. [Ω]
pub(crate) const JOINT_OHM: (f64, f64) = (0.002, 0.025);
/// The phase with the joint, counted from 0.
pub(crate) const JOINT_PHASE: usize = 1;
/// The machine whose meter has its current transformer the wrong way round.
pub(crate) const REVERSED: &str = "Timber kiln";
/// The machine whose register rolls over.
pub(crate) const ROLLING: &str = "Workshop compressor";
/// Where a register of five whole digits starts again. [kWh]
pub(crate) const ROLLOVER_KWH: f64 = 100_000.0;

const HOURS_OF_GROWTH: f64 = 28.0 * 24.0 - 1.0;

/// Faults that are in the logs, or none.
pub(crate) struct Faults {
    pub(crate) present: bool,
}

impl Faults {
    pub(crate) fn new(healthy: bool) -> Self {
        Faults { present: !healthy }
    }

    /// Extra resistance in L2 upstream of the main meter. [Ω]
    pub(crate) fn joint_ohm(&self, moment: &Moment) -> f64 {
        self.joint_after(moment.elapsed_h)
    }

    /// The same, so many hours after the start.
    pub(crate) fn joint_after(&self, elapsed_h: f64) -> f64 {
        if !self.present {
            return 0.0;
        }
        JOINT_OHM.0 + Faults::joint_trend_ohm_per_h() * elapsed_h.min(HOURS_OF_GROWTH)
    }

    /// Growth of the joint's resistance while it grows.
    pub(crate) fn joint_trend_ohm_per_h() -> f64 {
        (JOINT_OHM.1 - JOINT_OHM.0) / HOURS_OF_GROWTH
    }

    /// Rows of the main log that were lost, by first and last time stamp.
    pub(crate) fn gap() -> (NaiveDateTime, NaiveDateTime) {
        (at(3, 24, 13, 1), at(3, 24, 16, 0))
    }

    /// Rows of the main log that were sent twice, by first and last time stamp.
    pub(crate) fn repeats() -> [(NaiveDateTime, NaiveDateTime); 2] {
        [
            (at(3, 17, 10, 0), at(3, 17, 10, 14)),
            (at(4, 1, 21, 31), at(4, 1, 21, 40)),
        ]
    }

    pub(crate) fn is_lost(&self, stamp: NaiveDateTime) -> bool {
        let (first, last) = Faults::gap();
        self.present && (first..=last).contains(&stamp)
    }

    pub(crate) fn is_repeated(&self, stamp: NaiveDateTime) -> bool {
        self.present
            && Faults::repeats()
                .iter()
                .any(|(first, last)| (*first..=*last).contains(&stamp))
    }
}

fn at(month: u32, day: u32, hour: u32, minute: u32) -> NaiveDateTime {
    NaiveDate::from_ymd_opt(2026, month, day)
        .and_then(|date| date.and_hms_opt(hour, minute, 0))
        .expect("a time of the calendar")
}
