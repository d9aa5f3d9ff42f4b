//! A log that comes without a site: each meter in it is a meter of a site made for it.

use std::path::{Path, PathBuf};

use chrono_tz::Tz;

use super::log_contents::parts_of;
use super::logs::{Logs, OpenedFiles, Period, read_opened};
use super::progress::Progress;
use message::Messages;
use site::{Meter, Site};

/// An open log.
#[derive(Clone, Debug)]
pub struct LogAlone {
    /// A site of its meters; each has the identifier of its point, else the file's stem.
    pub site: Site,
    opened: OpenedFiles,
}

/// Opens a log without a site; `None` after an error.
pub fn open_log(path: &Path, zone: Tz, messages: &mut Messages) -> Option<LogAlone> {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.unwrap_or(Path::new(".")).to_owned();
    let name = path.file_name()?.to_string_lossy().into_owned();
    let stem = path.file_stem()?.to_string_lossy().into_owned();
    let files = glob::Pattern::escape(&name);
    let plain = Meter::of_file(&stem, files.clone(), None);
    let parts = parts_of(path, &name, &plain, zone, messages)?;
    let mut meters: Vec<Meter> = Vec::new();
    for part in &parts {
        let id = part.point.clone().unwrap_or_else(|| stem.clone());
        if meters.iter().all(|meter| meter.id != id) {
            meters.push(Meter::of_file(&id, files.clone(), part.point.clone()));
        }
    }
    let site = Site::of_meters(folder.clone(), stem, zone, meters);
    let mut opened: OpenedFiles = OpenedFiles::default();
    opened.insert((found(&folder, &name), 0), parts);
    Some(LogAlone { site, opened })
}

/// The path as a search of the folder gives it.
fn found(folder: &Path, name: &str) -> PathBuf {
    let pattern = format!(
        "{}/{}",
        glob::Pattern::escape(&folder.to_string_lossy()),
        glob::Pattern::escape(name)
    );
    let found = glob::glob(&pattern)
        .ok()
        .and_then(|mut paths| paths.next()?.ok());
    found.unwrap_or_else(|| folder.join(name))
}

impl LogAlone {
    /// Reads its meters.
    pub fn read(&self, period: Period, progress: &dyn Progress, messages: &mut Messages) -> Logs {
        read_opened(&self.site, period, self.opened.clone(), progress, messages)
    }

    /// The meters of the log.
    #[must_use]
    pub fn points(&self) -> Vec<&str> {
        self.site
            .meters
            .iter()
            .map(|meter| meter.id.as_str())
            .collect()
    }
}
