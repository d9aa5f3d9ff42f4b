//! Findings as CSV: one row per piece of evidence.

use super::csv_table::{csv_text, text};
use diagnosis::Diagnosis;
use finding::Value;

/// One row per piece of evidence of each finding; lists are joined by semicolons.
///
/// # Errors
///
/// Those of the CSV writer, which memory does not provoke.
pub fn diagnosis_csv(diagnosis: &Diagnosis) -> Result<String, csv::Error> {
    let header = [
        "finding", "kind", "severity", "meter", "phase", "node", "machine", "from", "to", "known",
        "evidence", "value",
    ];
    let mut rows = Vec::new();
    for (index, finding) in diagnosis.findings.iter().enumerate() {
        let spot = &finding.spot;
        let word = |word: &Option<String>| text(word.as_deref().unwrap_or_default());
        let time =
            |time: chrono::DateTime<chrono::Utc>| time.format("%Y-%m-%dT%H:%M:%SZ").to_string();
        for (name, value) in &finding.evidence.0 {
            rows.push(vec![
                (index + 1).to_string(),
                finding.kind.name().to_owned(),
                finding.severity.name().to_owned(),
                word(&spot.meter),
                spot.phase
                    .map(|phase| phase.to_string())
                    .unwrap_or_default(),
                word(&spot.node),
                word(&spot.machine),
                time(finding.from),
                time(finding.to),
                if finding.known { "yes" } else { "no" }.to_owned(),
                (*name).to_owned(),
                match value {
                    Value::Number(number) => number.to_string(),
                    Value::Text(words) => text(words),
                    Value::Texts(list) => text(&list.join("; ")),
                },
            ]);
        }
    }
    csv_text(&header, &rows)
}
