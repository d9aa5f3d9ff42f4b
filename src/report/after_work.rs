//! The machine list against what was measured, as a part of the page.

use chrono_tz::Tz;

use super::format::moment;
use diagnosis::AfterWork;
use export::{conductors_table, whereabouts_sentences};
use tables::{Table, quoted, sentence};

/// The part.
#[derive(Debug)]
pub(super) struct AfterWorkView {
    pub(super) title: String,
    pub(super) currents: Table,
    pub(super) lines: Vec<String>,
}

impl AfterWorkView {
    /// `None` where nothing was compared.
    pub(super) fn new(zone: Tz, work: &AfterWork) -> Option<AfterWorkView> {
        if work.machines.is_empty() && work.round.is_none() && work.conductors.is_empty() {
            return None;
        }
        let title = work.since.map_or_else(
            || "Where the list has the machines, against the log".to_owned(),
            |since| format!("Since the work of {}", moment(since, zone)),
        );
        let currents = conductors_table(work);
        let sentences = whereabouts_sentences(&work.machines);
        let mut lines: Vec<String> = sentences
            .iter()
            .map(|line| quoted(&sentence(line)))
            .collect();
        if let Some(round) = &work.round {
            let words = if round.agrees {
                "as the list has it"
            } else {
                "not as the list has it"
            };
            lines.push(format!(
                "Clamp readings of {}: {words}.",
                moment(round.at, zone)
            ));
        }
        Some(AfterWorkView {
            title,
            currents,
            lines,
        })
    }
}
