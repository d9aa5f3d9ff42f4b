//! Findings that the user has accepted: `[[known]]` in site.toml.

use chrono::NaiveDate;
use serde::Deserialize;

use super::outcome::Diagnosis;
use crate::electrical::Phase;
use crate::finding::{Finding, Kind};
use crate::site::Site;

#[derive(Debug, Deserialize)]
struct Document {
    #[serde(default)]
    known: Vec<Known>,
}

/// One entry; what it leaves out fits everything.
#[derive(Debug, Deserialize)]
struct Known {
    kind: String,
    at: Option<String>,
    phase: Option<String>,
    until: Option<String>,
    note: Option<String>,
}

impl Known {
    /// It no longer covers a finding whose readings end after its last day.
    fn covers(&self, site: &Site, finding: &Finding) -> bool {
        let spot = &finding.spot;
        let at = self.at.as_deref().is_none_or(|at| {
            [&spot.node, &spot.machine, &spot.meter]
                .into_iter()
                .any(|name| name.as_deref() == Some(at))
        });
        let phase = self
            .phase
            .as_deref()
            .is_none_or(|phase| spot.phase.map(Phase::name) == Some(phase));
        let in_time = self.until.as_deref().is_none_or(|until| {
            NaiveDate::parse_from_str(until, "%Y-%m-%d")
                .is_ok_and(|until| finding.to.with_timezone(&site.timezone).date_naive() <= until)
        });
        Kind::from_name(&self.kind) == Some(finding.kind) && at && phase && in_time
    }
}

/// Marks the findings that the site's `[[known]]` entries cover. Entries that cannot be read mark
/// nothing: a finding is never hidden by mistake.
pub(super) fn mark(site: &Site, diagnosis: &mut Diagnosis) {
    let Ok(text) = std::fs::read_to_string(site.folder.join("site.toml")) else {
        return;
    };
    let Ok(document) = toml::from_str::<Document>(&text) else {
        return;
    };
    for finding in &mut diagnosis.findings {
        let entry = document
            .known
            .iter()
            .find(|known| known.covers(site, finding));
        if let Some(entry) = entry {
            finding.known = true;
            if let Some(note) = &entry.note {
                finding.evidence.0.push(("note", note.as_str().into()));
            }
        }
    }
}
