//! Circuit charts as files.

use std::path::Path;

use super::output::write_guarded;
use super::source_files::today;
use balance::BalanceResult;
use report::{ChangedSite, circuit_chart};
use site::Site;

/// Writes the circuit charts of the boards that change.
pub(super) fn write_chart(
    path: &Path,
    site: &Site,
    changed: &ChangedSite,
    force: bool,
) -> anyhow::Result<()> {
    write_guarded(
        path,
        circuit_chart(site, &[changed], today())?.as_bytes(),
        force,
    )
}

/// The installation after the moves of a plan.
pub(super) fn after_moves(site: &Site, plan: &BalanceResult) -> ChangedSite {
    let mut changed = ChangedSite::new(site);
    for planned in &plan.moves {
        changed.turn(&planned.machine, (planned.from, planned.to));
    }
    changed
}
