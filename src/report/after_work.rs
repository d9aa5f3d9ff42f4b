//! The machine list against what was measured, as a part of the page.

use chrono_tz::Tz;

use super::format::moment;
use super::table::Table;
use diagnosis::{AfterWork, Verdict, Whereabouts};

/// The part.
#[derive(Debug)]
pub(super) struct AfterWorkView {
    pub(super) title: String,
    pub(super) currents: Option<Table>,
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
        let amps = |amps: f64| format!("{amps:.1}");
        let rows: Vec<Vec<String>> = work
            .conductors
            .iter()
            .map(|one| {
                let (least, most) = one.predicted_days_a;
                vec![
                    one.conductor.to_owned(),
                    amps(one.before_rms_a),
                    amps(one.predicted_rms_a),
                    format!("{least:.1} to {most:.1}"),
                    amps(one.measured_rms_a),
                ]
            })
            .collect();
        let head = [
            "Conductor",
            "#Before [A rms]",
            "#Predicted [A rms]",
            "Predicted, by day",
            "#Measured since [A rms]",
        ];
        let currents = (!rows.is_empty()).then(|| {
            Table::new(
                "Currents before and since the work, with those predicted",
                &head,
                rows,
            )
        });
        let mut lines = machines(&work.machines);
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

fn machines(all: &[Whereabouts]) -> Vec<String> {
    let names = |verdict: Verdict, words: &dyn Fn(&Whereabouts) -> String| -> Vec<String> {
        all.iter()
            .filter(|one| one.verdict == verdict)
            .map(words)
            .collect()
    };
    let mut lines = names(Verdict::Elsewhere, &|one| {
        let probable = one.probable.unwrap_or(one.listed);
        format!(
            "{}: probably on {probable}, listed on {}.",
            one.machine, one.listed
        )
    });
    let sound = names(Verdict::AsListed, &|one| {
        format!("{} ({})", one.machine, one.listed)
    });
    if !sound.is_empty() {
        lines.push(format!("As listed: {}.", sound.join(", ")));
    }
    let unknown = names(Verdict::NotJudged, &|one| one.machine.clone());
    if !unknown.is_empty() {
        lines.push(format!(
            "The log does not tell where these are: {}. tapoff diagnose says why.",
            unknown.join(", ")
        ));
    }
    lines
}
