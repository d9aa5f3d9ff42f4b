//! What an estimate rests on.

use super::estimate::{ExtraResistance, JointEstimate};
use super::readings::PhaseReadings;
use super::series::Angles;
use crate::view::View;

/// Accuracy class of a meter that declares none. Common practice. (%)
const USUAL_CLASS_PCT: f64 = 1.0;
/// How much of the line's resistance, and of what the neutral has beyond it, the meter's angles and ratios shift into a phase,
/// and how much of a growth they may hide.
/// Common practice. (1)
const MIXED_SHARE: f64 = 0.01;

/// What the estimate of a meter rests on.
pub(super) struct Basis<'b> {
    pub(super) view: &'b View<'b>,
    pub(super) upstream: Option<&'b View<'b>>,
    pub(super) readings: &'b PhaseReadings,
    pub(super) angles: Angles,
    /// "between the source and the meter `main`".
    pub(super) reach: String,
    pub(super) neutral_ratio: f64,
}

impl Basis<'_> {
    /// With the errors of the meter and of what is assumed about the currents' angles.
    pub(super) fn widened(&self, extra: ExtraResistance, of: &JointEstimate) -> ExtraResistance {
        // A meter's class bounds its error: as a deviation, evenly spread within the class (JCGM 100:2008,
        // 4.3.7). It shifts one phase against the others in proportion to what both share and to the excess.
        let class = self.view.meter.class_pct.unwrap_or(USUAL_CLASS_PCT) / 100.0 / 3.0_f64.sqrt();
        let beyond = of.neutral_ohm - of.line_ohm;
        let mixed = MIXED_SHARE * of.line_ohm.hypot(beyond);
        let mut extra = extra;
        for figure in [&mut extra.at_middle, &mut extra.last_week] {
            let assumed = self.angles.ohm.hypot(self.angles.share * figure.value);
            let meter = class * figure.value.hypot(of.line_ohm);
            figure.error = figure.error.hypot(assumed).hypot(meter).hypot(mixed);
        }
        let share = class.hypot(MIXED_SHARE).hypot(self.angles.share);
        extra.trend.error = extra.trend.error.hypot(share * extra.trend.value);
        extra
    }
}
