//! Charts of boards as files.

use std::path::Path;

use super::output::write_guarded;
use report::{ChangedSite, circuit_chart};

/// Writes the charts of what is changed.
pub(super) fn write_chart(path: &Path, changed: &ChangedSite, force: bool) -> anyhow::Result<()> {
    write_guarded(path, circuit_chart(changed)?.as_bytes(), force)
}
