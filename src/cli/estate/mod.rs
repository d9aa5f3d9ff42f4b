//! `tapoff estate`: all sites below a folder.
//!
//! In: its [`EstateArguments`]. Out: a folder with a page, tables and a result for each site. A site is analysed by a
//! process of its own; who starts those is an engine: this machine ([`pool`]) or a cluster ([`spark`]).

mod finish;
mod one_site;
mod pool;
mod settings;
mod spark;
mod supervise;
mod workers;

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use clap::Args;

use self::settings::SiteSettings;
use super::output::{deliver_text, make_folder};
use super::{CommandError, Outcome};
use crate::app::Console;
use crate::estate::{COLUMNS, ESTATE_TOML, QUERIES, estate_sites, part_file};
use message::did_you_mean;
use site::{EstateSite, read_estate_file};

const EXAMPLES: &str = "\
EXAMPLES
  tapoff estate sample-data -o estate
  tapoff estate sample-data -o estate --reports --jobs 2 --memory-mb 4000
  tapoff estate sample-data --list
  tapoff estate sample-data --sql coincident-maximum
  tapoff estate sample-data --columns

EXIT STATUS
  0  done, also where a site could not be analysed: its row says why
  2  could not be done; earlier results are whole";

/// Arguments of `tapoff estate`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is an option of the command line"
)]
pub(super) struct EstateArguments {
    /// Folder with the sites at any depth, or with `estate.toml`, which lists them
    #[arg(value_name = "FOLDER")]
    pub(super) folder: PathBuf,

    /// Folder to write to: `index.html`, `estate.json`, `estate.xlsx` and `tables`; what has not changed since the last
    /// run is not analysed again. With `--site`: the file to write to
    #[arg(
        short,
        long,
        value_name = "FOLDER",
        required_unless_present_any = ["sql", "list", "columns"],
        help_heading = "Output"
    )]
    pub(super) output: Option<PathBuf>,

    #[command(flatten)]
    settings: SiteSettings,

    /// Sites analysed at one time [default: one for each core]
    #[arg(long, value_name = "SITES", value_parser = clap::value_parser!(u64).range(1..=1024), help_heading = "Work")]
    pub(super) jobs: Option<u64>,

    /// Memory for all sites that are analysed at one time; a site that needs more alone is a row that says so
    /// [default: three quarters of what is free]
    #[arg(long, value_name = "MEGABYTES", value_parser = clap::value_parser!(u64).range(64..), help_heading = "Work")]
    pub(super) memory_mb: Option<u64>,

    /// Minutes after which the plan of a site is given up: its row then has all else
    #[arg(long, value_name = "MINUTES", default_value_t = 10, value_parser = clap::value_parser!(u64).range(1..=10_000), help_heading = "Work")]
    pub(super) site_minutes: u64,

    /// Analyse the sites on an Apache Spark cluster, such as `local[*]` or `spark://HOST:7077`. FOLDER and the output are
    /// folders that every worker sees under the same path; `PYSPARK_PYTHON` names a Python with pyspark and pyarrow
    #[arg(long, value_name = "MASTER", help_heading = "Work")]
    pub(super) spark: Option<String>,

    /// Also make the report of each site, to which the page then leads
    #[arg(long, help_heading = "Output")]
    pub(super) reports: bool,

    /// Write the large tables as CSV too: intervals and demand
    #[arg(long, help_heading = "Output")]
    pub(super) csv: bool,

    /// Write into a folder that holds other files than earlier results; none is removed
    #[arg(long, help_heading = "Output")]
    pub(super) force: bool,

    /// Show a query over the tables as SQL: coincident-demand, coincident-maximum, dangers, energy-by-month, bill-by-line,
    /// gain-by-moves, totals, data-quality
    #[arg(long, value_name = "NAME", value_parser = read_query, conflicts_with_all = ["site", "list", "spark"], help_heading = "Output")]
    sql: Option<&'static str>,

    /// Show each table with its columns: name, type and meaning
    #[arg(long, conflicts_with_all = ["site", "list", "spark", "sql"], help_heading = "Output")]
    columns: bool,

    /// List the sites as JSON, a line for each, and do nothing else
    #[arg(long, conflicts_with = "site", help_heading = "Output")]
    list: bool,

    /// Analyse this site alone, by its path below FOLDER, and write its rows into one file: what a worker of a cluster does
    #[arg(long, value_name = "PATH", conflicts_with_all = ["spark", "reports"], help_heading = "Work")]
    site: Option<String>,

    /// With `--site`: what `--list` shows of it, so that no list is read
    #[arg(long, value_name = "JSON", requires = "site", help_heading = "Work")]
    as_listed: Option<String>,

    /// With `--site`: without a plan, which took longer than this
    #[arg(long, value_name = "MINUTES", requires = "unguarded", hide = true)]
    no_plan_within: Option<u64>,

    /// With `--site`: in this process, without a guard against crashes and memory
    #[arg(long, requires = "site", hide = true)]
    unguarded: bool,
}

