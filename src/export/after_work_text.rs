//! The list against the log since the last work, as text for a terminal.

use std::fmt::Write;

use diagnosis::{AfterWork, ConductorCheck, Verdict, Whereabouts};
use site::Site;
use tables::{Table, columns, number, plain, words};
use units::{Quantity as Q, UNKNOWN, format_moment, format_number};

/// Root mean square of each conductor before and since the work, with what was predicted.
#[must_use]
pub fn conductors_table(work: &AfterWork) -> Table {
    let by_day = |one: &ConductorCheck| {
        let (least, most) = one.predicted_days_a;
        format!("{} to {}", format_number(least, 1), format_number(most, 1))
    };
    columns! { one in &ConductorCheck;
        conductor: words("Conductor") => one.conductor;
        before_rms_a: number("Before, rms", Q::Current) => one.before_rms_a;
        predicted_rms_a: number("Predicted, rms", Q::Current) => one.predicted_rms_a;
        predicted_days_a: words("Predicted, by day [A]") => by_day(one);
        measured_rms_a: number("Measured since, rms", Q::Current) => one.measured_rms_a;
    }
    .table(
        "after-work",
        "Currents before and since the work, with those predicted",
        &work.conductors,
    )
}

/// Conductors, machines and the round of readings; empty where nothing was compared.
pub(super) fn after_work_text(site: &Site, work: &AfterWork) -> String {
    let mut text = String::new();
    if work.machines.is_empty() && work.round.is_none() && work.since.is_none() {
        return text;
    }
    let since = work.since.map(|since| since.with_timezone(&site.timezone));
    match since {
        Some(since) => {
            let _ = writeln!(text, "\nSince the work of {}", format_moment(since));
        }
        None => text.push_str("\nWhere the list has the machines, against the log\n"),
    }
    text.push_str(&conductors_table(work).text_body());
    if let (Some(needs), Some(_)) = (&work.not_predicted, since) {
        let _ = writeln!(
            text,
            "  currents could not be predicted: needs {}",
            plain(needs)
        );
    }
    machines(&mut text, &work.machines);
    if let Some(round) = &work.round {
        let at = format_moment(round.at.with_timezone(&site.timezone));
        let _ = writeln!(
            text,
            "  clamp readings of {at}: {} (L1, L2, L3, N)",
            if round.agrees {
                "as the list has it"
            } else {
                "not as the list has it"
            }
        );
        let read: Vec<String> = round
            .measured_a
            .iter()
            .map(|amps| amps.map_or_else(|| UNKNOWN.to_owned(), |amps| format_number(amps, 1)))
            .collect();
        let expected: Vec<String> = round
            .predicted_a
            .iter()
            .map(|&amps| format_number(amps, 1))
            .collect();
        let _ = writeln!(
            text,
            "    read {} A; expected {} A",
            read.join(", "),
            expected.join(", ")
        );
    }
    text
}

fn machines(text: &mut String, all: &[Whereabouts]) {
    let of = |verdict: Verdict| all.iter().filter(move |one| one.verdict == verdict);
    for one in of(Verdict::Elsewhere) {
        let probable = one.probable.unwrap_or(one.listed);
        let _ = writeln!(
            text,
            "  - {}: probably on {probable}, listed on {}",
            plain(&one.machine),
            one.listed
        );
    }
    let sound: Vec<String> = of(Verdict::AsListed)
        .map(|one| format!("{} ({})", plain(&one.machine), one.listed))
        .collect();
    if !sound.is_empty() {
        let _ = writeln!(text, "  as listed: {}", sound.join(", "));
    }
    // Machines that share a reason share a line.
    let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
    for one in of(Verdict::NotJudged) {
        let reason = one.reason.as_deref().unwrap_or("");
        match reasons.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, names)) => names.push(plain(&one.machine)),
            None => reasons.push((reason, vec![plain(&one.machine)])),
        }
    }
    for (reason, names) in reasons {
        let _ = writeln!(
            text,
            "  could not judge {}: {}",
            names.join(", "),
            plain(reason)
        );
    }
}
