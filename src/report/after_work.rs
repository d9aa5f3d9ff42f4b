//! The machine list checked against the measurements, as a part of the page.

use chrono_tz::Tz;

use super::format::moment;
use diagnosis::AfterWork;
use export::{conductors_table, round_words, whereabouts_sentences};
use phases::PhaseResult;
use tables::{Table, quoted, sentence};

/// The part of the page.
#[derive(Debug)]
pub(super) struct AfterWorkView {
    pub(super) title: String,
    pub(super) currents: Table,
    pub(super) lines: Vec<String>,
}

impl AfterWorkView {
    /// `None` where nothing was compared.
    pub(super) fn new(zone: Tz, work: &AfterWork, phases: &PhaseResult) -> Option<AfterWorkView> {
        if !phases.is_anything_measured() && work.round.is_none() && work.conductors.is_empty() {
            return None;
        }
        let title = work.since.map_or_else(
            || "Machine list checked against the log".to_owned(),
            |since| format!("Since the work on {}", moment(since, zone)),
        );
        let currents = conductors_table(work);
        let sentences = whereabouts_sentences(phases);
        let mut lines: Vec<String> = sentences
            .iter()
            .map(|line| quoted(&sentence(line)))
            .collect();
        if let Some(round) = &work.round {
            lines.push(format!(
                "Clamp-meter readings of {}: {}.",
                moment(round.at, zone),
                round_words(round)
            ));
        }
        Some(AfterWorkView {
            title,
            currents,
            lines,
        })
    }
}
