//! The estate's page: one self-contained HTML file.

use askama::Template;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, Utc};
use sha2::{Digest, Sha256};

use crate::all_sites::{FindingRow, dangers_table, first_rows_html};
use crate::part::short_name;
use crate::peers::{PeerGroup, PeerUse};
use crate::ranked_tables::{energy_table, failed_table, safety_table};
use crate::totals::{EstateResult, KnownSum};
use chart::style;
use tables::{Cell, Output, Table, columns, exact, fixed, marked, number, plain, words};
use units::{FigureKind as Q, UNKNOWN, format_number, format_with_unit};

/// The page's only script.
const SCRIPT: &str = include_str!("estate.js");

/// What the page shows.
#[derive(Clone, Copy, Debug)]
pub struct PageInput<'a> {
    /// Name of the estate.
    pub name: &'a str,
    /// The result, its sites in the order in which they need attention.
    pub result: &'a EstateResult,
    /// All findings.
    pub findings: &'a [FindingRow],
    /// Problems in the data, by kind.
    pub problems: &'a Table,
    /// Sites of which a report was made.
    pub reported: &'a [String],
}

#[derive(Debug, Template)]
#[template(path = "estate.html", config = "askama.toml")]
struct EstatePage {
    style: String,
    script: &'static str,
    script_hash: String,
    name: String,
    covered: String,
    headline: String,
    is_over: bool,
    sums: Vec<SumView>,
    dangers: String,
    danger_statement: String,
    site_count: usize,
    ranked: Vec<RankedView>,
    peers: Vec<PeerView>,
    peer_statement: String,
    coincident: Vec<String>,
    failed: String,
    problems: String,
}

/// A figure of the head.
#[derive(Debug)]
struct SumView {
    value: String,
    words: String,
}

/// A ranked table; the first cell of a row may lead to the site's report.
#[derive(Debug)]
struct RankedView {
    title: String,
    heads: Vec<(String, bool)>,
    rows: Vec<RankedRow>,
}

/// A row: the way to the site's report, empty where none was made; its name; cells, with whether they are numbers.
type RankedRow = (String, String, Vec<(String, bool)>);

#[derive(Debug)]
struct PeerView {
    statement: String,
    outliers: String,
    all: String,
}

/// The page.
///
/// # Errors
///
/// If the template fails, which does not depend on the data.
pub fn page(input: &PageInput<'_>) -> Result<String, askama::Error> {
    let result = input.result;
    let sites = &result.sites;
    let dangers = input.findings.iter().filter(|finding| finding.is_danger());
    let dangers = dangers.count();
    let with_dangers = sites.iter().filter(|row| row.dangers > Some(0.0)).count();
    let over = sites
        .iter()
        .filter(|row| row.overloaded_phases > Some(0.0))
        .count();
    let page = EstatePage {
        style: format!(
            "{}{}{}",
            style::css(),
            report::STYLE,
            include_str!("estate.css")
        ),
        script: SCRIPT,
        script_hash: format!("sha256-{}", STANDARD.encode(Sha256::digest(SCRIPT))),
        name: plain(input.name),
        covered: covered(result),
        headline: headline(with_dangers, over, sites.len()),
        is_over: with_dangers + over > 0,
        sums: sums(result),
        danger_statement: match dangers {
            0 => "No dangers that are not accepted.".to_owned(),
            count => format!(
                "{} at {} of {}.",
                counted(count, "danger"),
                counted(with_dangers, "site"),
                sites.len()
            ),
        },
        dangers: first_rows_html(dangers_table(sites, input.findings), 25),
        site_count: sites.len(),
        ranked: [safety_table(sites), energy_table(sites)]
            .iter()
            .map(|table| ranked(table, input.reported))
            .collect(),
        peer_statement: peer_statement(&result.peers),
        peers: result.peers.iter().map(peer_view).collect(),
        coincident: coincident(result),
        failed: failed_table(sites).html(),
        problems: input.problems.html(),
    };
    Ok(marked(&page.render()?))
}

