//! Which sites an estate has: those that its estate.toml lists, else every one below its folder.

use std::fs;
use std::path::{Path, PathBuf};

use message::{InputErrors, Message, Messages};
use site::{EstateSite, is_site_workbook, read_estate_file};
use user_tables::is_workbook;

/// Name of the file that lists the sites.
pub const ESTATE_TOML: &str = "estate.toml";

/// Folders deeper than this below the estate hold no sites.
const DEEPEST: usize = 16;

/// The sites of an estate by their paths, ascending; results of an earlier run at `out` are left out.
///
/// Where the folder has no estate.toml, every folder below it that has a site.toml is a site, and every workbook that
/// holds one; folders of a site are not looked into, nor those whose names begin with a dot. Links are followed by
/// nobody: a linked folder is listed, and its analysis refused.
///
/// # Errors
///
/// [`InputErrors`] where the folder or its estate.toml is at fault, or has no site.
pub fn estate_sites(folder: &Path, out: &Path) -> Result<Vec<EstateSite>, InputErrors> {
    let listed = folder.join(ESTATE_TOML);
    let mut sites = if listed.is_file() {
        let text = fs::read_to_string(&listed).map_err(|error| {
            failed(Message::error(
                "cannot-read",
                format!("cannot read `{}`: {error}", listed.display()),
            ))
        })?;
        read_estate_file(ESTATE_TOML, &text)?
    } else {
        let mut found = Vec::new();
        let out = out.canonicalize().ok();
        walk(folder, folder, out.as_deref(), 0, &mut found).map_err(|error| {
            failed(Message::error(
                "cannot-read",
                format!("cannot read the folder `{}`: {error}", folder.display()),
            ))
        })?;
        found
    };
    if sites.is_empty() {
        return Err(failed(
            Message::error(
                "no-sites",
                format!("there is no site below `{}`", folder.display()),
            )
            .note("a site is a folder with `site.toml`, or a workbook with a sheet for the supply")
            .help("name the folder that holds the sites, or list them in its `estate.toml`"),
        ));
    }
    sites.iter_mut().for_each(EstateSite::name_group);
    sites.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(sites)
}

fn failed(message: Message) -> InputErrors {
    let mut messages = Messages::new();
    messages.push(message);
    InputErrors(messages)
}

fn walk(
    estate: &Path,
    folder: &Path,
    out: Option<&Path>,
    depth: usize,
    found: &mut Vec<EstateSite>,
) -> std::io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let path = entry.path();
        let name = entry.file_name();
        let name = name.to_string_lossy();
        if name.starts_with(['.', '~'])
            || out.is_some_and(|out| path.canonicalize().is_ok_and(|path| path == out))
        {
            continue;
        }
        let is_link = entry.file_type()?.is_symlink();
        let is_site = if path.is_dir() {
            path.join("site.toml").exists()
        } else {
            is_workbook(&path) && (is_link || is_site_workbook(&path))
        };
        if is_site {
            found.push(EstateSite {
                path: below(estate, &path),
                ..EstateSite::default()
            });
        } else if path.is_dir() && !is_link && depth < DEEPEST {
            // What a folder below does not show is not there: the others are analysed.
            let _ = walk(estate, &path, out, depth + 1, found);
        }
    }
    Ok(())
}

fn below(estate: &Path, path: &Path) -> String {
    let inside = path.strip_prefix(estate).unwrap_or(path);
    let parts: Vec<_> = inside.iter().map(|part| part.to_string_lossy()).collect();
    parts.join("/")
}

/// Where a site lies.
#[must_use]
pub fn site_path(estate: &Path, site: &EstateSite) -> PathBuf {
    estate.join(&site.path)
}
