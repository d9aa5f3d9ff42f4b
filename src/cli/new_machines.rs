//! The list of new machines (`--new-machines`).

use std::path::Path;

use super::CommandError;
use super::loading::read_table;
use site::{NewMachine, Site, read_new_machines};

/// Reads a list of new machines for a site.
pub(super) fn read_new_machine_list(site: &Site, path: &Path) -> anyhow::Result<Vec<NewMachine>> {
    let (file, text) = read_table(path)?;
    Ok(read_new_machines(site, &file, &text).map_err(CommandError::Input)?)
}
