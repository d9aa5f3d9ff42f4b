//! What the program would say of a site, were one of its files another: asked before anything is written.

use std::fs;
use std::io;

use crate::site_folder::SiteFolder;
use crate::workbench_state::Workbench;
use message::Message;
use site::read_site;

/// What the program says of the site, if one of its files were so.
pub(crate) fn messages_if(
    workbench: &Workbench,
    site: &SiteFolder,
    file: &str,
    text: &str,
) -> io::Result<Vec<Message>> {
    /// Logs are not looked at: a list or a site file is not as large.
    const LARGEST: u64 = 4 << 20;
    let folder = tempfile::tempdir_in(workbench.scratch.path())?;
    for (name, length) in site.files()? {
        if !name.contains('/') && length <= LARGEST && name != file {
            fs::copy(site.path().join(&name), folder.path().join(&name))?;
        }
    }
    fs::write(folder.path().join(file), text)?;
    Ok(match read_site(folder.path()) {
        Ok((_, warnings)) => warnings.all().to_vec(),
        Err(errors) => errors.0.all().to_vec(),
    })
}
