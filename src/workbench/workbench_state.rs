//! What the server remembers between two requests.

use std::collections::HashMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use tempfile::TempDir;
use tokio::sync::Notify;

use crate::WorkbenchOptions;
use crate::jobs::Jobs;
use crate::kept_copies::keep;
use crate::lock::locked;
use crate::site_folder::{SiteFolder, checksum, hexadecimal};

/// Shared by all requests.
#[derive(Debug)]
pub(crate) struct Workbench {
    pub(crate) port: u16,
    /// Who has it is let in.
    pub(crate) token: String,
    pub(crate) program: PathBuf,
    pub(crate) stop: Arc<Notify>,
    /// Reports and candidates; gone with the program.
    pub(crate) scratch: TempDir,
    pub(crate) jobs: Jobs,
    /// Held from reading a file to writing it, so that no edit is lost to another.
    pub(crate) editing: Mutex<()>,
    site: Mutex<Option<SiteFolder>>,
    /// Texts of files as pages have shown them, by their checksum: what an edit began from.
    shown: Mutex<HashMap<String, String>>,
}

impl Workbench {
    pub(crate) fn new(options: WorkbenchOptions, port: u16) -> io::Result<Arc<Workbench>> {
        let site = options.site.as_deref().map(opened).transpose()?;
        let mut bytes = [0; 32];
        getrandom::fill(&mut bytes).map_err(|error| io::Error::other(error.to_string()))?;
        Ok(Arc::new(Workbench {
            port,
            token: hexadecimal(&bytes),
            program: options.program,
            stop: Arc::new(Notify::new()),
            scratch: tempfile::tempdir()?,
            jobs: Jobs::default(),
            editing: Mutex::default(),
            site: Mutex::new(site),
            shown: Mutex::default(),
        }))
    }

    /// The address that lets a browser in.
    pub(crate) fn address(&self) -> String {
        format!("http://127.0.0.1:{}/?token={}", self.port, self.token)
    }

    /// The site that is open.
    pub(crate) fn site(&self) -> Option<SiteFolder> {
        locked(&self.site).clone()
    }

    /// Opens a site; its files are kept as they are now, and answers on another one are forgotten.
    pub(crate) fn open(&self, path: &Path) -> io::Result<()> {
        let site = opened(path)?;
        self.jobs.forget();
        *locked(&self.site) = Some(site);
        Ok(())
    }

    /// Remembers a text that is shown; gives its checksum.
    pub(crate) fn remember(&self, text: &str) -> String {
        let checksum = checksum(text.as_bytes());
        locked(&self.shown).insert(checksum.clone(), text.to_owned());
        checksum
    }

    /// A text that was shown.
    pub(crate) fn shown(&self, checksum: &str) -> Option<String> {
        locked(&self.shown).get(checksum).cloned()
    }
}

fn opened(path: &Path) -> io::Result<SiteFolder> {
    let site = SiteFolder::open(path)?;
    keep(&site)?;
    Ok(site)
}
