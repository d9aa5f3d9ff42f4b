//! The ratio of a meter, from how the meter above changes with it.

use super::page::{CAUTION, KIND, SOURCE};
use super::power::{FEWEST, Power};
use crate::outcome::{Diagnosis, Report};
use crate::view::View;
use finding::{Evidence, Severity};
use site::ReadingKind;
use statistics::LeastSquares;

/// Parts of the log whose slopes give the slope's error.
const PARTS: usize = 10;
/// How many errors a slope must be from 1.
const ERRORS: f64 = 4.0;
/// So many single moments in an interval are as good as its mean. Common practice.
const MOMENTS: i64 = 10;

/// By how much a slope shows that a ratio is wrong.
pub(super) const SLOPE: &str = "slope";

/// The slope of the meter above against one of the meters below it.
pub(super) struct SlopeOf<'v, 's> {
    pub(super) view: &'v View<'s>,
    pub(super) above: &'v View<'s>,
    /// Position among the meters below.
    pub(super) index: usize,
    pub(super) block_s: i64,
}

impl SlopeOf<'_, '_> {
    pub(super) fn judge(&self, own: &Power, others: &[Option<Power>], diagnosis: &mut Diagnosis) {
        let (view, above) = (self.view, self.above);
        let Some((slope, error)) = self.slope_and_error(own, others) else {
            return;
        };
        let limit = view.site.thresholds.meter_ratio_pct / 100.0;
        // Something unmetered that starts with the machine makes the slope larger and is far commoner than a
        // wrong ratio, so that only a smaller one proves anything; a reversed one is reported elsewhere.
        if slope <= 0.0 || 1.0 - slope < limit || 1.0 - slope < ERRORS * error {
            return;
        }
        let (low, high) = (slope - 1.96 * error, slope + 1.96 * error);
        if !self.see_the_same() {
            return diagnosis.needs(
                view,
                KIND,
                None,
                format!(
                    "means over the interval, or readings of the same second, at `{}` and `{}`: single moments that are not simultaneous make the slope of one against the other too small, so that the ratio is not judged",
                    view.meter.id, above.meter.id
                ),
            );
        }
        if low <= 0.0 || high - low > slope {
            return diagnosis.needs(
                view,
                KIND,
                None,
                format!(
                    "more changes of load: when `{}` changes by 1 kW, `{}` changes by {} to {} kW (95 %), too wide to judge the ratio by",
                    view.meter.id, above.meter.id, units::fixed(low, 2), units::fixed(high, 2)
                ),
            );
        }
        let report = Report {
            severity: Severity::Warning,
            summary: format!(
                "when `{}` changes by 1 kW, `{}` changes by {slope:.2} kW: one of the two ratios is wrong",
                view.meter.id, above.meter.id
            ),
            evidence: Evidence::default()
                .with(SLOPE, slope)
                .with("slope_low_95", low)
                .with("slope_high_95", high),
            action: format!(
                "compare the ratio printed on the current transformers of `{}` with its setting; if they agree, `ratio = {slope:.3}` in site.toml corrects the log",
                view.meter.id
            ),
            caution: CAUTION,
            source: SOURCE,
        };
        diagnosis.found(view, KIND, None, report);
    }

    /// The slope, and its error from the slopes of parts of the log.
    fn slope_and_error(&self, own: &Power, others: &[Option<Power>]) -> Option<(f64, f64)> {
        let theirs: Vec<&Power> = others.iter().flatten().collect();
        let at = others[..self.index].iter().flatten().count();
        let starts: Vec<i64> = own.keys().copied().collect();
        if starts.len() < FEWEST {
            return None;
        }
        let slope = slopes(own, &theirs, &starts, self.block_s)?[at];
        let parts: Vec<f64> = starts
            .chunks(starts.len().div_ceil(PARTS))
            .filter_map(|part| Some(slopes(own, &theirs, part, self.block_s)?[at]))
            .collect();
        if parts.len() < PARTS / 2 {
            return None;
        }
        let count = parts.len() as f64;
        let mean = parts.iter().sum::<f64>() / count;
        let spread = parts.iter().map(|part| (part - mean).powi(2)).sum::<f64>() / (count - 1.0);
        Some((slope, (spread / count).sqrt()))
    }

    /// Do both meters log means, or moments that are the same?
    fn see_the_same(&self) -> bool {
        let is_mean = |view: &View<'_>| {
            view.meter.readings == ReadingKind::Average
                || MOMENTS * i64::from(view.log.cadence_s) <= self.block_s
        };
        let moment = |view: &View<'_>| {
            let first = view.table().starts().first();
            first.map(|start| start.rem_euclid(view.interval_s()))
        };
        match (is_mean(self.view), is_mean(self.above)) {
            (true, true) => true,
            (false, false) => {
                self.view.interval_s() == self.above.interval_s()
                    && moment(self.view) == moment(self.above)
            }
            _ => false,
        }
    }
}

/// Slope of the meter above against each meter below, from the changes that all have.
fn slopes(own: &Power, theirs: &[&Power], starts: &[i64], block_s: i64) -> Option<Vec<f64>> {
    let mut columns = vec![Vec::new(); theirs.len()];
    let mut right = Vec::new();
    for &start in starts {
        let change = |power: &Power| Some(power.get(&start)? - power.get(&(start - block_s))?);
        let Some(y) = change(own) else { continue };
        let x: Option<Vec<f64>> = theirs.iter().map(|power| change(power)).collect();
        let Some(x) = x else { continue };
        right.push(y);
        for (column, x) in columns.iter_mut().zip(x) {
            column.push(x);
        }
    }
    let fit = LeastSquares::fit(&columns, &right)?;
    fit.coefficients().iter().copied().collect()
}
