//! For the electrician: what is wrong, where, and the first step.

use crate::conductor::SupplyConductor;
use crate::findings::{mark, place, sentence};
use crate::first_step::first_step;
use crate::format::{counted, listed};
use balance::{BalanceResult, HeldBack};
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
    /// With which the moves begin: they follow what comes first, or need not wait for it.
    pub(crate) then_word: &'static str,
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
            Some(danger) => (before_anything(danger, balance), moves),
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
            then_word: match balance {
                Some(balance) if !balance.held_back.is_empty() => "Also",
                _ => "Then",
            },
        }
    }
}

/// Why it is a danger, what to do about it, and what waits for that.
fn before_anything(danger: &Finding, balance: Option<&BalanceResult>) -> String {
    let why = danger
        .caution
        .split_inclusive(". ")
        .next()
        .unwrap_or_default();
    let held: Vec<String> = balance.map_or_else(Vec::new, |balance| {
        balance.held_back.iter().map(HeldBack::place).collect()
    });
    let waits = if held.is_empty() {
        String::new()
    } else {
        format!(
            " Put nothing more on {} until it is repaired.",
            listed(&held)
        )
    };
    let why = why.trim_end_matches(['.', ' ']);
    format!("{} {}{waits}", sentence(why), sentence(&danger.action))
}
