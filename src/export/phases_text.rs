//! Which phase each load is on, as text for a terminal, and its table.

use std::fmt::Write;

use crate::wording::counted;
use balance::{DoubtfulPhases, WorthKnowing};
use phases::{LoadPhase, PhaseResult, PhaseStatus, shown_probability_pct};
use site::{Connection, Site};
use tables::{Cell, Output, Table, columns, number, plain, words};
use units::{FigureKind as Q, format_amps, format_number};

/// What would settle a load is in files and pages; the terminal has it below the table.
const NOT_IN_TEXT: &[Output] = &[Output::Csv, Output::Workbook, Output::Html];

/// Each load with its probable phase.
#[must_use]
pub fn phases_table(result: &PhaseResult) -> Table {
    loads_table(&result.loads)
}

/// The loads of which there is something to say: not as listed, found, in doubt or not known.
#[must_use]
pub fn open_phases_table(result: &PhaseResult) -> Table {
    let loads: Vec<LoadPhase> = result
        .loads
        .iter()
        .filter(|load| is_open(load))
        .cloned()
        .collect();
    loads_table(&loads)
}

fn is_open(load: &LoadPhase) -> bool {
    match load.status {
        PhaseStatus::AsListed => false,
        PhaseStatus::Elsewhere | PhaseStatus::Found | PhaseStatus::InDoubt => true,
        PhaseStatus::NotMeasured => load.listed.is_open(),
    }
}

/// How many loads are where; `None` where the list has all as they are, as far as anything was measured.
#[must_use]
pub fn phases_sentence(result: &PhaseResult) -> Option<String> {
    let count = |status: PhaseStatus| {
        let own = result.loads.iter().filter(|load| is_open(load));
        own.filter(|load| load.status == status).count()
    };
    let parts: Vec<String> = [
        (
            PhaseStatus::Elsewhere,
            "is not on the phase that the machine list gives",
            "are not on the phases that the machine list gives",
        ),
        (
            PhaseStatus::Found,
            "of unknown phase is found",
            "of unknown phase are found",
        ),
        (PhaseStatus::InDoubt, "is in doubt", "are in doubt"),
        (PhaseStatus::NotMeasured, "is not known", "are not known"),
    ]
    .into_iter()
    .filter_map(|(status, one, more)| {
        let count = count(status);
        let verb = if count == 1 { one } else { more };
        (count > 0).then(|| format!("{} {verb}", counted(count, "load", "loads")))
    })
    .collect();
    (!parts.is_empty()).then(|| format!("{}.", parts.join("; ")))
}

/// Pairs of loads that cannot be distinguished.
#[must_use]
pub fn indistinct_sentences(result: &PhaseResult) -> Vec<String> {
    let pairs = result.indistinct.iter();
    pairs
        .map(|pair| {
            let [one, other] = &pair.machines;
            let [first, second] = pair.connections;
            format!(
                "`{one}` and `{other}` cannot be distinguished: one of them is on {first}, the other on {second} ({:.0} %).",
                shown_probability_pct(pair.probability)
            )
        })
        .collect()
}

