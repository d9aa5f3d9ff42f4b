//! The charts of findings.

use super::format::moment;
use chart::{
    ChartError, Figure, extra_resistance, lost_voltage, voltage_triangle, worst_half_hours,
};
use chrono_tz::Tz;
use diagnosis::{Diagnosis, Shown, Trace};
use finding::{Finding, Kind};

/// Charts of a finding.
pub(super) fn figures_of(
    zone: Tz,
    diagnosis: &Diagnosis,
    finding: &Finding,
) -> Result<Vec<Figure>, ChartError> {
    let belongs_to = |shown: &&Shown| shown.kind == finding.kind && shown.spot == finding.spot;
    let Some(shown) = diagnosis.shown.iter().find(belongs_to) else {
        return Ok(Vec::new());
    };
    // A chart's name is also its file name: only the first finding of a kind and phase has one.
    let same = |one: &&Shown| one.kind == shown.kind && one.spot.phase == shown.spot.phase;
    if diagnosis.shown.iter().find(same) != Some(shown) {
        return Ok(Vec::new());
    }
    match &shown.trace {
        Trace::Joint(trace) => Ok(vec![lost_voltage(trace)?, extra_resistance(trace, zone)?]),
        Trace::Overload(trace) => Ok(vec![worst_half_hours(trace)?]),
        Trace::Voltages(trace) => {
            let name = if finding.kind == Kind::NeutralFault {
                "voltage-triangle-neutral"
            } else {
                "voltage-triangle"
            };
            let at = chrono::DateTime::from_timestamp(trace.at_s, 0).unwrap_or_default();
            Ok(vec![voltage_triangle(name, trace, &moment(at, zone))?])
        }
    }
}

/// Charts of all findings, worst first.
pub(super) fn figures(zone: Tz, diagnosis: &Diagnosis) -> Result<Vec<Figure>, ChartError> {
    let mut all = Vec::new();
    for finding in &diagnosis.findings {
        all.extend(figures_of(zone, diagnosis, finding)?);
    }
    Ok(all)
}
