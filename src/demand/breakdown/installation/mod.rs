//! Energy by machine and by board: the supply's quarter-hours shared out down the tree of the installation.
//!
//! What a meter sees is taken off the nearest meter above it. What is left there goes to the machines without a
//! meter of their own, as the machine list has it (rating × utilisation factor while the schedule runs), never more
//! than is left; the rest is unmetered. So the parts add up to the supply, quarter-hour by quarter-hour.

mod board;
mod load;
mod shares;
mod tree;

use super::by::BreakdownBy;
use super::part_basis::PartBasis;
use super::split::Split;
use super::{BreakdownInput, PartDetails};
use crate::meter::meter_energy::MeterEnergy;
use site::Measured;
use tree::InstallationTree;

/// Said wherever a part is declared.
const DECLARED: &str = "estimated: the machine's rating × utilisation factor during its schedule, limited to what the meter above leaves";

/// Said where the supply's meter lacks readings.
const ONLY_THEN: &str = "the breakdown covers the time for which the supply meter has readings";

/// The supply's energy shared out among machines or boards.
pub(super) struct Shared<'a> {
    /// The supply's meter.
    pub(super) meter: &'a MeterEnergy,
    pub(super) split: Split,
    /// Details of each part, one for each label.
    pub(super) details: Vec<PartDetails>,
    pub(super) notes: Vec<String>,
}

/// By machine or by board; `None` where no meter of the supply has energy.
pub(super) fn shared<'a>(ground: &BreakdownInput<'a>, by: &BreakdownBy) -> Option<Shared<'a>> {
    let index = ground.site.meter_of(Measured::SUPPLY)?;
    let id = &ground.site.meters[index].id;
    let meter = ground.meters.iter().find(|meter| meter.id == *id)?;
    if meter.trace.quarters.is_empty() {
        return None;
    }
    let (tree, mut notes) = InstallationTree::of(ground, meter);
    let leaves = shares::share(&tree);
    let (split, details) = match by {
        BreakdownBy::Board => board::split(&tree, &leaves),
        _ => load::split(&tree, &leaves),
    };
    let declared = |details: &PartDetails| {
        matches!(
            details.basis,
            Some(PartBasis::Estimated | PartBasis::PartEstimated)
        )
    };
    if details.iter().any(declared) {
        notes.push(DECLARED.to_owned());
    }
    if meter.coverage_pct < 100.0 - 1e-9 {
        notes.push(ONLY_THEN.to_owned());
    }
    Some(Shared {
        meter,
        split,
        details,
        notes,
    })
}