fn counted(count: usize, word: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count}\u{a0}{word}{plural}")
}

fn headline(dangers: usize, over: usize, sites: usize) -> String {
    let danger = match dangers {
        0 => format!("No dangers at {}", counted(sites, "site")),
        1 => "1\u{a0}site has a danger".to_owned(),
        count => format!("{count}\u{a0}sites have dangers"),
    };
    let overload = match over {
        0 => "no supply is over its limit".to_owned(),
        1 => "1 supply is over its limit on a phase".to_owned(),
        count => format!("{count} supplies are over their limit on a phase"),
    };
    format!("{danger}; {overload}.")
}

fn covered(result: &EstateResult) -> String {
    let totals = &result.totals;
    let read = |text: &Option<String>| {
        let at = DateTime::parse_from_rfc3339(text.as_deref()?).ok()?;
        Some(at.with_timezone(&Utc))
    };
    let period = match (read(&totals.from), read(&totals.to)) {
        (Some(from), Some(to)) => format!(", {} (UTC)", units::format_period(from, to, &Utc)),
        _ => String::new(),
    };
    let failed = match totals.failed {
        0 => String::new(),
        count => format!(", {count} could not be analysed"),
    };
    format!("{}{failed}{period}", counted(result.sites.len(), "site"))
}

fn sums(result: &EstateResult) -> Vec<SumView> {
    let totals = &result.totals;
    let all = totals.analysed;
    let of = |sum: &KnownSum| {
        if sum.sites == all {
            String::new()
        } else {
            format!(", of {} of {all}", counted(sum.sites, "site"))
        }
    };
    let mut sums = Vec::new();
    let mut put = |value: String, words: String| sums.push(SumView { value, words });
    let energy = &totals.energy_import_kwh;
    put(
        energy
            .sum
            .map_or_else(|| UNKNOWN.to_owned(), |kwh| Q::ActiveEnergy.text(kwh)),
        format!("Energy imported{}", of(energy)),
    );
    for (currency, cost) in &totals.cost {
        let amount = cost
            .sum
            .map_or_else(|| UNKNOWN.to_owned(), |amount| format_number(amount, 2));
        put(
            format!("{amount}\u{a0}{}", plain(currency)),
            format!(
                "Cost of the logged periods, {} with a tariff in this currency",
                counted(cost.sites, "site")
            ),
        );
    }
    if let Some(found) = &result.coincident_demand {
        let value = if units::rank(found.kw) >= units::rank(found.high_kw) {
            Q::ActivePower.text(found.kw)
        } else {
            format!(
                "{} to {}",
                format_number(found.kw, 2),
                Q::ActivePower.text(found.high_kw)
            )
        };
        put(value, "Coincident maximum demand of all sites".to_owned());
    }
    if totals.carbon_kg.sites > 0 {
        put(
            totals
                .carbon_kg
                .sum
                .map_or_else(String::new, |kg| Q::Carbon.text(kg)),
            format!(
                "Carbon emissions by the sites' own factors{}",
                of(&totals.carbon_kg)
            ),
        );
    }
    sums
}

fn coincident(result: &EstateResult) -> Vec<String> {
    let Some(found) = &result.coincident_demand else {
        return vec!["No site has a complete demand period.".to_owned()];
    };
    let at = DateTime::parse_from_rfc3339(&found.at)
        .map_or_else(|_| found.at.clone(), |at| units::format_moment(at.to_utc()));
    let mut said = vec![format!(
        "Highest sum measured: {} in the {} min from {at} UTC, of {} of {} with a maximum demand.",
        Q::ActivePower.text(found.kw),
        found.period_min,
        found.sites,
        counted(found.of_sites, "site"),
    )];
    if units::rank(found.kw) < units::rank(found.high_kw) {
        said.push(format!(
            "Not all sites have readings at all times: the maximum is at most {}, where no site drew more than its own \
             maximum while it has no readings.",
            Q::ActivePower.text(found.high_kw)
        ));
    }
    said.push(format!(
        "The sites' own maxima add up to {}: coincidence factor {}.",
        Q::ActivePower.text(found.sum_of_maxima_kw),
        range(
            found.kw / found.sum_of_maxima_kw,
            found.high_kw / found.sum_of_maxima_kw
        )
    ));
    let without = result.totals.analysed.saturating_sub(found.of_sites) + result.totals.failed;
    if without > 0 {
        said.push(format!(
            "{} without a maximum demand are not included.",
            counted(without, "site")
        ));
    }
    said
}

