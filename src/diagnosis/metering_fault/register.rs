//! A register that does not count what the power says.

use super::page::{CAUTION, KIND, SOURCE};
use crate::outcome::{Diagnosis, Report};
use crate::view::View;
use finding::{Evidence, Severity};
use site::Quantity;

pub(super) fn check(view: &View<'_>, diagnosis: &mut Diagnosis) {
    let Some(check) = view.log.register_check else {
        return;
    };
    // A register that is constant or runs back with negative power has its transformer reversed: that is reported.
    let net: f64 = view
        .logged()
        .values(Quantity::ActivePower(None))
        .map_or(0.0, |power| power.iter().flatten().sum());
    if check.agrees || net < 0.0 || check.integral_kwh <= 0.0 {
        return;
    }
    let factor = check.register_kwh / check.integral_kwh;
    let report = Report {
        severity: Severity::Warning,
        summary: format!(
            "over the intervals with both, the register counted {:.0} kWh and the import of the logged power adds up to {:.0} kWh: a factor of {factor:.3}",
            check.register_kwh, check.integral_kwh
        ),
        evidence: Evidence::default()
            .with("register_kwh", check.register_kwh)
            .with("power_adds_up_to_kwh", check.integral_kwh)
            .with("allowed_difference_kwh", check.allowed_kwh)
            .with("register_over_power", factor),
        action: "compare the ratio set in the meter, the one in site.toml and the one printed on the current transformers; check that the register column belongs to this meter".to_owned(),
        caution: CAUTION,
        source: SOURCE,
    };
    diagnosis.found(view, KIND, None, report);
}
