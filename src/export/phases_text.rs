//! Which phase each load is on, as text for a terminal, and its table.

use std::fmt::Write;

use phases::{LoadPhase, PhaseResult, PhaseStatus, WorthKnowing, shown_probability_pct};
use site::{Connection, Site};
use tables::{Cell, Table, columns, number, plain, words};
use units::{FigureKind as Q, format_amps};

/// Each load with its probable phase.
#[must_use]
pub fn phases_table(result: &PhaseResult) -> Table {
    columns! { load in &LoadPhase;
        machine: words("Machine") => &load.machine;
        listed: words("Listed") => load.listed.name();
        probable: words("Probable") => load.probable.map_or("", Connection::name);
        probability_pct: number("Probability", Q::Percent) => load.probability.map_or(Cell::Unknown, |share| Cell::Rounded(shown_probability_pct(share), 0));
        status: words("Status") => status_words(load.status);
        basis: words("Basis") => &load.basis;
    }
    .table("phases", "Phase of each load", &result.loads)
    .with_method("probabilities are shown up to 99 %: trials do not show that higher ones can be relied on")
}

/// What it is worth to know the phase of each load in doubt.
#[must_use]
pub fn worth_table(result: &PhaseResult) -> Table {
    columns! { worth in &WorthKnowing;
        machine: words("Machine") => &worth.machine;
        unknown_neutral_rms_a: number("Lowest neutral, rms, phase not known", Q::Current) => worth.unknown_neutral_rms_a;
        known_neutral_rms_a: number("Lowest neutral, rms, phase known", Q::Current) => worth.known_neutral_rms_a;
        worth_a: number("Worth", Q::Current) => worth.worth_a;
    }
    .table("worth-knowing", "What knowing a phase is worth", &result.worth_knowing)
    .with_method(
        "a load whose phase is not known stays where it is; known: the mean over its possible connections of what the best plan reaches",
    )
}

/// The table, then what would settle the loads that are in doubt.
#[must_use]
pub fn phases_text(site: &Site, result: &PhaseResult) -> String {
    let mut text = format!("{}\n\n", plain(&site.name));
    if result.loads.is_empty() {
        text.push_str("No load on one or two phases in the machine list.\n");
        return text;
    }
    text.push_str(&phases_table(result).text());
    // Machines that the same would settle share a line.
    let mut ways: Vec<(&str, Vec<String>)> = Vec::new();
    for load in &result.loads {
        let Some(way) = load.to_settle.as_deref() else {
            continue;
        };
        let mut name = plain(&load.machine).clone();
        if load.status == PhaseStatus::InDoubt {
            let options = load
                .options
                .iter()
                .filter(|option| option.probability >= 0.01);
            let options: Vec<String> = options
                .map(|option| {
                    format!(
                        "{} {:.0} %",
                        option.connection,
                        shown_probability_pct(option.probability)
                    )
                })
                .collect();
            let _ = write!(name, " ({})", options.join(", "));
        }
        match ways.iter_mut().find(|(known, _)| *known == way) {
            Some((_, names)) => names.push(name),
            None => ways.push((way, vec![name])),
        }
    }
    if !ways.is_empty() {
        text.push_str("\nTo settle\n");
    }
    for (way, names) in ways {
        let _ = writeln!(text, "  - {}: {}", names.join(", "), plain(way));
    }
    for pair in &result.indistinct {
        let [one, other] = &pair.machines;
        let [first, second] = pair.connections;
        let _ = writeln!(
            text,
            "\n`{}` and `{}` cannot be distinguished: one of them is on {first}, the other on {second} ({:.0} %).",
            plain(one),
            plain(other),
            shown_probability_pct(pair.probability)
        );
    }
    if let [first, ..] = result.worth_knowing.as_slice() {
        let names: Vec<String> = result
            .worth_knowing
            .iter()
            .take(2)
            .map(|worth| plain(&worth.machine))
            .collect();
        let _ = writeln!(
            text,
            "\nIdentify first: {}. Knowing the phase of {} is worth {} of neutral current.\n",
            names.join(", "),
            names[0],
            format_amps(first.worth_a)
        );
        text.push_str(&worth_table(result).text());
    }
    for note in &result.notes {
        let _ = writeln!(text, "\nNote: {}", plain(note));
    }
    text
}

/// A status in words.
#[must_use]
pub fn status_words(status: PhaseStatus) -> &'static str {
    match status {
        PhaseStatus::AsListed => "as listed",
        PhaseStatus::Elsewhere => "not as listed",
        PhaseStatus::Found => "found",
        PhaseStatus::InDoubt => "in doubt",
        PhaseStatus::NotMeasured => "not measured",
    }
}
