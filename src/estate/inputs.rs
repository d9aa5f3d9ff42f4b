//! What a site is made from: its files, none of which may lie outside the estate, and their checksum.

use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use crate::part::hex;
use site::EstateSite;

/// A site whose files may be read.
#[derive(Clone, Debug)]
pub struct Inputs {
    files: Vec<PathBuf>,
    /// Size of all files. (bytes)
    pub size: u64,
}

impl Inputs {
    /// Every file that the site may read: all of its folder, and those of the tariff that it names.
    ///
    /// # Errors
    ///
    /// A sentence that says why the site is refused: it is not there, or leads out of the estate.
    pub fn of(estate: &Path, site: &Path) -> Result<Inputs, String> {
        let home = estate.canonicalize().map_err(|error| error.to_string())?;
        let real = site
            .canonicalize()
            .map_err(|_| "there is no such site: check its path in `estate.toml`".to_owned())?;
        let inside = site.strip_prefix(estate).unwrap_or(site);
        if real != home.join(inside) {
            return Err(
                "the site's folder is a link, which is refused: copy the site to where the link is"
                    .to_owned(),
            );
        }
        let (folder, only) = if real.is_dir() {
            (real.clone(), None)
        } else {
            let parent = real.parent().unwrap_or(&home).to_owned();
            (parent, Some(real.clone()))
        };
        let mut files = Vec::new();
        collect(&folder, &folder, only.is_none(), &mut files)?;
        let declared = match &only {
            Some(book) => book.with_extension("toml"),
            None => folder.join("site.toml"),
        };
        // One that is not there is said by whoever reads the site.
        let tariff = tariff_file(&folder, &declared);
        if let Some(tariff) = tariff.and_then(|tariff| tariff.canonicalize().ok()) {
            if !tariff.starts_with(&home) {
                return Err(
                    "`tariff_file` leads out of the estate's folder, which is refused: put the file into the estate"
                        .to_owned(),
                );
            }
            // Files of prices that it names are in its folder.
            if let Some(folder) = tariff.parent() {
                collect(folder, folder, false, &mut files)?;
            }
        }
        files.sort();
        files.dedup();
        let size = files.iter().filter_map(|file| fs::metadata(file).ok());
        let size = size.map(|known| known.len()).sum();
        Ok(Inputs { files, size })
    }

    /// Checksum of the contents of all files with their names, and of all else that the result depends on.
    ///
    /// # Errors
    ///
    /// Where a file cannot be read.
    pub fn checksum(
        &self,
        estate: &Path,
        entry: &EstateSite,
        settings: &str,
    ) -> io::Result<String> {
        let home = estate.canonicalize()?;
        let mut all = Sha256::new();
        let mut put = |bytes: &[u8]| {
            all.update((bytes.len() as u64).to_le_bytes());
            all.update(bytes);
        };
        put(env!("CARGO_PKG_VERSION").as_bytes());
        put(settings.as_bytes());
        put(format!("{entry:?}").as_bytes());
        let mut buffer = vec![0; 1 << 20];
        for path in &self.files {
            let name = path.strip_prefix(&home).unwrap_or(path);
            put(name.as_os_str().as_encoded_bytes());
            let mut one = Sha256::new();
            let mut file = fs::File::open(path)?;
            loop {
                let read = file.read(&mut buffer)?;
                if read == 0 {
                    break;
                }
                one.update(&buffer[..read]);
            }
            put(&one.finalize());
        }
        Ok(hex(&all.finalize()))
    }
}

/// Files of a folder. A link to within the folder is followed, one that leads out of it is refused.
fn collect(home: &Path, folder: &Path, deep: bool, files: &mut Vec<PathBuf>) -> Result<(), String> {
    let cannot = |error: io::Error| format!("cannot read the site's folder: {error}");
    for entry in fs::read_dir(folder).map_err(cannot)? {
        let entry = entry.map_err(cannot)?;
        let (path, kind) = (entry.path(), entry.file_type().map_err(cannot)?);
        if kind.is_symlink() {
            let is_inside = path.canonicalize().is_ok_and(|real| real.starts_with(home));
            if !is_inside {
                let name = path.strip_prefix(home).unwrap_or(&path);
                return Err(format!(
                    "`{}` is a link out of the site's folder, which is refused: put the file there instead",
                    name.display()
                ));
            }
            if path.is_file() {
                files.push(path);
            }
        } else if kind.is_dir() {
            if deep {
                collect(home, &path, deep, files)?;
            }
        } else if kind.is_file() {
            files.push(path);
        }
    }
    Ok(())
}

/// The file of tariffs that a site names.
fn tariff_file(folder: &Path, declared: &Path) -> Option<PathBuf> {
    let text = fs::read_to_string(declared).ok()?;
    let read: toml::Table = text.parse().ok()?;
    let name = read.get("site")?.get("tariff_file")?.as_str()?;
    Some(folder.join(name))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn estate() -> tempfile::TempDir {
        let folder = tempfile::tempdir().expect("a folder");
        fs::create_dir_all(folder.path().join("a/meters")).expect("written");
        fs::write(folder.path().join("a/site.toml"), "[site]\nname = 'a'\n").expect("written");
        fs::write(folder.path().join("a/meters/log.csv"), "time\n").expect("written");
        folder
    }

    fn sum(estate: &Path) -> String {
        let inputs = Inputs::of(estate, &estate.join("a")).expect("a site");
        inputs
            .checksum(estate, &EstateSite::default(), "")
            .expect("readable")
    }

    #[test]
    fn the_checksum_follows_contents_names_and_settings() {
        let folder = estate();
        let before = sum(folder.path());
        assert_eq!(before, sum(folder.path()));
        fs::write(folder.path().join("a/meters/log.csv"), "TIME\n").expect("written");
        let changed = sum(folder.path());
        assert_ne!(before, changed);
        fs::rename(
            folder.path().join("a/meters/log.csv"),
            folder.path().join("a/meters/other.csv"),
        )
        .expect("moved");
        assert_ne!(changed, sum(folder.path()));
    }

    #[cfg(unix)]
    #[test]
    fn what_leads_out_is_refused() {
        use std::os::unix::fs::symlink;
        let folder = estate();
        let of = |name: &str| Inputs::of(folder.path(), &folder.path().join(name)).map(|_| ());
        symlink("log.csv", folder.path().join("a/meters/same.csv")).expect("a link");
        assert_eq!(of("a"), Ok(()));
        symlink("/etc/hostname", folder.path().join("a/meters/far.csv")).expect("a link");
        assert!(of("a").is_err_and(|why| why.contains("meters/far.csv")));
        symlink("a", folder.path().join("b")).expect("a link");
        assert!(of("b").is_err_and(|why| why.contains("is a link")));
        assert!(of("c").is_err_and(|why| why.contains("no such site")));
        fs::remove_file(folder.path().join("a/meters/far.csv")).expect("removed");
        let file = tempfile::NamedTempFile::new().expect("a file");
        let outside = file.path().file_name().expect("a name").to_string_lossy();
        let toml = format!("[site]\nname = 'a'\ntariff_file = '../../{outside}'\n");
        fs::write(folder.path().join("a/site.toml"), toml).expect("written");
        assert!(of("a").is_err_and(|why| why.contains("tariff_file")));
    }
}
