//! The folder of the site: what may be read and written in it, and how.

use std::fmt::Write as _;
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use site::{Site, read_site};

/// A file larger than this is no list or site file.
const LARGEST_TEXT: u64 = 16 << 20;

/// The folder of a site.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SiteFolder {
    path: PathBuf,
}

impl SiteFolder {
    /// A folder with a site file.
    pub(crate) fn open(path: &Path) -> io::Result<SiteFolder> {
        let path = path.canonicalize()?;
        if !path.join("site.toml").is_file() {
            let said = format!(
                "{} has no site.toml; `tapoff new` writes a starter site, and a site in one workbook is edited in its own program",
                path.display()
            );
            return Err(io::Error::new(io::ErrorKind::NotFound, said));
        }
        Ok(SiteFolder { path })
    }

    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// A file below the folder: no way up, no link out of it, nothing hidden. The file itself need not be there.
    pub(crate) fn file(&self, name: &str) -> Option<PathBuf> {
        let parts: Vec<&str> = name.split('/').collect();
        let is_plain = |part: &&str| {
            !part.is_empty()
                && !part.starts_with('.')
                && part.len() <= 200
                && !part.chars().any(|c| {
                    c.is_control() || matches!(c, '\\' | ':' | '*' | '?' | '"' | '<' | '>' | '|')
                })
        };
        if parts.len() > 2 || !parts.iter().all(is_plain) {
            return None;
        }
        let path = parts
            .iter()
            .fold(self.path.clone(), |path, part| path.join(part));
        // What is there already may be a link.
        let nearest = path.ancestors().find(|path| path.exists())?;
        nearest
            .canonicalize()
            .ok()?
            .starts_with(&self.path)
            .then_some(path)
    }

    /// A text file; `None` where it is not there.
    pub(crate) fn read(&self, name: &str) -> io::Result<Option<String>> {
        let path = self.file(name).ok_or_else(|| not_within(name))?;
        let length = match fs::metadata(&path) {
            Ok(known) => known.len(),
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(error),
        };
        if length > LARGEST_TEXT {
            return Err(io::Error::other(format!(
                "{name} is too large to be edited here"
            )));
        }
        fs::read_to_string(&path).map(Some)
    }

    /// Writes a file whole: whoever reads meanwhile, or after a crash, has the old or the new one.
    pub(crate) fn write(&self, name: &str, text: &str) -> io::Result<()> {
        let path = self.file(name).ok_or_else(|| not_within(name))?;
        let folder = path.parent().unwrap_or(&self.path);
        fs::create_dir_all(folder)?;
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        file.write_all(text.as_bytes())?;
        file.as_file().sync_all()?;
        if let Ok(known) = fs::metadata(&path) {
            file.as_file().set_permissions(known.permissions())?;
        }
        file.persist(&path).map_err(|error| error.error)?;
        Ok(())
    }

    /// The files of the folder and of the folders in it, with their lengths.
    pub(crate) fn files(&self) -> io::Result<Vec<(String, u64)>> {
        let mut found = Vec::new();
        for entry in fs::read_dir(&self.path)? {
            let entry = entry?;
            let name = entry.file_name().to_string_lossy().into_owned();
            if name.starts_with('.') {
                continue;
            }
            let kind = entry.file_type()?;
            if kind.is_file() {
                found.push((name, entry.metadata()?.len()));
            } else if kind.is_dir() {
                for inner in fs::read_dir(entry.path())? {
                    let inner = inner?;
                    if inner.file_type()?.is_file() {
                        let own = inner.file_name().to_string_lossy().into_owned();
                        found.push((format!("{name}/{own}"), inner.metadata()?.len()));
                    }
                }
            }
        }
        found.sort();
        Ok(found)
    }
}

/// The name in the heading, where the site file cannot be read.
pub(crate) fn name_of(folder: &Path) -> String {
    folder
        .file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

/// The site as its files have it, and its name.
pub(crate) fn site_of(folder: &SiteFolder) -> (Option<Site>, String) {
    match read_site(folder.path()) {
        Ok((site, _)) => {
            let name = site.name.clone();
            (Some(site), name)
        }
        Err(_) => (None, name_of(folder.path())),
    }
}

fn not_within(name: &str) -> io::Error {
    io::Error::new(
        io::ErrorKind::InvalidInput,
        format!("`{name}` is no file of the site's folder"),
    )
}

/// SHA-256 in hexadecimal.
pub(crate) fn checksum(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// Two digits a byte.
pub(crate) fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        // A String takes any text.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> (tempfile::TempDir, SiteFolder) {
        let held = tempfile::tempdir().expect("a folder");
        fs::write(held.path().join("site.toml"), "").expect("a file");
        let site = SiteFolder::open(held.path()).expect("a site");
        (held, site)
    }

    #[test]
    fn names_that_lead_elsewhere_are_no_files_of_the_site() {
        let (_held, site) = folder();
        for name in [
            "../a",
            "/etc/passwd",
            "a/../../b",
            "",
            ".hidden",
            "a/b/c",
            "a\\b",
            "c:x",
            "a\0b",
            "meters/..",
            "a\nb",
        ] {
            assert_eq!(site.file(name), None, "{name:?}");
        }
        assert!(site.file("meters/main.csv").is_some());
    }

    #[cfg(unix)]
    #[test]
    fn a_link_out_of_the_folder_is_not_followed() {
        let (_held, site) = folder();
        let other = tempfile::tempdir().expect("a folder");
        fs::write(other.path().join("secret.csv"), "x").expect("a file");
        std::os::unix::fs::symlink(other.path(), site.path().join("meters")).expect("a link");
        std::os::unix::fs::symlink(other.path().join("secret.csv"), site.path().join("own.csv"))
            .expect("a link");
        assert_eq!(site.file("meters/secret.csv"), None);
        assert_eq!(site.file("own.csv"), None);
        assert!(site.read("own.csv").is_err());
    }

    #[test]
    fn a_file_is_written_whole() {
        let (_held, site) = folder();
        site.write("machines.csv", "machine\n").expect("written");
        assert_eq!(
            site.read("machines.csv").expect("read").as_deref(),
            Some("machine\n")
        );
        let names: Vec<String> = site
            .files()
            .expect("files")
            .into_iter()
            .map(|(name, _)| name)
            .collect();
        assert_eq!(names, ["machines.csv", "site.toml"]);
    }
}
