//! The sites on this machine: several at one time, within a bound of memory.

use std::collections::VecDeque;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Condvar, Mutex, PoisonError};

use anyhow::Context;
use indicatif::{ProgressBar, ProgressStyle};

use super::supervise::Guard;
use super::workers::in_parallel;
use super::{EstateArguments, PARTS};
use crate::cli::output::write_whole;
use crate::estate::{
    Inputs, SitePart, SiteRow, coincident, coincident_table, merge, part_file, read_table,
    site_path, table_folder,
};
use site::EstateSite;

/// What a site takes at least, and for each byte of its files: a year of minutes of thirty meters (457 MB) takes 1.8 GB. (MB,
/// bytes)
const LEAST_MB: u64 = 80;
const BYTES_PER_BYTE: u64 = 5;

/// Says from which results the tables were made.
const MADE_FROM: &str = "made-from.txt";

/// Sites that wait, and the memory that those are expected to take which run.
struct WaitingSites {
    sites: VecDeque<(EstateSite, u64)>,
    expected_mb: u64,
    running: usize,
}

/// Analyses the sites whose inputs have changed and puts the tables together; their folder.
pub(super) fn analyse(
    arguments: &EstateArguments,
    sites: &[EstateSite],
    out: &Path,
) -> anyhow::Result<PathBuf> {
    let parts = out.join(PARTS);
    let guard = Guard::new(arguments);
    let with_size = |site: &EstateSite| {
        let size = Inputs::of(&arguments.folder, &site_path(&arguments.folder, site));
        let size = size.map_or(0, |inputs| inputs.size);
        (site.clone(), LEAST_MB + size * BYTES_PER_BYTE / 1_000_000)
    };
    let waiting = Mutex::new(WaitingSites {
        sites: sites.iter().map(with_size).collect(),
        expected_mb: 0,
        running: 0,
    });
    let freed = Condvar::new();
    let bar = ProgressBar::new(sites.len() as u64);
    if let Ok(style) = ProgressStyle::with_template("sites {bar:30} {pos} of {len}, {eta} left") {
        bar.set_style(style);
    }
    let work = || -> anyhow::Result<()> {
        while let Some((site, expected_mb)) = next(&waiting, &freed, guard.memory_mb) {
            let done = guard.analyse(&arguments.folder, &site, &part_file(&parts, &site.path));
            let mut state = waiting.lock().unwrap_or_else(PoisonError::into_inner);
            state.expected_mb -= expected_mb;
            state.running -= 1;
            match done {
                Ok(true) => bar.inc(1),
                // Once more, when it can have all of the memory.
                Ok(false) => state
                    .sites
                    .push_back((site, guard.memory_mb.unwrap_or(expected_mb))),
                Err(error) => {
                    state.sites.clear();
                    freed.notify_all();
                    return Err(error);
                }
            }
            freed.notify_all();
        }
        Ok(())
    };
    in_parallel(arguments.workers().min(sites.len()), work)?;
    bar.finish_and_clear();
    put_together(sites, out)
}

/// The next site that fits into the memory, waiting for others to end; `None` when all are done.
fn next(
    waiting: &Mutex<WaitingSites>,
    freed: &Condvar,
    most_mb: Option<u64>,
) -> Option<(EstateSite, u64)> {
    let mut state = waiting.lock().unwrap_or_else(PoisonError::into_inner);
    loop {
        if state.sites.is_empty() && state.running == 0 {
            return None;
        }
        let left_mb = most_mb.map_or(u64::MAX, |most| most.saturating_sub(state.expected_mb));
        let alone = state.running == 0;
        let fits = |(_, expected): &(EstateSite, u64)| alone || *expected <= left_mb;
        if let Some(at) = state.sites.iter().position(fits) {
            let found = state.sites.remove(at)?;
            state.expected_mb += found.1;
            state.running += 1;
            return Some(found);
        }
        state = freed.wait(state).unwrap_or_else(PoisonError::into_inner);
    }
}

/// The tables of all sites, made anew where a result has changed.
fn put_together(sites: &[EstateSite], out: &Path) -> anyhow::Result<PathBuf> {
    let (parts, tables) = (out.join(PARTS), out.join("tables"));
    let mut made_from = String::new();
    for site in sites {
        let mut part = SitePart::open(&part_file(&parts, &site.path))
            .with_context(|| format!("cannot read the result of `{}`", site.path))?;
        let checksums: Vec<String> = part
            .entries()?
            .iter()
            .map(|entry| format!("{}{}:{:08x}", entry.table, entry.month, entry.checksum))
            .collect();
        let name = site.path.escape_default();
        writeln!(made_from, "{name} {}", checksums.join(" "))?;
    }
    let is_same = fs::read_to_string(tables.join(MADE_FROM)).is_ok_and(|known| known == made_from);
    if is_same {
        return Ok(tables);
    }
    let fresh = fresh_folder(out)?;
    let paths: Vec<String> = sites.iter().map(|site| site.path.clone()).collect();
    merge(&parts, &paths, &fresh)?;
    let rows: Vec<SiteRow> = read_table(&fresh, "sites")?;
    let periods = coincident(&parts, &rows)?;
    if !periods.is_empty() {
        let folder = table_folder(&fresh, "coincident", "");
        fs::create_dir_all(&folder)?;
        let bytes = coincident_table(&periods).parquet()?;
        write_whole(&folder.join("part-00000.parquet"), &bytes)?;
    }
    write_whole(&fresh.join(MADE_FROM), made_from.as_bytes())?;
    replace(&fresh, &tables)?;
    Ok(tables)
}

/// An empty folder in which tables are put together.
pub(super) fn fresh_folder(out: &Path) -> anyhow::Result<PathBuf> {
    let fresh = out.join("tables.new");
    if fresh.exists() {
        fs::remove_dir_all(&fresh)?;
    }
    fs::create_dir_all(&fresh)?;
    Ok(fresh)
}

/// Puts whole tables in the place of earlier ones.
pub(super) fn replace(fresh: &Path, tables: &Path) -> anyhow::Result<()> {
    let old = tables.with_extension("old");
    if old.exists() {
        fs::remove_dir_all(&old)?;
    }
    if tables.exists() {
        fs::rename(tables, &old)?;
    }
    fs::rename(fresh, tables).with_context(|| format!("cannot write `{}`", tables.display()))?;
    if old.exists() {
        fs::remove_dir_all(&old)?;
    }
    Ok(())
}
