//! Findings that have come, gone, grown or eased.

use super::entry::{Direction, SinceEntry, Subject};
use super::percent::percent;
use super::snapshot::FindingThen;
use finding::{Kind, Value};
use units::fixed;

/// A finding's figure must change by this share to have grown or eased (common practice). (%)
const GROWN_PCT: f64 = 5.0;

/// The figure by which a kind of finding grows or eases; the first that both reports have.
const SIZES: [(&str, &[&str]); 12] = [
    (
        "neutral-fault",
        &["highest_displacement_v", "last_week_mohm"],
    ),
    ("phase-loss", &["time_min"]),
    (
        "high-resistance-joint",
        &["last_week_mohm", "extra_resistance_mohm"],
    ),
    ("phase-overload", &["highest_a"]),
    ("neutral-overload", &["highest_a"]),
    ("neutral-harmonics", &["neutral_beyond_phasor_sum_a"]),
    (
        "voltage-out-of-range",
        &["worst_week_outside_pct", "time_outside_min"],
    ),
    (
        "frequency-out-of-range",
        &["worst_year_outside_pct", "time_outside_min"],
    ),
    (
        "voltage-unbalance",
        &["negative_sequence_p95_worst_week_pct"],
    ),
    ("rapid-voltage-change", &["steps_per_day"]),
    ("load-unbalance", &["neutral_rms_a"]),
    ("list-mismatch", &["unexplained_pct", "not_seen_pct"]),
];

/// Those of both, by kind and place.
pub(super) fn findings(before: &[FindingThen], now: &[FindingThen], changes: &mut Vec<SinceEntry>) {
    let same = |a: &FindingThen, b: &FindingThen| a.kind == b.kind && a.at == b.at;
    for finding in now {
        match before.iter().find(|one| same(one, finding)) {
            None => changes.push(entry(Direction::New, None, Some(finding), "new")),
            Some(was) => changes.extend(grown(was, finding)),
        }
    }
    let gone = before
        .iter()
        .filter(|one| !now.iter().any(|finding| same(one, finding)));
    changes.extend(gone.map(|one| entry(Direction::Gone, Some(one), None, "no longer found")));
}

/// Title and place: `Phase overload, main L1`.
fn name_of(finding: &FindingThen) -> String {
    let [meter, phase, node, machine] = &finding.at;
    let place = machine.as_ref().or(meter.as_ref()).or(node.as_ref());
    let title = match Kind::from_name(&finding.kind) {
        Some(kind) => kind.title(),
        None => finding.kind.as_str(),
    };
    let parts: Vec<&str> = place.into_iter().chain(phase).map(String::as_str).collect();
    if parts.is_empty() {
        return title.to_owned();
    }
    format!("{title}, {}", parts.join(" "))
}

fn entry(
    change: Direction,
    before: Option<&FindingThen>,
    now: Option<&FindingThen>,
    how: &str,
) -> SinceEntry {
    let shown = now.or(before);
    let name = shown.map(name_of).unwrap_or_default();
    let summary = shown
        .map(|finding| finding.summary.clone())
        .unwrap_or_default();
    let severity = |finding: &FindingThen| Value::Text(finding.severity.clone());
    SinceEntry {
        subject: Subject::Finding,
        change,
        before: before.map(severity),
        now: now.map(severity),
        unit: String::new(),
        text: format!("{name}: {how}: {summary}"),
        name,
    }
}

/// A finding that has grown or eased.
fn grown(was: &FindingThen, is: &FindingThen) -> Option<SinceEntry> {
    let rank = |finding: &FindingThen| {
        let order = ["danger", "warning", "notice"];
        order.iter().position(|name| *name == finding.severity)
    };
    let severity = rank(was).zip(rank(is)).map(|(was, is)| was.cmp(&is));
    let size = size(was, is);
    let (change, word) = match (severity, &size) {
        (Some(std::cmp::Ordering::Greater), _) => (Direction::Grown, "worse"),
        (Some(std::cmp::Ordering::Less), _) => (Direction::Eased, "less"),
        (_, Some((_, before, now))) => match percent(*before, *now) {
            Some(pct) if pct >= GROWN_PCT => (Direction::Grown, "grown"),
            Some(pct) if pct <= -GROWN_PCT => (Direction::Eased, "less"),
            _ => return None,
        },
        _ => return None,
    };
    let how = match &size {
        Some((name, before, now)) => format!(
            "{word} (`{name}` {}, before {})",
            fixed(*now, 1),
            fixed(*before, 1)
        ),
        None => format!("{word} ({}, before {})", is.severity, was.severity),
    };
    let mut entry = entry(change, Some(was), Some(is), &how);
    if let Some((name, before, now)) = size {
        (entry.before, entry.now) = (Some(before.into()), Some(now.into()));
        name.clone_into(&mut entry.unit);
    }
    Some(entry)
}

fn size(was: &FindingThen, is: &FindingThen) -> Option<(&'static str, f64, f64)> {
    let of = |finding: &FindingThen, name: &str| {
        let mut figures = finding.figures.iter();
        figures
            .find(|(own, _)| own == name)
            .map(|(_, figure)| *figure)
    };
    let (_, names) = SIZES.iter().find(|(kind, _)| *kind == is.kind)?;
    names
        .iter()
        .find_map(|&name| Some((name, of(was, name)?, of(is, name)?)))
}
