//! What the checks found, did not find, and could not judge.

use phases::PhaseResult;
use schemars::JsonSchema;
use serde::Serialize;

use super::after_work::result::AfterWork;
use super::joint::trace::JointTrace;
use super::overload::trace::OverloadTrace;
use super::view::{View, at};
use super::voltage_triangle::VoltageTrace;
use electrical::Phase;
use finding::{Evidence, Finding, Kind, Severity, Spot};

/// A check that could not be made.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct NotJudged {
    /// What was looked for.
    pub kind: Kind,
    /// Where.
    #[serde(rename = "where")]
    pub spot: Spot,
    /// What is missing, or why nothing can be said.
    pub needs: String,
}

/// A check that was made and found nothing.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct NothingFound {
    /// What was looked for.
    pub kind: Kind,
    /// Where.
    #[serde(rename = "where")]
    pub spot: Spot,
}

/// Data behind a finding, for charts.
#[derive(Clone, Debug, PartialEq)]
pub enum Trace {
    /// Of a joint's resistance.
    Joint(JointTrace),
    /// Of an overload.
    Overload(OverloadTrace),
    /// Of voltages that are not alike.
    Voltages(VoltageTrace),
}

/// A trace with the finding that it belongs to.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// The finding's kind.
    pub kind: Kind,
    /// The finding's place.
    pub spot: Spot,
    /// The data behind it.
    pub trace: Trace,
}

/// What the logs say is wrong.
#[derive(Clone, Debug, Default, PartialEq, JsonSchema, Serialize)]
pub struct Diagnosis {
    /// Worst first.
    pub findings: Vec<Finding>,
    /// Checks not possible, and why.
    pub not_judged: Vec<NotJudged>,
    /// What was looked for and not found.
    pub nothing_found: Vec<NothingFound>,
    /// The machine list against what was measured since the last work.
    pub after_work: Option<AfterWork>,
    /// The phase of each load on one or two phases, by all that was measured.
    pub phases: PhaseResult,
    /// Data behind findings, for charts.
    #[serde(skip)]
    pub shown: Vec<Shown>,
}

/// What a check wants to say; the rest of a finding is the same for its kind and place.
#[derive(Debug)]
pub(super) struct Report {
    pub(super) severity: Severity,
    pub(super) summary: String,
    pub(super) evidence: Evidence,
    pub(super) action: String,
    pub(super) caution: &'static str,
    pub(super) source: &'static str,
}

impl Diagnosis {
    /// How many kinds of check could be made anywhere, of how many there are: `1 of 14 checks`.
    #[must_use]
    pub fn checks_made(&self) -> String {
        let made = Kind::ALL.into_iter().filter(|kind| {
            self.findings.iter().any(|finding| finding.kind == *kind)
                || self.nothing_found.iter().any(|entry| entry.kind == *kind)
        });
        format!("{} of {} checks", made.count(), Kind::ALL.len())
    }

    pub(super) fn found(
        &mut self,
        view: &View<'_>,
        kind: Kind,
        phase: Option<Phase>,
        report: Report,
    ) {
        self.findings.push(Finding {
            kind,
            severity: report.severity,
            spot: view.spot(phase),
            from: view.from(),
            to: view.to(),
            summary: report.summary,
            evidence: report.evidence,
            accepted: false,
            action: report.action,
            caution: report.caution.to_owned(),
            source: report.source.to_owned(),
        });
    }

    /// A finding about some of the readings only: from the first that shows it to the end of the last.
    pub(super) fn found_over(
        &mut self,
        view: &View<'_>,
        (kind, phase): (Kind, Option<Phase>),
        (from_s, to_s): (i64, i64),
        report: Report,
    ) {
        self.found(view, kind, phase, report);
        if let Some(finding) = self.findings.last_mut() {
            finding.from = at(from_s);
            finding.to = at(to_s);
        }
    }

    /// Keeps what a chart of the finding needs.
    pub(super) fn show(&mut self, view: &View<'_>, kind: Kind, phase: Option<Phase>, trace: Trace) {
        self.shown.push(Shown {
            kind,
            spot: view.spot(phase),
            trace,
        });
    }

    pub(super) fn nothing(&mut self, view: &View<'_>, kind: Kind, phase: Option<Phase>) {
        self.nothing_found.push(NothingFound {
            kind,
            spot: view.spot(phase),
        });
    }

    pub(super) fn needs(
        &mut self,
        view: &View<'_>,
        kind: Kind,
        phase: Option<Phase>,
        needs: impl Into<String>,
    ) {
        self.not_judged.push(NotJudged {
            kind,
            spot: view.spot(phase),
            needs: needs.into(),
        });
    }

    /// Keeps what concerns a phase: what is on it, and what is on no phase alone.
    pub fn keep_phase(&mut self, phase: Phase) {
        let concerns = |spot: &Spot| spot.phase.is_none_or(|own| own == phase);
        self.findings.retain(|finding| concerns(&finding.spot));
        self.not_judged.retain(|entry| concerns(&entry.spot));
        self.nothing_found.retain(|entry| concerns(&entry.spot));
        self.shown.retain(|entry| concerns(&entry.spot));
    }

    /// Worst first; equals in the order of kinds, then as they were found.
    pub(super) fn rank(&mut self) {
        self.findings
            .sort_by_key(|finding| (finding.accepted, finding.severity, finding.kind));
        self.not_judged.sort_by_key(|entry| entry.kind);
        self.nothing_found.sort_by_key(|entry| entry.kind);
    }
}
