//! For the electrician: what is wrong, where, and the first step.

use crate::conductor::SupplyConductor;
use crate::findings::{mark, place, sentence};
use crate::first_step::first_step;
use crate::format::counted;
use balance::BalanceResult;
use diagnosis::Diagnosis;
use finding::{Finding, Severity};

/// Findings named before the others are counted.
const MOST_NAMED: usize = 2;

#[derive(Debug)]
pub(crate) struct ElectricianAnswer {
    /// The worst findings: mark, title and place.
    pub(crate) wrong: Vec<(&'static str, String)>,
    /// How many more; what was checked where there is none. Empty where there is nothing to add.
    pub(crate) more: String,
    /// The first step; what to do about a danger comes before any move.
    pub(crate) first: String,
    /// The moves, where something comes before them; else empty.
    pub(crate) then: String,
}

impl ElectricianAnswer {
    pub(super) fn new(
        conductors: &[SupplyConductor],
        balance: Option<&BalanceResult>,
        diagnosis: Option<&Diagnosis>,
        findings: &[&Finding],
    ) -> ElectricianAnswer {
        let moves = first_step(balance, conductors);
        let danger = findings
            .first()
            .filter(|finding| finding.severity == Severity::Danger);
        let (first, then) = match danger {
            Some(danger) => (sentence(&danger.action), moves),
            None => (moves, String::new()),
        };
        let named = findings.iter().take(MOST_NAMED);
        let more = findings.len().saturating_sub(MOST_NAMED);
        ElectricianAnswer {
            wrong: named
                .map(|finding| {
                    let words = format!("{}, {}", finding.kind.title(), place(&finding.spot));
                    (mark(finding.severity), words)
                })
                .collect(),
            more: match (diagnosis, findings.len()) {
                (Some(diagnosis), 0) => {
                    format!(
                        "No fault found, by the {} that the data make possible.",
                        diagnosis.checks_made()
                    )
                }
                _ if more > 0 => format!("and {}", counted(more, "more finding", "more findings")),
                _ => String::new(),
            },
            first,
            then,
        }
    }
}
