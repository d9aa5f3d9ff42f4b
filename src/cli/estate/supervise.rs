//! The analysis of one site in a process of its own: whatever happens to it, the site has a row that says so.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::Context;

use super::EstateArguments;
use crate::cli::output::write_whole;
use crate::estate::{SiteTables, part_bytes};
use message::Messages;
use site::EstateSite;

/// How the process of a site ended.
#[derive(Debug)]
enum ProcessEnd {
    /// By itself.
    Exited(ExitStatus),
    /// It was ended, as it ran too long.
    TookTooLong,
    /// It was ended, as it took too much memory.
    TookTooMuch,
}

/// Guards the processes that analyse sites.
#[derive(Debug)]
pub(super) struct Guard {
    words: Vec<String>,
    minutes: u64,
    /// Memory of all processes at one time; `None` where this system does not show it. (MB)
    pub(super) memory_mb: Option<u64>,
    /// Memory that they take now. (MB)
    taken_mb: AtomicU64,
    /// Number of processes that run.
    running: AtomicU64,
}

impl Guard {
    pub(super) fn new(arguments: &EstateArguments) -> Guard {
        Guard {
            words: arguments.settings.words(),
            minutes: arguments.site_minutes,
            memory_mb: arguments
                .memory_mb
                .or_else(|| free_mb().map(|free| free * 3 / 4)),
            taken_mb: AtomicU64::new(0),
            running: AtomicU64::new(0),
        }
    }

    /// Analyses a site and writes its rows; `false` where it was ended since all processes together took too much
    /// memory, so that it has to be done again while fewer run.
    pub(super) fn analyse(
        &self,
        folder: &Path,
        entry: &EstateSite,
        file: &Path,
    ) -> anyhow::Result<bool> {
        let log = file.with_extension("log");
        self.running.fetch_add(1, Ordering::SeqCst);
        let mut end = self.run(folder, entry, file, &log, false);
        if matches!(end, Ok(ProcessEnd::TookTooLong)) {
            end = self.run(folder, entry, file, &log, true);
        }
        let others = self.running.fetch_sub(1, Ordering::SeqCst) - 1;
        let said = fs::read_to_string(&log).unwrap_or_default();
        let _ = fs::remove_file(&log);
        let why = match end? {
            ProcessEnd::Exited(status) if status.success() => return Ok(true),
            ProcessEnd::TookTooMuch if others > 0 => return Ok(false),
            ProcessEnd::Exited(status) => stopped(status, &said),
            ProcessEnd::TookTooLong => format!(
                "the analysis was given up after {} min: give it more with `--site-minutes`",
                self.minutes
            ),
            ProcessEnd::TookTooMuch => format!(
                "the analysis needs more than {} MB of memory: give it more with `--memory-mb`",
                self.memory_mb.unwrap_or_default()
            ),
        };
        // Made from nothing that could be found again: the next run tries once more.
        let tables = SiteTables::failed(entry, &why, &Messages::new());
        write_whole(file, &part_bytes(&tables, "")?)?;
        Ok(true)
    }

    fn run(
        &self,
        folder: &Path,
        entry: &EstateSite,
        file: &Path,
        log: &Path,
        without_plan: bool,
    ) -> anyhow::Result<ProcessEnd> {
        let program = std::env::current_exe().context("this program cannot start itself")?;
        let mut command = Command::new(program);
        command
            .arg("estate")
            .arg("--unguarded")
            .arg(format!("--site={}", entry.path))
            .arg(format!("--as-listed={}", serde_json::to_string(entry)?))
            .args(&self.words)
            .arg(format!("--site-minutes={}", self.minutes))
            .args(without_plan.then(|| format!("--no-plan-within={}", self.minutes)))
            .arg("-o")
            .arg(file)
            .arg("--")
            .arg(folder)
            // Several sites share the cores.
            .env("RAYON_NUM_THREADS", "1")
            .env("POLARS_MAX_THREADS", "1")
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(
                File::create(log).with_context(|| format!("cannot write `{}`", log.display()))?,
            );
        let child = command
            .spawn()
            .context("this program cannot start itself")?;
        Ok(self.watch(child)?)
    }

    fn watch(&self, mut child: Child) -> io::Result<ProcessEnd> {
        let begun = Instant::now();
        let mut own_mb = 0;
        let mut pause_ms = 2;
        let end = loop {
            if let Some(status) = child.try_wait()? {
                break ProcessEnd::Exited(status);
            }
            let now_mb = resident_mb(child.id()).unwrap_or(own_mb);
            self.taken_mb.fetch_add(now_mb, Ordering::SeqCst);
            let all_mb = self.taken_mb.fetch_sub(own_mb, Ordering::SeqCst) - own_mb;
            own_mb = now_mb;
            let is_much = self.memory_mb.is_some_and(|most| all_mb > most);
            let is_long = begun.elapsed() > Duration::from_secs(60 * self.minutes);
            if is_much || is_long {
                child.kill()?;
                child.wait()?;
                break if is_much {
                    ProcessEnd::TookTooMuch
                } else {
                    ProcessEnd::TookTooLong
                };
            }
            thread::sleep(Duration::from_millis(pause_ms));
            pause_ms = (pause_ms * 2).min(100);
        };
        self.taken_mb.fetch_sub(own_mb, Ordering::SeqCst);
        Ok(end)
    }
}

/// Why a process stopped: the last thing that it said, and its status.
fn stopped(status: ExitStatus, said: &str) -> String {
    let last = said
        .lines()
        .map(str::trim)
        .rfind(|line| !line.is_empty() && !line.starts_with("note: run with"));
    match last {
        Some(last) => format!("the analysis stopped ({status}): {last}"),
        None => format!("the analysis stopped ({status})"),
    }
}

/// Memory that a process takes; `None` where the system does not show it. (MB)
fn resident_mb(process: u32) -> Option<u64> {
    of_kilobytes(&PathBuf::from(format!("/proc/{process}/status")), "VmRSS:")
}

/// Memory that is free. (MB)
fn free_mb() -> Option<u64> {
    of_kilobytes(Path::new("/proc/meminfo"), "MemAvailable:")
}

fn of_kilobytes(file: &Path, name: &str) -> Option<u64> {
    let text = fs::read_to_string(file).ok()?;
    let line = text.lines().find(|line| line.starts_with(name))?;
    let kilobytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kilobytes / 1024)
}
