//! Overloads that rest on a meter whose ratio is in doubt.

use super::above::METERS_BELOW;
use super::page::KIND;
use super::ratio::SLOPE;
use super::twins::DIFFERENCE;
use crate::outcome::Diagnosis;
use finding::{Evidence, Finding, Kind, Severity, Value};

/// What shows that the ratio of a finding's own meter may be wrong.
const SIGNS: [&str; 4] = [SLOPE, DIFFERENCE, "register_over_power", "true_over_read"];

/// Makes an overload a warning at most, with what else explains it and the reading that decides.
pub(crate) fn weigh_overloads(diagnosis: &mut Diagnosis) {
    let doubts: Vec<(String, String)> = diagnosis.findings.iter().flat_map(doubts).collect();
    let overloads = [Kind::PhaseOverload, Kind::NeutralOverload];
    for finding in &mut diagnosis.findings {
        let meter = finding.spot.meter.as_deref();
        let doubt = doubts.iter().find(|(of, _)| Some(of.as_str()) == meter);
        if let (true, Some((meter, why))) = (overloads.contains(&finding.kind), doubt) {
            weigh(finding, meter, why);
        }
    }
}

/// Meters whose ratio a finding questions, and its words.
fn doubts(finding: &Finding) -> Vec<(String, String)> {
    if finding.kind != KIND {
        return Vec::new();
    }
    let evidence = &finding.evidence;
    let own = SIGNS.iter().any(|name| evidence.number(name).is_some());
    let own = finding.spot.meter.clone().filter(|_| own);
    let named = |name: &str| evidence.0.iter().find(|(known, _)| *known == name);
    let below = match named(METERS_BELOW) {
        Some((_, Value::Texts(meters))) => meters.clone(),
        _ => Vec::new(),
    };
    let twin = match named("other_meter") {
        Some((_, Value::Text(meter))) => Some(meter.clone()),
        _ => None,
    };
    let meters = own.into_iter().chain(below).chain(twin);
    meters
        .map(|meter| (meter, finding.summary.clone()))
        .collect()
}

fn weigh(finding: &mut Finding, meter: &str, why: &str) {
    let conductor = finding
        .spot
        .phase
        .map_or("the neutral", |phase| phase.name());
    finding.severity = finding.severity.max(Severity::Warning);
    finding.summary = format!(
        "{}; the ratio of the meter `{meter}` is in doubt, and the current with it",
        finding.summary
    );
    finding.evidence = std::mem::take::<Evidence>(&mut finding.evidence).with(
        "possible_other_cause",
        format!("a wrong ratio of the meter `{meter}`: {why}"),
    );
    finding.action = format!(
        "clamp the conductor of {conductor} and read the meter `{meter}` at the same moment: if they differ, correct the ratio and diagnose again; if they agree, {}",
        finding.action
    );
}
