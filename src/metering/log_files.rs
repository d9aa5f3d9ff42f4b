//! Which files hold the logs of which meters.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use message::{Message, Messages};
use site::{Meter, Site};

/// Only for showing progress: a file that cannot be seen has none.
pub(super) fn size_of_file(path: &Path) -> u64 {
    path.metadata().map_or(0, |metadata| metadata.len())
}

/// Files with the groups of meters that read each in the same way.
pub(super) type Files = BTreeMap<PathBuf, Vec<Vec<usize>>>;

/// The name of a file as the user knows it.
pub(super) fn shown(folder: &Path, path: &Path) -> String {
    path.strip_prefix(folder)
        .unwrap_or(path)
        .to_string_lossy()
        .replace('\\', "/")
}

/// Each file with the groups of meters that read it in the same way.
pub(super) fn files_of_meters(site: &Site, messages: &mut Messages) -> Files {
    let mut files: Files = BTreeMap::new();
    for (index, meter) in site.meters.iter().enumerate() {
        for path in matching_files(site, meter, messages) {
            let groups = files.entry(path).or_default();
            let same = groups
                .iter_mut()
                .find(|group| reads_alike(&site.meters[group[0]], meter));
            match same {
                Some(group) => group.push(index),
                None => groups.push(vec![index]),
            }
        }
    }
    files
}

/// A folder that cannot be searched may hold logs of the meter.
fn not_searched(site: &Site, meter: &Meter, error: &glob::GlobError) -> Message {
    let folder = shown(&site.folder, error.path());
    Message::error(
        "cannot-read",
        format!(
            "cannot search `{folder}` for the logs of meter `{}`: {}",
            meter.id,
            error.error()
        ),
    )
    .at(meter.files_at.clone(), "its files may be there")
    .help("allow the folder to be read, or name the files")
}

fn reads_alike(a: &Meter, b: &Meter) -> bool {
    a.time == b.time
        && a.separator == b.separator
        && a.decimal == b.decimal
        && a.thousands == b.thousands
        && a.missing == b.missing
        && a.header == b.header
        && a.stamp == b.stamp
        && a.corrections == b.corrections
        && a.unit == b.unit
        && a.columns.is_empty() == b.columns.is_empty()
}

fn matching_files(site: &Site, meter: &Meter, messages: &mut Messages) -> Vec<PathBuf> {
    let folder = glob::Pattern::escape(&site.folder.to_string_lossy());
    let pattern = format!("{folder}/{}", meter.files);
    let mut paths: Vec<PathBuf> = match glob::glob(&pattern) {
        Ok(paths) => paths
            .filter_map(|found| match found {
                Ok(path) => Some(path),
                Err(error) => {
                    messages.push(not_searched(site, meter, &error));
                    None
                }
            })
            .filter(|path| path.is_file())
            .collect(),
        Err(error) => {
            messages.push(
                Message::error(
                    "glob",
                    format!(
                        "`{}` of meter `{}` is not a valid pattern: {error}",
                        meter.files, meter.id
                    ),
                )
                .at(
                    meter.files_at.clone(),
                    "expected a path, or a pattern such as `meters/main-*.csv`",
                ),
            );
            return Vec::new();
        }
    };
    paths.sort();
    let home = site.folder.canonicalize().ok();
    paths.retain(|path| {
        let inside = match (&home, path.canonicalize()) {
            (Some(home), Ok(real)) => real.starts_with(home),
            _ => true,
        };
        if !inside {
            messages.push(
                Message::error(
                    "outside-site",
                    format!(
                        "`{}` points outside the site folder",
                        shown(&site.folder, path)
                    ),
                )
                .at(
                    meter.files_at.clone(),
                    "expected a path inside the site folder",
                )
                .help("copy the log into the site folder"),
            );
        }
        inside
    });
    if paths.is_empty() {
        messages.push(
            Message::error(
                "no-log",
                format!(
                    "meter `{}` has no log: no file matches `{}`",
                    meter.id, meter.files
                ),
            )
            .at(
                meter.files_at.clone(),
                "expected a path or pattern inside the site folder",
            )
            .help("check the name, and that the file exists"),
        );
    }
    paths
}
