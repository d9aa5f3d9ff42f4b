//! The list of new machines (`--new-machines`).

use std::path::Path;

use anyhow::Context;

use super::CommandError;
use site::{NewMachine, Site, read_new_machines};

/// Reads a list of new machines for a site.
pub(super) fn read_new_machine_list(site: &Site, path: &Path) -> anyhow::Result<Vec<NewMachine>> {
    let text = std::fs::read_to_string(path)
        .with_context(|| format!("cannot read `{}`", path.display()))?;
    let text = text.trim_start_matches('\u{feff}');
    let file = path.display().to_string();
    Ok(read_new_machines(site, &file, text).map_err(CommandError::Input)?)
}
