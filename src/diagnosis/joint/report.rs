//! Heat in a resistance, and the evidence of it.

use super::design::WEEK_S;
use super::estimate::{ExtraResistance, JointEstimate};
use super::readings::PhaseReadings;
use crate::view::View;
use finding::{Evidence, Severity};

/// How much heat matters; a danger rests on two lines of evidence.
pub(super) fn grades(view: &View<'_>, heat_w: f64, is_confirmed: bool) -> Severity {
    let thresholds = &view.site.thresholds;
    if heat_w >= thresholds.joint_danger_w && is_confirmed {
        Severity::Danger
    } else if heat_w >= thresholds.joint_warning_w {
        Severity::Warning
    } else {
        Severity::Notice
    }
}

/// "38.0 mΩ (33.0 to 43.0 mΩ)".
pub(super) fn ohms(extra: &ExtraResistance) -> String {
    let (low, high) = ExtraResistance::interval_95(extra.last_week);
    format!(
        "{} mΩ ({} to {} mΩ)",
        units::fixed(extra.last_week.value * 1e3, 1),
        units::fixed(low * 1e3, 1),
        units::fixed(high * 1e3, 1)
    )
}

/// ", rising by 1.0 mΩ a week", where it does.
pub(super) fn growth(extra: &ExtraResistance) -> String {
    if ExtraResistance::interval_95(extra.trend).0 > 0.0 {
        format!(", rising by {:.1} mΩ a week", extra.trend.value * 1e3)
    } else {
        String::new()
    }
}

/// Magnitudes of the current that a conductor carries. (A)
pub(super) struct CarriedCurrent<'c> {
    readings: &'c PhaseReadings,
    amps: Vec<f64>,
    typical_a: f64,
    peak_a: f64,
}

impl CarriedCurrent<'_> {
    pub(super) fn new(readings: &PhaseReadings, amps: Vec<f64>) -> CarriedCurrent<'_> {
        let squares: f64 = amps.iter().map(|amps| amps * amps).sum();
        CarriedCurrent {
            readings,
            typical_a: (squares / amps.len().max(1) as f64).sqrt(),
            peak_a: amps.iter().copied().fold(0.0, f64::max),
            amps,
        }
    }

    /// Heat at the peak current, with the resistance of the last week. (W)
    pub(super) fn peak_w(&self, extra: &ExtraResistance) -> f64 {
        extra.last_week.value * self.peak_a * self.peak_a
    }

    /// The most heat that the readings show, with the resistance as it grew. (W)
    fn highest_w(&self, extra: &ExtraResistance) -> f64 {
        let starts = &self.readings.starts;
        let middle = starts[0] as f64 + 0.5 * self.readings.span_s() as f64;
        starts
            .iter()
            .zip(&self.amps)
            .map(|(&start, amps)| {
                let weeks = (start as f64 - middle) / WEEK_S;
                (extra.at_middle.value + extra.trend.value * weeks) * amps * amps
            })
            .fold(0.0, f64::max)
    }

    /// "120 W of heat at 57 A".
    pub(super) fn heat(&self, extra: &ExtraResistance) -> String {
        format!(
            "{:.0} W of heat at {:.0} A",
            self.peak_w(extra),
            self.peak_a
        )
    }

    pub(super) fn evidence(&self, extra: &ExtraResistance, estimate: &JointEstimate) -> Evidence {
        let middle = ExtraResistance::interval_95(extra.at_middle);
        let week = ExtraResistance::interval_95(extra.last_week);
        let trend = ExtraResistance::interval_95(extra.trend);
        let ohm = extra.last_week.value;
        Evidence::default()
            .with("extra_resistance_mohm", extra.at_middle.value * 1e3)
            .with("low_95_mohm", middle.0 * 1e3)
            .with("high_95_mohm", middle.1 * 1e3)
            .with("last_week_mohm", ohm * 1e3)
            .with("last_week_low_95_mohm", week.0 * 1e3)
            .with("last_week_high_95_mohm", week.1 * 1e3)
            .with("trend_mohm_per_week", extra.trend.value * 1e3)
            .with("trend_low_95_mohm_per_week", trend.0 * 1e3)
            .with("trend_high_95_mohm_per_week", trend.1 * 1e3)
            .with("typical_current_a", self.typical_a)
            .with("heat_at_typical_current_w", ohm * self.typical_a.powi(2))
            .with("peak_current_a", self.peak_a)
            .with("heat_at_peak_current_w", self.peak_w(extra))
            .with("highest_heat_so_far_w", self.highest_w(extra))
            .with("changes_looked_at", estimate.changes as f64)
            .with("changes_set_aside", estimate.set_aside as f64)
    }
}
