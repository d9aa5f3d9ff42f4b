//! What an estimate rests on.

use super::estimate::{ExtraResistance, JointEstimate};
use super::readings::PhaseReadings;
use super::series::Angles;
use crate::view::View;

/// Accuracy class of a meter that declares none. Common practice. (%)
const USUAL_CLASS_PCT: f64 = 1.0;

/// What the estimate of a meter rests on.
pub(super) struct EstimateBasis<'b> {
    pub(super) view: &'b View<'b>,
    pub(super) upstream: Option<&'b View<'b>>,
    pub(super) readings: &'b PhaseReadings,
    pub(super) angles: Angles,
    /// "between the source and the meter `main`".
    pub(super) reach: String,
    pub(super) neutral_ratio: f64,
}

impl EstimateBasis<'_> {
    /// With the errors of the meter and of what is assumed about the currents' angles.
    pub(super) fn widened(&self, extra: ExtraResistance, of: &JointEstimate) -> ExtraResistance {
        let class = self.view.meter.class_pct.unwrap_or(USUAL_CLASS_PCT) / 100.0;
        let mut extra = of.widened(extra, class);
        for figure in [&mut extra.at_middle, &mut extra.last_week] {
            let assumed = self.angles.ohm.hypot(self.angles.share * figure.value);
            figure.error = figure.error.hypot(assumed);
        }
        let assumed = self.angles.share * extra.trend.value;
        extra.trend.error = extra.trend.error.hypot(assumed);
        extra
    }
}
