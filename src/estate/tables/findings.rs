//! The table `findings`.

use super::{Analysed, flags, moments, utc};
use finding::Finding;
use tables::{Table, columns, words};

/// A row for each finding, worst first.
pub(super) fn findings(found: &Analysed<'_>) -> Table {
    let all = found
        .diagnosis
        .into_iter()
        .flat_map(|diagnosis| &diagnosis.findings);
    columns! { f in &Finding;
        kind: words("Kind") => f.kind.name();
        severity: words("Severity") => f.severity.name();
        title: words("Title") => f.kind.title();
        meter: words("Meter") => f.spot.meter.clone();
        phase: words("Phase") => f.spot.phase.map(|phase| phase.to_string());
        node: words("Place") => f.spot.node.clone();
        machine: words("Machine") => f.spot.machine.clone();
        from: moments("From, UTC") => utc(f.from);
        to: moments("To, UTC") => utc(f.to);
        accepted: flags("Accepted") => f.accepted;
        summary: words("What is wrong") => &f.summary;
        evidence: words("Evidence, JSON") => serde_json::to_string(&f.evidence).ok();
        action: words("What to do") => &f.action;
        caution: words("Caution") => &f.caution;
        source: words("Source") => &f.source;
    }
    .table("findings", "Findings", all)
}
