//! What the logs say is wrong.
//!
//! In: the site as declared and the clean logs of its meters. Out: a [`Diagnosis`]: findings with their
//! evidence, worst first; what was looked for and not found; what could not be judged, and what that
//! would need. One file or folder per kind of finding.

pub mod joint;
mod least_squares;
mod outcome;
mod page;
pub mod thresholds;
mod view;

pub use least_squares::LeastSquares;
pub use outcome::{Diagnosis, NotJudged, NothingFound};
pub use page::Page;

use crate::finding::Kind;
use crate::metering::Logs;
use crate::site::{Node, Quantity, Site};
use view::View;

/// Looks for everything that the logs can show.
pub fn diagnose(site: &Site, logs: &Logs) -> Diagnosis {
    let mut diagnosis = Diagnosis::default();
    let views: Vec<View<'_>> = logs
        .meters
        .iter()
        .map(|log| View::new(site, log))
        .collect();
    for view in &views {
        joint::check(view, upstream(view, &views), &mut diagnosis);
    }
    diagnosis.rank();
    diagnosis
}

/// The nearest meter above that logs the voltage of each phase.
fn upstream<'v, 's>(view: &View<'s>, views: &'v [View<'s>]) -> Option<&'v View<'s>> {
    let above = std::iter::successors(view.node().and_then(|node| view.site.parent(node)), |&node| {
        view.site.parent(node)
    });
    let has_voltages = |other: &&View<'_>| other.by_phase(Quantity::Voltage).is_some();
    above
        .into_iter()
        .find_map(|node: Node| {
            views
                .iter()
                .filter(|other| other.node() == Some(node))
                .find(has_voltages)
        })
}

/// The page about a kind of finding.
pub fn page(kind: Kind) -> Page {
    match kind {
        _ => joint::PAGE,
    }
}