/// What loads in doubt mean for the plan, and which to identify first.
#[must_use]
pub fn plan_doubt_sentences(doubt: &DoubtfulPhases) -> Vec<String> {
    let mut out = Vec::new();
    let names: Vec<String> = doubt
        .machines
        .iter()
        .map(|name| format!("`{name}`"))
        .collect();
    let who = match names.as_slice() {
        [one] => format!("The phase of {one} is not certain"),
        [first, second] => format!("The phases of {first} and {second} are not certain"),
        [first, second, others @ ..] => format!(
            "The phases of {first}, {second} and {} are not certain",
            counted(others.len(), "more load", "more loads")
        ),
        [] => return out,
    };
    match (doubt.after_neutral_rms_low_a, doubt.after_neutral_rms_high_a) {
        (Some(low), Some(high)) if high - low >= 0.05 => out.push(format!(
            "{who}: with a probability of 95 % the neutral after the moves is {} to {} (rms).",
            format_number(low, 1),
            format_amps(high)
        )),
        (Some(_), Some(_)) => out.push(format!(
            "{who}; the plan does not move these loads, so that its neutral does not depend on them."
        )),
        _ => out.push(format!("{who}; no log shows what that does to the plan.")),
    }
    if let Some(corrected) = doubt.corrected_neutral_rms_a {
        out.push(format!(
            "Loads are not on the phases that the machine list gives; with the list corrected (`tapoff phases SITE --write FILE`) a plan reaches {} rms.",
            format_amps(corrected)
        ));
    }
    let worth: Vec<&WorthKnowing> = doubt
        .identify_first
        .iter()
        .filter(|worth| worth.worth_a >= 0.05)
        .take(2)
        .collect();
    match worth.as_slice() {
        [] => {}
        [one] => out.push(format!(
            "Identify `{}` first: knowing its phase is worth {} of neutral current.",
            one.machine,
            format_amps(one.worth_a)
        )),
        [first, second, ..] => out.push(format!(
            "Identify `{}` and `{}` first: knowing the phase of the one is worth {} of neutral current, of the other {}.",
            first.machine,
            second.machine,
            format_amps(first.worth_a),
            format_amps(second.worth_a)
        )),
    }
    out
}

fn loads_table(loads: &[LoadPhase]) -> Table {
    columns! { load in &LoadPhase;
        machine: words("Machine") => &load.machine;
        listed: words("Listed") => load.listed.name();
        probable: words("Probable") => load.probable.map_or("", Connection::name);
        probability_pct: number("Probability", Q::Percent) => load.probability.map_or(Cell::Unknown, |share| Cell::Rounded(shown_probability_pct(share), 0));
        status: words("Status") => status_words(load.status);
        basis: words("Basis").sentences() => &load.basis;
        to_settle: words("What would settle it").sentences().only(NOT_IN_TEXT) => load.to_settle.as_deref().unwrap_or("");
    }
    .table("phases", "Phase of each load", loads)
    .with_method("probabilities are shown up to 99 %: trials do not show that higher ones can be relied on")
}

/// What it is worth to know the phase of each load in doubt.
#[must_use]
pub fn worth_table(worth: &[WorthKnowing]) -> Table {
    columns! { worth in &WorthKnowing;
        machine: words("Machine") => &worth.machine;
        unknown_neutral_rms_a: number("Lowest neutral, rms, phase not known", Q::Current) => worth.unknown_neutral_rms_a;
        known_neutral_rms_a: number("Lowest neutral, rms, phase known", Q::Current) => worth.known_neutral_rms_a;
        worth_a: number("Worth", Q::Current) => worth.worth_a;
    }
    .table("worth-knowing", "What knowing a phase is worth", worth)
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
    if let Some(sentence) = phases_sentence(result) {
        let _ = writeln!(text, "{sentence}");
    }
    text.push_str(&phases_table(result).text());
    let ways = open_loads_by_remedy(result);
    if !ways.is_empty() {
        text.push_str("\nTo settle\n");
    }
    for (way, names) in ways {
        let _ = writeln!(text, "  - {}: {}", plain(&names.join(", ")), plain(way));
    }
    for pair in indistinct_sentences(result) {
        let _ = writeln!(text, "\n{}", plain(&pair));
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
        text.push_str(&worth_table(&result.worth_knowing).text());
    }
    for note in &result.notes {
        let _ = writeln!(text, "\nNote: {}", plain(note));
    }
    text
}

/// What would settle the loads that are in doubt or not measured, and which these are: those that the same would settle
/// share a line.
pub(super) fn open_loads_by_remedy(result: &PhaseResult) -> Vec<(&str, Vec<String>)> {
    let mut ways: Vec<(&str, Vec<String>)> = Vec::new();
    for load in &result.loads {
        let Some(way) = load.to_settle.as_deref() else {
            continue;
        };
        let mut name = load.machine.clone();
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
    ways
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
