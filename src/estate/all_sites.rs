//! Tables over all sites, made from those of the estate: dangers, and problems by kind.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use serde::Deserialize;

use crate::ranked_tables::{energy_table, failed_table, safety_table};
use crate::site_row::{SiteRow, sites_table};
use tables::{Table, columns, exact, words};

/// A finding as the tables have it.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
pub struct FindingRow {
    /// The site.
    pub site: String,
    /// Title of its kind.
    pub title: String,
    /// `danger`, `warning` or `notice`.
    pub severity: String,
    /// Place.
    pub node: Option<String>,
    /// Phase.
    pub phase: Option<String>,
    /// Was it accepted?
    pub accepted: bool,
    /// What is wrong.
    pub summary: String,
    /// What to do.
    pub action: String,
}

impl FindingRow {
    /// Is it a danger that is not accepted?
    #[must_use]
    pub fn is_danger(&self) -> bool {
        self.severity == "danger" && !self.accepted
    }
}

/// The dangers that are not accepted, in the order of the sites.
pub(crate) fn dangers_table(sites: &[SiteRow], findings: &[FindingRow]) -> Table {
    let places: BTreeMap<&str, usize> = (sites.iter().enumerate())
        .map(|(place, row)| (row.site.as_str(), place))
        .collect();
    let mut dangers: Vec<&FindingRow> = findings
        .iter()
        .filter(|finding| finding.is_danger())
        .collect();
    dangers.sort_by_key(|danger| places.get(danger.site.as_str()));
    let place = |finding: &FindingRow| {
        let parts = [&finding.node, &finding.phase].into_iter().flatten();
        parts.cloned().collect::<Vec<_>>().join(", ")
    };
    columns! { finding in &FindingRow;
        site: words("Site") => &finding.site;
        title: words("Danger") => &finding.title;
        place: words("Place") => place(finding);
        summary: words("What is wrong").sentences() => &finding.summary;
        action: words("What to do").sentences() => &finding.action;
    }
    .table("dangers", "Dangers", dangers)
}

/// For the page: the first rows, and the others folded behind their number.
pub(crate) fn first_rows_html(mut table: Table, first: usize) -> String {
    let mut rest = table.clone();
    rest.rows = table.rows.split_off(first.min(table.rows.len()));
    rest.title = format!("The other {}", rest.rows.len());
    table.html() + &rest.folded_html()
}

/// Problems in the data by kind, from rows of level, kind and site.
#[must_use]
pub fn problems_by_kind(rows: &[ProblemRow]) -> Table {
    let mut kinds: BTreeMap<(&str, &str), (BTreeSet<&str>, f64)> = BTreeMap::new();
    for row in rows {
        let kind = kinds.entry((&row.kind, &row.level)).or_default();
        kind.0.insert(&row.site);
        kind.1 += row.count.unwrap_or(1.0);
    }
    let mut kinds: Vec<(&str, &str, usize, f64)> = kinds
        .into_iter()
        .map(|((kind, level), (sites, count))| (kind, level, sites.len(), count))
        .collect();
    kinds.sort_by_key(|&(kind, level, sites, _)| (Reverse(sites), kind, level));
    columns! { (kind, level, sites, count) in (&str, &str, usize, f64);
        kind: words("Problem") => kind;
        level: words("Level") => level;
        sites: exact("Sites", "") => sites;
        count: exact("Count", "") => count;
    }
    .table(
        "problems-by-kind",
        "Problems found in the data, by kind",
        kinds,
    )
}

/// A problem as the tables have it.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
pub struct ProblemRow {
    /// The site.
    pub site: String,
    /// `error` or `warning`.
    pub level: String,
    /// Kind.
    pub kind: String,
    /// How often.
    pub count: Option<f64>,
}

/// Tables of the workbook; the sites are in the order in which they need attention.
#[must_use]
pub fn workbook_tables(sites: &[SiteRow], findings: &[FindingRow], problems: Table) -> Vec<Table> {
    vec![
        safety_table(sites),
        energy_table(sites),
        dangers_table(sites, findings),
        failed_table(sites),
        problems,
        sites_table(sites),
    ]
}