fn read_query(text: &str) -> Result<&'static str, String> {
    let found = QUERIES.iter().find(|query| query.name == text);
    found.map(|query| query.sql).ok_or_else(|| {
        let names = QUERIES.iter().map(|query| query.name);
        let near = did_you_mean(text, names.clone());
        let near = near.map_or_else(String::new, |near| format!("; {near}"));
        format!(
            "expected one of {}{near}",
            names.collect::<Vec<_>>().join(", ")
        )
    })
}

/// What the name of a folder says that it holds results of an estate.
const PARTS: &str = "parts";

pub(super) fn execute(
    arguments: &EstateArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    let folder = &arguments.folder;
    let shown = arguments.sql.or(arguments.columns.then_some(COLUMNS));
    if let Some(text) = shown {
        deliver_text(text, (Path::new("-"), false), console)?;
        return Ok(Outcome::default());
    }
    let out = arguments.output.as_deref().unwrap_or(Path::new("-"));
    if let Some(site) = &arguments.site {
        let entry = arguments.entry(site)?;
        if arguments.unguarded {
            one_site::write(arguments, &entry, out)?;
        } else {
            let guard = supervise::Guard::new(arguments);
            guard.analyse(folder, &entry, out)?;
        }
        return Ok(Outcome::default());
    }
    let sites = estate_sites(folder, out).map_err(CommandError::Input)?;
    if arguments.list {
        for site in &sites {
            writeln!(console.out, "{}", serde_json::to_string(site)?)?;
        }
        return Ok(Outcome::default());
    }
    if !arguments.force {
        refuse_other(out)?;
    }
    let parts = out.join(PARTS);
    make_folder(&parts)?;
    let tables = match &arguments.spark {
        Some(master) => spark::analyse(arguments, master, &sites, out)?,
        None => pool::analyse(arguments, &sites, out)?,
    };
    forget_others(&parts, &sites)?;
    let failed = finish::finish(arguments, &sites, out, &tables)?;
    if failed > 0 {
        writeln!(
            console.err,
            "{failed} of {} sites could not be analysed: `{}` says why",
            sites.len(),
            out.join("index.html").display()
        )?;
    }
    writeln!(console.out, "{}", out.join("index.html").display())?;
    Ok(Outcome::default())
}

impl EstateArguments {
    /// How many sites are worked on at one time.
    fn workers(&self) -> usize {
        let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        self.jobs.map_or(cores, |jobs| jobs as usize)
    }

    /// What is known of one site besides its own folder.
    fn entry(&self, site: &str) -> anyhow::Result<EstateSite> {
        if let Some(listed) = &self.as_listed {
            return serde_json::from_str(listed).context("`--as-listed` is no line of `--list`");
        }
        let listed = self.folder.join(ESTATE_TOML);
        let mut known = Vec::new();
        if listed.is_file() {
            let text = fs::read_to_string(&listed)?;
            known = read_estate_file(ESTATE_TOML, &text).map_err(CommandError::Input)?;
        }
        let found = known.into_iter().find(|known| known.path == site);
        let mut entry = found.unwrap_or_else(|| EstateSite {
            path: site.to_owned(),
            ..EstateSite::default()
        });
        entry.name_group();
        Ok(entry)
    }
}

/// Refuses a folder with files in it that no estate was written to.
fn refuse_other(out: &Path) -> anyhow::Result<()> {
    let is_empty = fs::read_dir(out).map_or(true, |mut entries| entries.next().is_none());
    if !is_empty && !out.join(PARTS).is_dir() {
        bail!(
            "the folder `{}` holds files and no results of an estate: give another name, or `--force` to write into it",
            out.display()
        );
    }
    Ok(())
}

/// Removes results of sites that are no longer there, and what was left when a run was ended.
fn forget_others(parts: &Path, sites: &[EstateSite]) -> anyhow::Result<()> {
    let known: std::collections::BTreeSet<PathBuf> = sites
        .iter()
        .map(|site| part_file(parts, &site.path))
        .collect();
    for entry in fs::read_dir(parts)? {
        let path = entry?.path();
        let is_ours = path
            .extension()
            .is_some_and(|kind| kind == "zip" || kind == "tmp" || kind == "log");
        if is_ours && !known.contains(&path) {
            fs::remove_file(&path)
                .with_context(|| format!("cannot remove `{}`", path.display()))?;
        }
    }
    Ok(())
}
