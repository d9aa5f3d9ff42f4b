//! The state of the files at each opening, kept next to them: whatever is edited here can be taken back.

use std::fs;
use std::io;
use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

use crate::site_folder::SiteFolder;

/// Folder in the site's folder.
const KEPT: &str = ".tapoff/opened";

/// Openings that are kept.
const MOST_KEPT: usize = 20;

/// Copies the files that can be edited here.
pub(crate) fn keep(site: &SiteFolder) -> io::Result<()> {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    let seconds = since.map_or(0, |since| since.as_secs());
    let all = site.path().join(KEPT);
    let folder = all.join(seconds.to_string());
    fs::create_dir_all(&folder)?;
    for name in ["site.toml", "machines.csv", "readings.csv"] {
        if let Some(text) = site.read(name)? {
            fs::write(folder.join(name), text)?;
        }
    }
    forget_oldest(&all)
}

fn forget_oldest(all: &Path) -> io::Result<()> {
    let mut kept: Vec<u64> = fs::read_dir(all)?
        .filter_map(|entry| entry.ok()?.file_name().to_str()?.parse().ok())
        .collect();
    kept.sort_unstable();
    let over = kept.len().saturating_sub(MOST_KEPT);
    for seconds in &kept[..over] {
        fs::remove_dir_all(all.join(seconds.to_string()))?;
    }
    Ok(())
}
