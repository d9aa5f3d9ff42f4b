//! Several meters of one place: they are compared with each other and never added.

use super::page::{CAUTION, KIND, SOURCE};
use super::power::{FEWEST, total};
use crate::outcome::{Diagnosis, Report};
use crate::view::View;
use finding::{Evidence, Severity};

/// Accuracy class of a meter that declares none (IEC 62053-21). (%)
const USUAL_CLASS_PCT: f64 = 1.0;

/// By how much the two differ.
pub(super) const DIFFERENCE: &str = "difference_pct";

/// One meter of each place, the first of the site file that logs power; the others are compared with it.
pub(super) fn first_of_each<'s>(views: &[View<'s>], diagnosis: &mut Diagnosis) -> Vec<View<'s>> {
    let mut firsts: Vec<View<'s>> = Vec::new();
    for view in views {
        let twin = firsts
            .iter_mut()
            .find(|first| first.meter.measures == view.meter.measures);
        match twin {
            None => firsts.push(*view),
            Some(first) if total(first, first.interval_s()).is_none() => *first = *view,
            Some(first) => compare(first, view, diagnosis),
        }
    }
    firsts
}

fn compare(first: &View<'_>, second: &View<'_>, diagnosis: &mut Diagnosis) {
    let block_s = first.interval_s().max(second.interval_s());
    if block_s % first.interval_s() != 0 || block_s % second.interval_s() != 0 {
        return;
    }
    let (Some(one), Some(other)) = (total(first, block_s), total(second, block_s)) else {
        return;
    };
    let pairs = one
        .iter()
        .filter_map(|(start, kw)| Some((*kw, *other.get(start)?)));
    let (mut kwh, mut other_kwh, mut count) = (0.0, 0.0, 0_usize);
    let hours = block_s as f64 / 3600.0;
    for (kw, other_kw) in pairs {
        kwh += kw * hours;
        other_kwh += other_kw * hours;
        count += 1;
    }
    let larger = f64::max(kwh.abs(), other_kwh.abs());
    if count < FEWEST || larger <= 0.0 {
        return;
    }
    let class_pct = |view: &View<'_>| view.meter.class_pct.unwrap_or(USUAL_CLASS_PCT);
    let allowed_pct = class_pct(first) + class_pct(second);
    let difference_pct = 100.0 * (other_kwh - kwh).abs() / larger;
    if difference_pct <= allowed_pct {
        return;
    }
    let place = first.site.measured_name(first.meter.measures);
    let report = Report {
        severity: Severity::Warning,
        summary: format!(
            "the meters `{}` and `{}` both measure {place} and show {kwh:.0} and {other_kwh:.0} kWh over the same readings: {difference_pct:.0} % apart",
            first.meter.id, second.meter.id
        ),
        evidence: Evidence::default()
            .with("other_meter", first.meter.id.clone())
            .with("other_meter_kwh", kwh)
            .with("this_meter_kwh", other_kwh)
            .with(DIFFERENCE, difference_pct)
            .with("allowed_difference_pct", allowed_pct),
        action: format!(
            "clamp the conductors and see which of the two is right; compare the ratios printed on the current transformers with the settings of both meters. `{}` is the one compared with the meters above and below",
            first.meter.id
        ),
        caution: CAUTION,
        source: SOURCE,
    };
    diagnosis.found(second, KIND, None, report);
}
