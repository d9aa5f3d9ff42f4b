//! The list against the log since the last work, as text for a terminal.

use std::fmt::Write;

use super::text_table::plain;
use diagnosis::{AfterWork, Verdict, Whereabouts};
use site::Site;

/// Conductors, machines and the round of readings; empty where nothing was compared.
pub(super) fn after_work_text(site: &Site, work: &AfterWork) -> String {
    let mut text = String::new();
    if work.machines.is_empty() && work.round.is_none() && work.since.is_none() {
        return text;
    }
    let since = work.since.map(|since| since.with_timezone(&site.timezone));
    match since {
        Some(since) => {
            let _ = writeln!(
                text,
                "\nSince the work of {}",
                since.format("%Y-%m-%d %H:%M")
            );
        }
        None => text.push_str("\nWhere the list has the machines, against the log\n"),
    }
    for one in &work.conductors {
        let (least, most) = one.predicted_days_a;
        let _ = writeln!(
            text,
            "  {:<2}  {:>6.1} A rms; {:.1} A predicted ({least:.1} to {most:.1} A by day), {:.1} A before",
            one.conductor, one.measured_rms_a, one.predicted_rms_a, one.before_rms_a
        );
    }
    if let (Some(needs), Some(_)) = (&work.not_predicted, since) {
        let _ = writeln!(
            text,
            "  currents could not be predicted: needs {}",
            plain(needs)
        );
    }
    machines(&mut text, &work.machines);
    if let Some(round) = &work.round {
        let at = round
            .at
            .with_timezone(&site.timezone)
            .format("%Y-%m-%d %H:%M");
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
            .map(|amps| amps.map_or_else(|| "–".to_owned(), |amps| format!("{amps:.1}")))
            .collect();
        let expected: Vec<String> = round
            .predicted_a
            .iter()
            .map(|amps| format!("{amps:.1}"))
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
