//! The rows of a site in each table of the estate, from the results of its analysis.
//!
//! In: the site, its results, its messages. Out: [`SiteTables`], each table with the site in its first column. Their
//! columns are declared here once; files of all sites fit together since every column has its type, whatever its rows hold.

mod bills;
mod findings;
mod intervals;
mod meters;
mod moves;
mod problems;
mod site_figures;

use std::collections::BTreeMap;

use balance::BalanceResult;
use chrono::{DateTime, FixedOffset, TimeZone, Utc};
use demand::EnergyResult;
use diagnosis::Diagnosis;
use message::Messages;
use site::{EstateSite, Site};
use tables::{Cell, Column, StoredAs, Table, words};

use crate::site_row::{SiteRow, sites_table};

/// A month that a table is divided by: `2026-03`; empty where it is not divided.
pub type Month = String;

/// Names of the tables; those of readings and bills are divided by month.
pub const TABLES: [&str; 8] = [
    "sites",
    "meters",
    "intervals",
    "demand",
    "bills",
    "findings",
    "moves",
    "problems",
];

/// Each table with its columns: name, type and meaning.
pub const COLUMNS: &str = include_str!("../columns.txt");

/// The rows of one site, by table and month.
#[derive(Clone, Debug, Default)]
pub struct SiteTables(pub BTreeMap<(&'static str, Month), Table>);

/// What is known of a site when it is analysed.
#[derive(Clone, Copy, Debug)]
pub struct Analysed<'a> {
    /// The site as it is listed.
    pub entry: &'a EstateSite,
    /// The site as declared.
    pub site: &'a Site,
    /// Energy, demand and bill.
    pub energy: &'a EnergyResult,
    /// Findings; `None` where the supply is not declared.
    pub diagnosis: Option<&'a Diagnosis>,
    /// The plan, where there is anything to allocate.
    pub plan: Option<&'a BalanceResult>,
    /// What was said while the site was read.
    pub messages: &'a Messages,
}

impl SiteTables {
    /// All rows of a site.
    #[must_use]
    pub fn of(found: &Analysed<'_>) -> SiteTables {
        let problems = problems::problems(found);
        let row = SiteRow {
            problems: Some(problems.rows.len() as f64),
            ..site_figures::site_row(found)
        };
        let mut all = SiteTables::default();
        all.put("sites", sites_table(&[row]));
        let path = found.entry.path.as_str();
        all.put("meters", meters::meters(found).of_site(path));
        all.by_month(
            "intervals",
            intervals::intervals(found).of_site(path),
            "start",
        );
        all.by_month("demand", intervals::demand(found).of_site(path), "start");
        all.by_month("bills", bills::bills(found).of_site(path), "period_from");
        all.put("findings", findings::findings(found).of_site(path));
        all.put("moves", moves::moves(found).of_site(path));
        all.put("problems", problems.of_site(path));
        all
    }

    /// The rows of a site that could not be analysed: why, and each message with its place.
    #[must_use]
    pub fn failed(entry: &EstateSite, why: &str, messages: &Messages) -> SiteTables {
        let problems = problems::messages_alone(messages);
        let row = SiteRow {
            problems: Some(problems.rows.len() as f64),
            ..SiteRow::failed(entry, why)
        };
        let mut all = SiteTables::default();
        all.put("sites", sites_table(&[row]));
        all.put("problems", problems.of_site(&entry.path));
        all
    }

    fn put(&mut self, name: &'static str, table: Table) {
        if !table.rows.is_empty() {
            self.0.insert((name, String::new()), table);
        }
    }

    /// Divided by the month of a column: of a moment, that of UTC.
    fn by_month(&mut self, name: &'static str, table: Table, key: &str) {
        let Some(place) = table.position(key) else {
            return;
        };
        let empty = Table {
            rows: Vec::new(),
            ..table.clone()
        };
        for row in table.rows {
            let month = match &row[place] {
                Cell::Instant(at) => at.to_utc().format("%Y-%m").to_string(),
                Cell::Date(date) => date.format("%Y-%m").to_string(),
                _ => continue,
            };
            let part = self.0.entry((name, month)).or_insert_with(|| empty.clone());
            part.rows.push(row);
        }
    }
}

/// A column of moments.
fn moments(head: &'static str) -> Column {
    words(head).stored_as(StoredAs::Moment)
}

/// A column of yes and no.
fn flags(head: &'static str) -> Column {
    words(head).stored_as(StoredAs::YesNo)
}

/// A moment as programs read it: in UTC.
fn utc(at: DateTime<Utc>) -> Cell {
    Cell::instant(at, &Utc)
}

fn utc_of(at: DateTime<FixedOffset>) -> Cell {
    utc(at.to_utc())
}

fn utc_s(at_s: i64) -> Cell {
    Utc.timestamp_opt(at_s, 0)
        .single()
        .map_or(Cell::Unknown, utc)
}
