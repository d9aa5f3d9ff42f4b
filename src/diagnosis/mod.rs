//! What the logs say is wrong.
//!
//! In: the site as declared and the clean logs of its meters. Out: a [`Diagnosis`]: findings with their
//! evidence, worst first; what was looked for and not found; what could not be judged, and what that
//! would need. One file or folder per kind of finding.

mod after_work;
mod frequency;
mod harmonic_neutral;
pub mod joint;
mod known;
mod machine_power;
mod makers;
mod meter_wiring;
mod neutral_connection;
mod outcome;
pub mod overload;
mod page;
mod relief;
#[cfg(test)]
mod samples;
mod silence;
mod starters;
mod story;
#[cfg(test)]
mod tests;
pub mod thresholds;
mod unbalanced_load;
mod unexplained_load;
mod view;
mod voltage;
mod voltage_triangle;
mod voltage_unbalance;

pub use after_work::{AfterWork, ConductorCheck, RoundCheck, Verdict, Whereabouts};
pub use harmonic_neutral::cable_current_with_third_harmonic;
pub use neutral_connection::displacement_voltage;
pub use outcome::{Diagnosis, NotJudged, NothingFound, Shown, Trace};
pub use overload::OverloadTrace;
pub use page::Page;
pub use relief::Relief;
pub use story::{PhaseStory, StoryBlock, StoryDay, StoryPart};
pub use voltage_triangle::VoltageTrace;
pub use voltage_unbalance::motor_derating;

use finding::Kind;
use metering::Logs;
use site::{Node, Quantity, Site};
use view::View;

/// Looks for everything that the logs can show.
pub fn diagnose(site: &Site, logs: &Logs) -> Diagnosis {
    let mut diagnosis = Diagnosis::default();
    let views: Vec<View<'_>> = logs.meters.iter().map(|log| View::new(site, log)).collect();
    for view in &views {
        joint::check(view, upstream(view, &views), &mut diagnosis);
        overload::check(view, logs, &mut diagnosis);
        meter_wiring::check(view, &mut diagnosis);
        harmonic_neutral::check(view, &mut diagnosis);
        neutral_connection::check(view, &mut diagnosis);
        voltage::check(view, logs, &mut diagnosis);
        voltage_unbalance::check(view, &mut diagnosis);
        unbalanced_load::check(view, logs, &mut diagnosis);
        unexplained_load::check(view, logs, &mut diagnosis);
    }
    frequency::check(&views, &mut diagnosis);
    meter_wiring::check_against_above(&views, &mut diagnosis);
    overload::unmetered(site, logs, &mut diagnosis);
    after_work::check(site, logs, &mut diagnosis);
    silence::break_it(&mut diagnosis);
    known::mark(site, &mut diagnosis);
    diagnosis.rank();
    diagnosis
}

/// The nearest meter above that logs the voltage of each phase.
fn upstream<'v, 's>(view: &View<'s>, views: &'v [View<'s>]) -> Option<&'v View<'s>> {
    let above = std::iter::successors(
        view.node().and_then(|node| view.site.parent(node)),
        |&node| view.site.parent(node),
    );
    let has_voltages = |other: &&View<'_>| other.by_phase(Quantity::Voltage).is_some();
    above.into_iter().find_map(|node: Node| {
        views
            .iter()
            .filter(|other| other.node() == Some(node))
            .find(has_voltages)
    })
}

/// The page about a kind of finding.
pub fn page(kind: Kind) -> Page {
    match kind {
        Kind::NeutralConnection => neutral_connection::PAGE,
        Kind::PhaseLoss => voltage::LOSS_PAGE,
        Kind::HighResistanceJoint => joint::PAGE,
        Kind::PhaseOverloaded => overload::PHASE_PAGE,
        Kind::NeutralOverloaded => overload::NEUTRAL_PAGE,
        Kind::HarmonicNeutral => harmonic_neutral::PAGE,
        Kind::MeterWiring => meter_wiring::PAGE,
        Kind::VoltageOutOfRange => voltage::RANGE_PAGE,
        Kind::FrequencyOutOfRange => frequency::PAGE,
        Kind::VoltageUnbalance => voltage_unbalance::PAGE,
        Kind::VoltageStep => voltage::STEP_PAGE,
        Kind::UnbalancedLoad => unbalanced_load::PAGE,
        Kind::UnexplainedLoad => unexplained_load::PAGE,
        Kind::AfterTheWork => after_work::PAGE,
    }
}
