//! Charts of boards as files.

use std::path::Path;

use super::output::write_whole;
use crate::report::{ChangedSite, board_chart};

/// Writes the charts of what is changed.
pub(super) fn write_chart(path: &Path, changed: &ChangedSite) -> anyhow::Result<()> {
    write_whole(path, board_chart(changed)?.as_bytes())
}
