//! A checksum of what an answer rests on: the names, lengths and times of the site's files.

use std::fmt::Write;
use std::fs;
use std::time::UNIX_EPOCH;

use crate::site_folder::{SiteFolder, checksum};

/// It changes when a file does.
pub(crate) fn folder_state(site: &SiteFolder) -> std::io::Result<String> {
    let mut said = format!("{}\n", site.path().display());
    for (name, length) in site.files()? {
        let changed = fs::metadata(site.path().join(&name))?.modified()?;
        let nanos = changed
            .duration_since(UNIX_EPOCH)
            .map_or(0, |since| since.as_nanos());
        // A String takes any text.
        let _ = writeln!(said, "{name} {length} {nanos}");
    }
    Ok(checksum(said.as_bytes()))
}
