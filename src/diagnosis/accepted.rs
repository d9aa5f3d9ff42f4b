//! Findings that the user has accepted, until a date or until they grow.

use super::outcome::Diagnosis;
use finding::Finding;
use site::{Accepted, Site};
use units::format_date;

/// Is it about this finding?
fn is_about(accepted: &Accepted, finding: &Finding) -> bool {
    let spot = &finding.spot;
    let at = accepted.at.as_deref().is_none_or(|at| {
        [&spot.node, &spot.machine, &spot.meter]
            .into_iter()
            .any(|name| name.as_deref() == Some(at))
    });
    let phase = accepted.phase.is_none_or(|phase| spot.phase == Some(phase));
    accepted.kind == finding.kind && at && phase
}

/// Why it does not cover the finding any more. The end of the readings counts, not today's clock, so that the
/// same readings always give the same answer.
fn lapsed(accepted: &Accepted, site: &Site, finding: &Finding) -> Option<String> {
    let last = finding.to - chrono::Duration::seconds(1);
    let last_day = last.with_timezone(&site.timezone).date_naive();
    if let Some(until) = accepted.until.filter(|until| last_day > *until) {
        return Some(format!(
            "accepted until {}; the readings go on after it",
            format_date(until)
        ));
    }
    if finding.severity < accepted.severity {
        return Some(format!(
            "accepted as a {}, now a {}",
            accepted.severity.name(),
            finding.severity.name()
        ));
    }
    let (figure, below) = accepted.below.as_ref()?;
    match finding.evidence.number(figure) {
        Some(value) if value < *below => None,
        Some(value) => Some(format!(
            "accepted while {figure} is below {below}; now it is {value:.3}"
        )),
        None => Some(format!(
            "accepted by the figure {figure}, which this finding does not have"
        )),
    }
}

/// Does an entry of the site cover the finding, as it is now?
pub(super) fn covers(site: &Site, finding: &Finding) -> bool {
    site.accepted
        .iter()
        .any(|accepted| is_about(accepted, finding) && lapsed(accepted, site, finding).is_none())
}

/// Marks the findings that the site's `[[accepted]]` entries cover; for lapsed entries it adds the reason.
pub(super) fn mark(site: &Site, diagnosis: &mut Diagnosis) {
    for finding in &mut diagnosis.findings {
        let mut reason = None;
        for accepted in site
            .accepted
            .iter()
            .filter(|accepted| is_about(accepted, finding))
        {
            reason = lapsed(accepted, site, finding);
            if reason.is_none() {
                finding.accepted = true;
                if let Some(note) = &accepted.note {
                    finding.evidence.0.push(("note", note.as_str().into()));
                }
                break;
            }
        }
        if let Some(reason) = reason {
            finding.evidence.0.push(("acceptance", reason.into()));
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::samples::{judge_site, on_phases, only, site};
    use finding::{Finding, Kind};
    use site::Quantity;

    /// Two hours of Monday 9 March 2026 at 110 A: a warning.
    fn finding(entry: &str) -> Finding {
        let text = format!("[[accepted]]\nkind = \"phase-overload\"\n{entry}");
        let columns = on_phases(Quantity::Current, [110.0, 5.0, 5.0], 60);
        let diagnosis = judge_site(&site(&[], &text), 60, columns);
        only(&diagnosis, Kind::PhaseOverload).clone()
    }

    #[test]
    fn an_accepted_finding_is_marked_until_its_day_has_passed() {
        let fits =
            finding("at = \"supply\"\nphase = \"L1\"\nuntil = \"2026-03-09\"\nnote = \"ordered\"");
        assert!(fits.accepted);
        assert!(fits.evidence.0.contains(&("note", "ordered".into())));
        let over = finding("until = \"2026-03-08\"");
        assert!(!over.accepted);
        let reason = (
            "acceptance",
            "accepted until Sun 8 Mar 2026; the readings go on after it".into(),
        );
        assert!(over.evidence.0.contains(&reason));
        assert!(!finding("phase = \"L2\"").accepted);
        assert!(!finding("at = \"DB1\"").accepted);
    }

    #[test]
    fn it_is_accepted_no_longer_once_it_has_grown() {
        assert!(finding("figure = \"highest_a\"\nbelow = 115").accepted);
        assert!(!finding("figure = \"highest_a\"\nbelow = 105").accepted);
        assert!(!finding("figure = \"no_such\"\nbelow = 105").accepted);
        assert!(!finding("severity = \"notice\"").accepted);
    }
}
