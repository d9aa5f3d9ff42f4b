//! Findings as CSV: one row per piece of evidence.

use chrono::Utc;
use diagnosis::Diagnosis;
use finding::{Finding, Value};
use tables::{Cell, columns, words};
use units::format_local;

/// One row per piece of evidence of each finding; lists are joined by semicolons.
///
/// # Errors
///
/// Those of the CSV writer, which writing to memory does not cause.
pub fn diagnosis_csv(site: &str, diagnosis: &Diagnosis) -> Result<String, csv::Error> {
    let rows = (1_usize..)
        .zip(&diagnosis.findings)
        .flat_map(|(rank, finding)| {
            let evidence = finding.evidence.0.iter();
            evidence.map(move |(name, value)| (rank, finding, *name, value))
        });
    let word = |word: &Option<String>| word.clone().unwrap_or_default();
    columns! { (rank, finding, name, value) in (usize, &Finding, &'static str, &Value);
        finding: words("Finding") => rank;
        kind: words("Kind") => finding.kind.name();
        severity: words("Severity") => finding.severity.name();
        meter: words("Meter") => word(&finding.spot.meter);
        phase: words("Phase") => finding.spot.phase.map_or_else(String::new, |phase| phase.to_string());
        node: words("Location") => word(&finding.spot.node);
        machine: words("Machine") => word(&finding.spot.machine);
        from: words("From") => Cell::instant(finding.from, &Utc);
        to: words("To") => Cell::instant(finding.to, &Utc);
        accepted: words("Accepted") => finding.accepted;
        evidence: words("Evidence") => name;
        value: words("Value") => match value {
            Value::Number(number) => Cell::from(*number),
            Value::Text(words) => words.into(),
            Value::Moment(at) => format_local(*at).into(),
            Value::Texts(list) => list.join("; ").into(),
        };
    }
    .table("findings", "Findings", rows)
    .of_site(site).csv()
}