fn range(low: f64, high: f64) -> String {
    let (low, high) = (format_number(low, 2), format_number(high, 2));
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

fn ranked(table: &Table, reported: &[String]) -> RankedView {
    let shown = table.shown(Output::Html);
    let is_number: Vec<bool> = shown
        .columns
        .iter()
        .map(|column| column.is_number())
        .collect();
    let heads = shown.columns.iter().zip(&is_number);
    let rows = table.rows.iter().zip(&shown.rows).map(|(row, cells)| {
        let link = match &row[0] {
            Cell::Text(site) if reported.binary_search(site).is_ok() => {
                format!("reports/{}/index.html", short_name(site))
            }
            _ => String::new(),
        };
        let cells: Vec<(String, bool)> = cells
            .iter()
            .cloned()
            .zip(is_number.iter().copied())
            .collect();
        (link, cells[0].0.clone(), cells[1..].to_vec())
    });
    RankedView {
        title: table.title.clone(),
        heads: heads
            .map(|(column, is_number)| (column.heading(), *is_number))
            .collect(),
        rows: rows.collect(),
    }
}

fn peer_statement(groups: &[PeerGroup]) -> String {
    if groups.is_empty() {
        return "No group has five sites with a floor area or an output and a whole week of readings: give them in \
                `estate.toml`."
            .replace('`', "");
    }
    let outliers: usize = groups
        .iter()
        .map(|group| group.uses.iter().filter(|one| one.is_outlier).count())
        .sum();
    match outliers {
        0 => "No site uses far more or less than its group.".to_owned(),
        1 => "1 site uses far more or less than its group.".to_owned(),
        count => format!("{count} sites use far more or less than their group."),
    }
}

fn peer_view(group: &PeerGroup) -> PeerView {
    let unit = if group.per == "m²" {
        "kWh/m² a day".to_owned()
    } else {
        format!("kWh/{}", plain(&group.per))
    };
    let mut sorted: Vec<&PeerUse> = group.uses.iter().collect();
    sorted.sort_by(|a, b| b.normalised.total_cmp(&a.normalised));
    let outliers: Vec<&PeerUse> = sorted
        .iter()
        .copied()
        .filter(|one| one.is_outlier)
        .collect();
    let name = plain(&group.group);
    let columns = |rows: &[&PeerUse], title: String, is_long: bool| {
        let table = columns! { one in &PeerUse;
            site: words("Site") => &one.site;
            normalised: fixed("Use", unit.clone(), 3) => one.normalised;
            low: fixed("95 % range, from", unit.clone(), 3).optional() => one.low;
            high: fixed("to", unit.clone(), 3).optional() => one.high;
            of_median_pct: number("Of the median", Q::Percent) => 100.0 * one.normalised / group.median_use;
            score: exact("Deviation, robust scales", "") => one.score.map(|score| (10.0 * score).round() / 10.0);
            differs: words("Differs in").optional() => one.differs.join("; ");
        }
        .table("peers", title, rows.iter().copied());
        if is_long {
            table.folded_html()
        } else {
            table.html()
        }
    };
    PeerView {
        statement: format!(
            "{name}: {}, median {}.",
            counted(group.sites, "site"),
            format_with_unit(group.median_use, 3, &unit)
        ),
        outliers: columns(&outliers, format!("Outliers in {name}"), false),
        all: columns(&sorted, format!("All sites of {name}"), true),
    }
}
