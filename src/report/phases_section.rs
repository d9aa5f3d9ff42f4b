//! Which phase each load is on, where there is something to say.

use super::format::quoted;
use balance::BalanceResult;
use export::{
    indistinct_sentences, open_phases_table, phases_sentence, plan_doubt_sentences, worth_table,
};
use phases::PhaseResult;
use tables::Table;

/// The section.
#[derive(Debug)]
pub(super) struct PhasesView {
    pub(super) title: String,
    pub(super) plan: Vec<String>,
    pub(super) loads: Table,
    pub(super) worth: Table,
    pub(super) notes: Vec<String>,
}

impl PhasesView {
    /// `None` where nothing is against the list and nothing is unknown.
    pub(super) fn new(phases: &PhaseResult, balance: Option<&BalanceResult>) -> Option<PhasesView> {
        let title = phases_sentence(phases)?;
        let doubt = balance.and_then(|balance| balance.phase_doubt.as_ref());
        let plan = doubt.map(plan_doubt_sentences).unwrap_or_default();
        let worth = doubt.map_or(&[][..], |doubt| &doubt.identify_first);
        let notes = indistinct_sentences(phases)
            .into_iter()
            .chain(phases.notes.clone());
        Some(PhasesView {
            title,
            plan: plan.iter().map(|line| quoted(line)).collect(),
            loads: open_phases_table(phases),
            worth: worth_table(worth),
            notes: notes.map(|note| quoted(&note)).collect(),
        })
    }
}
