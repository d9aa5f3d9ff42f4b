//! Limits that a model is held against.

use super::result::LimitsBeside;
use site::Every;

/// Name of the guideline, for people.
pub(super) const GUIDELINE: &str = "ASHRAE Guideline 14-2014";

/// Calibration by monthly data, then by hourly data: largest CV(RMSE) and largest NMBE in either direction. (%)
const LIMITS: [(&str, f64, f64); 2] = [("monthly", 15.0, 5.0), ("hourly", 30.0, 10.0)];

/// The model compared with the guideline's limits for monthly and hourly data; for days and weeks it has none of its
/// own, so that both are shown.
pub(super) fn usual_limits(every: Every, cv_rmse_pct: f64, nmbe_pct: f64) -> Vec<LimitsBeside> {
    LIMITS
        .into_iter()
        .filter(|(data, ..)| every != Every::Month || *data == "monthly")
        .map(|(data, cv_limit, nmbe_limit)| LimitsBeside {
            guideline: GUIDELINE,
            data,
            cv_rmse_limit_pct: cv_limit,
            nmbe_limit_pct: nmbe_limit,
            within: cv_rmse_pct <= cv_limit && nmbe_pct.abs() <= nmbe_limit,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ASHRAE Guideline 14-2014: monthly data 15 % and ±5 %, hourly data 30 % and ±10 %.
    #[test]
    fn the_limits_are_those_of_the_guideline() {
        let of = |cv: f64, nmbe: f64| -> Vec<(&str, bool)> {
            usual_limits(Every::Day, cv, nmbe)
                .into_iter()
                .map(|one| (one.data, one.within))
                .collect()
        };
        assert_eq!(of(15.0, -5.0), [("monthly", true), ("hourly", true)]);
        assert_eq!(of(15.1, 0.0), [("monthly", false), ("hourly", true)]);
        assert_eq!(of(1.0, -5.1), [("monthly", false), ("hourly", true)]);
        assert_eq!(of(30.0, 10.1), [("monthly", false), ("hourly", false)]);
        assert_eq!(usual_limits(Every::Month, 1.0, 0.0).len(), 1);
    }
}
