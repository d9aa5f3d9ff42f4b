//! Findings that the user has accepted: `[[known]]` in site.toml.

use chrono::NaiveDate;

use super::read::read_date;
use super::table::Table;
use crate::electrical::Phase;
use crate::finding::{Kind, Severity};
use crate::message::{Message, did_you_mean};

/// An accepted finding; what it leaves out fits everything.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// The kind of finding.
    pub kind: Kind,
    /// Node, machine or meter.
    pub at: Option<String>,
    /// The phase.
    pub phase: Option<Phase>,
    /// Last day of readings for which it is accepted.
    pub until: Option<NaiveDate>,
    /// The worst severity that is accepted; a warning unless said otherwise, so that danger is never
    /// accepted in passing.
    pub severity: Severity,
    /// A figure of the evidence, and the value from which the finding has grown too far.
    pub below: Option<(String, f64)>,
    /// Why it is accepted.
    pub note: Option<String>,
}

pub(super) fn read(root: &Table<'_, '_>) -> Vec<Known> {
    root.tables("known")
        .iter()
        .filter_map(|table| {
            let known = read_one(table);
            table.finish();
            known
        })
        .collect()
}

fn read_one(table: &Table<'_, '_>) -> Option<Known> {
    let name = table.required_text("kind", "unbalanced-load");
    let kind = name.and_then(|name| {
        let kind = Kind::from_name(&name.value);
        if kind.is_none() {
            let names = Kind::ALL.map(Kind::name);
            table.source.push(
                Message::error(
                    "unknown-kind",
                    format!("there is no kind of finding `{}`", name.value),
                )
                .at(
                    table.source.place(&name.span),
                    "expected a name that `tapoff explain` lists",
                )
                .maybe_help(did_you_mean(&name.value, names)),
            );
        }
        kind
    });
    let at = table.text("at").map(|text| text.value);
    let phase = table.word("phase", &Phase::ALL.map(|phase| (phase.name(), phase)));
    let until = table
        .text("until")
        .and_then(|date| read_date(table.source, &date));
    let severities = [Severity::Danger, Severity::Warning, Severity::Notice];
    let severity = table.word("severity", &severities.map(|one| (one.name(), one)));
    let figure = table.text("figure").map(|text| text.value);
    let below = table.number("below", -1e9..=1e9, "");
    let note = table.text("note").map(|text| text.value);
    Some(Known {
        kind: kind?,
        at,
        phase,
        until,
        severity: severity.unwrap_or(Severity::Warning),
        below: figure.zip(below),
        note,
    })
}
