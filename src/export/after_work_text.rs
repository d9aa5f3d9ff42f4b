//! The machine list checked against the log since the last work, as text for a terminal.

use std::fmt::Write;

use super::phases_text::open_loads_by_remedy;
use diagnosis::{AfterWork, ConductorCheck, RoundCheck};
use phases::{PhaseResult, PhaseStatus};
use site::Site;
use tables::{Table, columns, number, plain, words};
use units::{FigureKind as Q, UNKNOWN, format_moment, format_number};

/// Rms current of each conductor before and since the work, with the prediction.
#[must_use]
pub fn conductors_table(work: &AfterWork) -> Table {
    let by_day = |one: &ConductorCheck| {
        let (least, most) = one.predicted_days_a;
        format!("{} to {}", format_number(least, 1), format_number(most, 1))
    };
    columns! { one in &ConductorCheck;
        conductor: words("Conductor") => one.conductor;
        before_rms_a: number("Before the work, rms", Q::Current) => one.before_rms_a;
        predicted_rms_a: number("Predicted, rms", Q::Current) => one.predicted_rms_a;
        predicted_days_a: words("Predicted, by day [A]") => by_day(one);
        measured_rms_a: number("Measured since, rms", Q::Current) => one.measured_rms_a;
    }
    .table(
        "after-work",
        "Currents before and since the work, and as predicted",
        &work.conductors,
    )
}

/// Conductors, machines and the round of readings; empty where nothing could be compared.
pub(super) fn after_work_text(site: &Site, work: &AfterWork, phases: &PhaseResult) -> String {
    let mut text = String::new();
    if !phases.is_anything_measured() && work.round.is_none() && work.since.is_none() {
        return text;
    }
    let since = work.since.map(|since| since.with_timezone(&site.timezone));
    match since {
        Some(since) => {
            let _ = writeln!(text, "\nSince the work of {}", format_moment(since));
        }
        None => text.push_str("\nMachine list checked against the log\n"),
    }
    let conductors = conductors_table(work);
    if !conductors.rows.is_empty() {
        text.push_str(&conductors.text_body());
    }
    if let (Some(needs), Some(_)) = (&work.not_predicted, since) {
        let _ = writeln!(
            text,
            "  no prediction of the currents: needs {}",
            plain(needs)
        );
    }
    for sentence in whereabouts_sentences(phases) {
        let _ = writeln!(text, "  - {}", plain(&sentence));
    }
    if let Some(round) = &work.round {
        let at = format_moment(round.at.with_timezone(&site.timezone));
        let _ = writeln!(
            text,
            "  clamp readings of {at}: {} (L1, L2, L3, N)",
            round_words(round)
        );
        let read: Vec<String> = round
            .measured_a
            .iter()
            .map(|amps| amps.map_or_else(|| UNKNOWN.to_owned(), |amps| format_number(amps, 1)))
            .collect();
        let expected: Vec<String> = (0..4)
            .map(|conductor| {
                let (low, high) = round.expected_a(conductor);
                format!("{} to {}", format_number(low, 1), format_number(high, 1))
            })
            .collect();
        let _ = writeln!(
            text,
            "    read: {} A; expected: {} A",
            read.join(", "),
            expected.join(", ")
        );
    }
    text
}

/// The phase of each load, as far as it was measured, in sentences without a full stop.
#[must_use]
pub fn whereabouts_sentences(all: &PhaseResult) -> Vec<String> {
    let of = |status: PhaseStatus| all.loads.iter().filter(move |one| one.status == status);
    let mut lines: Vec<String> = of(PhaseStatus::Elsewhere)
        .map(|one| {
            let probable = one.probable.unwrap_or(one.listed);
            format!(
                "{}: probably on {probable}, listed on {}",
                one.machine, one.listed
            )
        })
        .collect();
    for (status, words) in [
        (PhaseStatus::AsListed, "as listed"),
        (PhaseStatus::Found, "found"),
    ] {
        let placed: Vec<String> = of(status)
            .map(|one| {
                let probable = one.probable.unwrap_or(one.listed);
                format!("{} ({probable})", one.machine)
            })
            .collect();
        if !placed.is_empty() {
            lines.push(format!("{words}: {}", placed.join(", ")));
        }
    }
    lines.extend(open_loads_by_remedy(all).into_iter().map(|(way, names)| {
        format!(
            "cannot be checked: {}; what would settle it: {way}",
            names.join(", ")
        )
    }));
    lines
}

/// What a round of readings says of the list.
#[must_use]
pub fn round_words(round: &RoundCheck) -> &'static str {
    match (round.agrees, round.tests_the_list()) {
        (true, true) => "they agree with the machine list",
        (true, false) => {
            "they are within what the listed machines can draw; to test the list, read its machines in the same round"
        }
        (false, _) => "they do not agree with the machine list",
    }
}
