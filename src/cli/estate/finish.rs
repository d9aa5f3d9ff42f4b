//! From the tables to the page, the workbook, estate.json and the CSV files, whichever engine wrote the tables.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};

use anyhow::{Context, bail};
use chrono::{DateTime, Utc};
use serde::Deserialize;

use super::workers::in_parallel;
use super::{EstateArguments, PARTS};
use crate::cli::output::write_whole;
use crate::estate::{
    CoincidentPeriod, EstateResult, EstateTotals, FindingRow, PageInput, ProblemRow, SitePart,
    SiteRow, SiteStatus, csv_of, maximum, page, part_file, peers, problems_by_kind, rank,
    read_table, short_name, site_path, workbook_tables,
};
use site::EstateSite;

/// A row of the table `coincident`.
#[derive(Debug, Deserialize)]
struct PeriodRow {
    start: String,
    kw: f64,
    high_kw: f64,
    sites: f64,
}

/// Tables with a row for each site, meter, line or finding; those of readings are written as CSV only where asked for.
const SMALL: [&str; 7] = [
    "sites",
    "meters",
    "bills",
    "findings",
    "moves",
    "problems",
    "coincident",
];
const LARGE: [&str; 2] = ["intervals", "demand"];

/// Writes everything that is made from the tables; the number of sites that could not be analysed.
pub(super) fn finish(
    arguments: &EstateArguments,
    sites: &[EstateSite],
    out: &Path,
    tables: &Path,
) -> anyhow::Result<usize> {
    let rows: Vec<SiteRow> = read_table(tables, "sites")?;
    if rows.len() != sites.len() {
        bail!(
            "the tables have {} of {} sites: run it again",
            rows.len(),
            sites.len()
        );
    }
    if arguments.reports {
        write_reports(arguments, &rows, out)?;
    }
    let periods: Vec<PeriodRow> = read_table(tables, "coincident")?;
    let periods = periods.into_iter().map(|row| {
        Ok(CoincidentPeriod {
            start_s: row.start.parse::<DateTime<Utc>>()?.timestamp(),
            kw: row.kw,
            high_kw: row.high_kw,
            sites: row.sites as usize,
        })
    });
    let periods: Vec<CoincidentPeriod> = periods.collect::<anyhow::Result<_>>()?;
    let findings: Vec<FindingRow> = read_table(tables, "findings")?;
    let problems: Vec<ProblemRow> = read_table(tables, "problems")?;
    let problems = problems_by_kind(&problems);
    let mut result = EstateResult {
        totals: EstateTotals::of(&rows),
        coincident_demand: maximum(&periods, &rows),
        peers: peers(&rows),
        sites: rows,
    };
    let failed = result.totals.failed;
    let json = export::json(&result)?;
    rank(&mut result.sites);
    let name = estate_name(&arguments.folder);
    let reported: Vec<String> = sites
        .iter()
        .map(|site| site.path.clone())
        .filter(|site| report_folder(out, site).join("index.html").is_file())
        .collect();
    let input = PageInput {
        name: &name,
        result: &result,
        findings: &findings,
        problems: &problems,
        reported: &reported,
    };
    let book = tables::workbook(
        &workbook_tables(&result.sites, &findings, problems.clone()),
        &name,
        &[],
    )?;
    write_whole(&out.join("estate.json"), json.as_bytes())?;
    write_whole(&out.join("estate.xlsx"), &book)?;
    let large: &[&str] = if arguments.csv { &LARGE } else { &[] };
    for table in SMALL.iter().chain(large) {
        let file = tables.join(format!("{table}.csv"));
        csv_of(tables, table, &file)?;
    }
    write_whole(&out.join("index.html"), page(&input)?.as_bytes())?;
    Ok(failed)
}

/// The last part of the folder's path.
fn estate_name(folder: &Path) -> String {
    let real = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    real.file_name().map_or_else(
        || "Estate".to_owned(),
        |name| name.to_string_lossy().into_owned(),
    )
}

fn report_folder(out: &Path, site: &str) -> std::path::PathBuf {
    out.join("reports").join(short_name(site))
}

/// From which result of the site its report was made.
const MADE_FROM: &str = "made-from.txt";

/// The report of each site whose result has changed, each by a process of its own; one that fails leaves its site
/// without a link.
fn write_reports(arguments: &EstateArguments, rows: &[SiteRow], out: &Path) -> anyhow::Result<()> {
    fs::create_dir_all(out.join("reports"))?;
    let sites: Vec<&str> = rows
        .iter()
        .filter(|row| row.status == SiteStatus::Ok)
        .map(|row| row.site.as_str())
        .collect();
    let next = AtomicUsize::new(0);
    let work = || -> anyhow::Result<()> {
        while let Some(site) = sites.get(next.fetch_add(1, Ordering::Relaxed)) {
            write_report(arguments, site, out)?;
        }
        Ok(())
    };
    in_parallel(arguments.workers(), work)
}

fn write_report(arguments: &EstateArguments, site: &str, out: &Path) -> anyhow::Result<()> {
    let made_from = SitePart::open(&part_file(&out.join(PARTS), site))?.made_from();
    let folder = report_folder(out, site);
    let is_same = fs::read_to_string(folder.join(MADE_FROM)).is_ok_and(|known| known == made_from);
    if is_same {
        return Ok(());
    }
    let entry = EstateSite {
        path: site.to_owned(),
        ..EstateSite::default()
    };
    let program = std::env::current_exe().context("this program cannot start itself")?;
    let status = Command::new(program)
        .arg("report")
        .args(arguments.settings.period_words())
        .arg("-o")
        .arg(&folder)
        .arg("--")
        .arg(site_path(&arguments.folder, &entry))
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()?;
    if status.success() {
        write_whole(&folder.join(MADE_FROM), made_from.as_bytes())?;
    }
    Ok(())
}
