//! Circuit charts as files.

use std::path::Path;

use super::output::write_guarded;
use report::{ChangedSite, circuit_chart};

/// Writes the circuit charts of the boards that change.
pub(super) fn write_chart(path: &Path, changed: &ChangedSite, force: bool) -> anyhow::Result<()> {
    write_guarded(path, circuit_chart(changed)?.as_bytes(), force)
}
