//! Findings as the page shows them, worst first; accepted findings separately.

use std::fmt::Write as _;

use chrono_tz::Tz;

use super::after_work::AfterWorkView;
use super::figure_view::FigureView;
use super::finding_figures::figures_of;
use super::format::{period, quoted};
use chart::ChartError;
use diagnosis::Diagnosis;
use export::{evidence_figure, evidence_label};
use finding::{Finding, Severity, Spot, Value};
use units::format_local;

/// Findings shown open; the others are folded.
const MOST_OPEN: usize = 6;

/// The section.
#[derive(Debug)]
pub(super) struct FindingsView {
    pub(super) title: String,
    pub(super) open: Vec<FindingView>,
    pub(super) more: Vec<FindingView>,
    pub(super) accepted: Vec<FindingView>,
    pub(super) not_judged: Vec<String>,
    pub(super) nothing_found: String,
    pub(super) after_work: Option<AfterWorkView>,
}

/// One finding.
#[derive(Debug)]
pub(super) struct FindingView {
    pub(super) severity: &'static str,
    pub(super) mark: &'static str,
    pub(super) title: &'static str,
    pub(super) kind: &'static str,
    pub(super) place: String,
    pub(super) summary: String,
    pub(super) action: String,
    pub(super) caution: String,
    pub(super) source: String,
    pub(super) period: String,
    pub(super) note: String,
    pub(super) evidence: Vec<(String, Vec<String>)>,
    pub(super) figures: Vec<FigureView>,
}

impl FindingsView {
    pub(super) fn new(zone: Tz, diagnosis: &Diagnosis) -> Result<FindingsView, ChartError> {
        let views = |accepted: bool| -> Result<Vec<FindingView>, ChartError> {
            diagnosis
                .findings
                .iter()
                .filter(|finding| finding.accepted == accepted)
                .map(|finding| {
                    let figures = figures_of(zone, diagnosis, finding)?;
                    let figures = figures.iter().map(FigureView::new).collect();
                    Ok(FindingView {
                        figures,
                        ..FindingView::new(zone, finding)
                    })
                })
                .collect()
        };
        let mut open = views(false)?;
        let title = title(diagnosis);
        let more = open.split_off(open.len().min(MOST_OPEN));
        Ok(FindingsView {
            title,
            open,
            more,
            accepted: views(true)?,
            not_judged: not_judged(diagnosis),
            nothing_found: nothing_found(diagnosis),
            after_work: diagnosis
                .after_work
                .as_ref()
                .and_then(|work| AfterWorkView::new(zone, work, &diagnosis.phases)),
        })
    }
}

impl FindingView {
    fn new(zone: Tz, finding: &Finding) -> FindingView {
        let mut note = String::new();
        let mut evidence = Vec::new();
        for (name, value) in &finding.evidence.0 {
            let (words, unit) = evidence_label(name);
            match value {
                Value::Text(text) if *name == "note" => note.clone_from(text),
                Value::Number(number) => {
                    let figure = format!("{}{unit}", evidence_figure(name, *number));
                    evidence.push((words, vec![figure.replace(' ', "\u{A0}")]));
                }
                Value::Text(text) => evidence.push((words, vec![text.clone()])),
                Value::Moment(at) => evidence.push((words, vec![format_local(*at)])),
                Value::Texts(texts) => evidence.push((words, texts.clone())),
            }
        }
        FindingView {
            severity: finding.severity.name(),
            mark: mark(finding.severity),
            title: finding.kind.title(),
            kind: finding.kind.name(),
            place: place(&finding.spot),
            summary: sentence(&finding.summary),
            action: sentence(&finding.action),
            caution: finding.caution.clone(),
            source: finding.source.clone(),
            period: period(finding.from, finding.to, &zone),
            note,
            evidence,
            figures: Vec::new(),
        }
    }
}

/// The symbol of a severity, so that it does not depend on colour alone.
pub(super) const fn mark(severity: Severity) -> &'static str {
    match severity {
        Severity::Danger => "▲▲",
        Severity::Warning => "▲",
        Severity::Notice => "○",
    }
}

