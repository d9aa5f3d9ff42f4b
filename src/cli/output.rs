//! Results to standard output or to a file; a file is written completely or not at all.

use std::fs;
use std::io::Write;
use std::path::Path;

use anyhow::{Context, bail};

use super::arguments::OutputArguments;
use crate::app::Console;
use site::{Site, table_files};

/// Writes a result to where it was asked for.
pub(super) fn deliver(
    text: &str,
    output: &OutputArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<()> {
    deliver_text(text, (&output.file, output.force), console)
}

impl OutputArguments {
    /// Refuses files that exist before anything is calculated: the result's and those that are written as well.
    pub(super) fn refuse_existing(&self, also: &[Option<&Path>]) -> anyhow::Result<()> {
        also.iter()
            .flatten()
            .chain([&self.file.as_path()])
            .try_for_each(|path| refuse_existing(path, self.force))
    }
}

/// Writes a text to a file, or to standard output where the path is `-`; with `true`, an existing file is replaced.
pub(super) fn deliver_text(
    text: &str,
    (path, force): (&Path, bool),
    console: &mut Console<'_>,
) -> anyhow::Result<()> {
    if path.as_os_str() == "-" {
        console.out.write_all(text.as_bytes())?;
        console.out.flush()?;
        return Ok(());
    }
    write_guarded(path, text.as_bytes(), force)
}

/// Refuses to replace the site's own machine list, whatever is forced.
pub(super) fn refuse_own_list(site: &Site, path: &Path) -> anyhow::Result<()> {
    let new = path.canonicalize();
    let is_own = |name: &String| {
        let own = site.folder.join(name).canonicalize();
        matches!((&new, own), (Ok(new), Ok(own)) if *new == own)
    };
    if table_files(&site.folder, "machines").iter().any(is_own) {
        anyhow::bail!(
            "`{}` is the site's own list, which is left as it is: give another name",
            path.display()
        );
    }
    Ok(())
}

/// As [`write_whole`], but an existing file is only replaced with `--force`.
pub(super) fn write_guarded(path: &Path, bytes: &[u8], force: bool) -> anyhow::Result<()> {
    refuse_existing(path, force)?;
    write_whole(path, bytes)
}

/// Refuses an existing file without `--force`. A pipe or a device holds nothing that could be lost.
pub(super) fn refuse_existing(path: &Path, force: bool) -> anyhow::Result<()> {
    if !force && path.as_os_str() != "-" && path.is_file() {
        bail!(
            "`{}` exists: give another name, or `--force` to replace it",
            path.display()
        );
    }
    Ok(())
}

/// Writes a file under a temporary name in its folder, then renames it.
///
/// A pipe or a device is written to directly: a file renamed over `/dev/null` would replace it.
pub(super) fn write_whole(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    let is_special = |known: fs::Metadata| !known.is_file() && !known.is_dir();
    if path.metadata().is_ok_and(is_special) {
        let write = || {
            fs::OpenOptions::new()
                .write(true)
                .open(path)?
                .write_all(bytes)
        };
        return write().with_context(|| format!("cannot write `{}`", path.display()));
    }
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let shown = path.display();
    let write = || -> std::io::Result<()> {
        let mut file = tempfile::Builder::new()
            .prefix(".tapoff-")
            .suffix(".tmp")
            .tempfile_in(folder)?;
        file.write_all(bytes)?;
        file.as_file().sync_all()?;
        readable_by_all(file.path())?;
        file.persist(path).map_err(|error| error.error)?;
        Ok(())
    };
    write().with_context(|| format!("cannot write `{shown}`"))
}

/// Temporary files are private; a result is an ordinary file.
#[cfg(unix)]
fn readable_by_all(path: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(path, fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable_by_all(_: &Path) -> std::io::Result<()> {
    Ok(())
}

/// Creates a folder; the error names its path.
pub(super) fn make_folder(path: &Path) -> anyhow::Result<()> {
    fs::create_dir_all(path)
        .with_context(|| format!("cannot create the folder `{}`", path.display()))
}