/// `L2 at the supply (meter main)`.
pub(super) fn place(spot: &Spot) -> String {
    let what = match spot.machine.as_deref().or(spot.node.as_deref()) {
        None => "the site",
        Some("supply") => "the supply",
        Some(name) => name,
    };
    let mut words = spot
        .phase
        .map_or_else(String::new, |phase| format!("{phase} at "));
    words.push_str(what);
    if let Some(meter) = &spot.meter {
        write!(words, " (meter {meter})").expect("a String takes any text");
    }
    words
}

/// With a capital and a full stop, and without the marks that show commands in a terminal.
pub(super) fn sentence(text: &str) -> String {
    let plain = text.replace('`', "");
    let mut letters = plain.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect::<String>() + "."
    })
}

fn title(diagnosis: &Diagnosis) -> String {
    let count = |severity: Severity| {
        diagnosis
            .findings
            .iter()
            .filter(|finding| !finding.accepted && finding.severity == severity)
            .count()
    };
    let words: Vec<String> = [
        (Severity::Danger, "danger", "dangers"),
        (Severity::Warning, "warning", "warnings"),
        (Severity::Notice, "notice", "notices"),
    ]
    .into_iter()
    .filter_map(|(severity, one, several)| match count(severity) {
        0 => None,
        1 => Some(format!("1 {one}")),
        many => Some(format!("{many} {several}")),
    })
    .collect();
    if words.is_empty() {
        return format!(
            "No finding needs action, by the {} that the data make possible",
            diagnosis.checks_made()
        );
    }
    format!("{}, worst first", words.join(", "))
}

/// One line for each kind and reason, with the places.
fn not_judged(diagnosis: &Diagnosis) -> Vec<String> {
    let mut lines: Vec<(String, Vec<String>)> = Vec::new();
    for entry in &diagnosis.not_judged {
        let key = format!("{}: needs {}", entry.kind.title(), quoted(&entry.needs));
        match lines.iter_mut().find(|line| line.0 == key) {
            Some(line) => line.1.push(place(&entry.spot)),
            None => lines.push((key, vec![place(&entry.spot)])),
        }
    }
    lines
        .into_iter()
        .map(|(key, places)| format!("{key} ({})", places.join("; ")))
        .collect()
}

fn nothing_found(diagnosis: &Diagnosis) -> String {
    let mut kinds: Vec<&str> = diagnosis
        .nothing_found
        .iter()
        .filter(|entry| !diagnosis.findings.iter().any(|f| f.kind == entry.kind))
        .map(|entry| entry.kind.title())
        .collect();
    kinds.dedup();
    kinds.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use finding::{Evidence, Kind};

    fn finding(severity: Severity, accepted: bool) -> Finding {
        Finding {
            kind: Kind::PhaseOverload,
            severity,
            spot: Spot::default(),
            from: chrono::DateTime::UNIX_EPOCH,
            to: chrono::DateTime::UNIX_EPOCH,
            summary: "a <phase> is `hot`".to_owned(),
            evidence: Evidence::default()
                .with("highest_a", 126.49)
                .with("note", "fuse on order"),
            accepted,
            action: "look".to_owned(),
            caution: "care".to_owned(),
            source: "source".to_owned(),
        }
    }

    #[test]
    fn accepted_findings_are_separate_and_not_counted() {
        let diagnosis = Diagnosis {
            findings: vec![
                finding(Severity::Danger, false),
                finding(Severity::Notice, false),
                finding(Severity::Danger, true),
            ],
            ..Diagnosis::default()
        };
        let view = FindingsView::new(chrono_tz::UTC, &diagnosis).expect("a view");
        assert_eq!(view.title, "1 danger, 1 notice, worst first");
        assert_eq!((view.open.len(), view.accepted.len()), (2, 1));
        assert_eq!(view.accepted[0].note, "fuse on order");
        assert_eq!(view.open[0].summary, "A <phase> is hot.");
        let highest = ("highest".to_owned(), vec!["126\u{A0}A".to_owned()]);
        assert_eq!(view.open[0].evidence, [highest]);
    }

    #[test]
    fn the_worst_six_are_open_and_the_others_are_folded() {
        let diagnosis = Diagnosis {
            findings: (0..9).map(|_| finding(Severity::Notice, false)).collect(),
            ..Diagnosis::default()
        };
        let view = FindingsView::new(chrono_tz::UTC, &diagnosis).expect("a view");
        assert_eq!((view.open.len(), view.more.len()), (6, 3));
    }
}
