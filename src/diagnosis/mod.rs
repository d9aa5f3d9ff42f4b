//! Faults and limits exceeded, from the logs.
//!
//! In: the site as declared and the clean logs of its meters. Out: a [`Diagnosis`]: findings with their
//! evidence, worst first; checks that found no fault; checks not possible, and the data that they need. One file or folder per kind of finding.

mod accepted;
mod after_work;
mod contributors;
mod frequency;
mod held_back;
mod hours_of_week;
pub mod joint;
mod list_mismatch;
mod load_unbalance;
mod machine_power;
mod metering_fault;
mod neutral_fault;
mod neutral_harmonics;
mod outcome;
pub mod overload;
mod page;
mod phase_detail;
mod phase_loss;
mod plans;
mod relief;
#[cfg(test)]
mod samples;
mod star_point;
mod starters;
#[cfg(test)]
mod tests;
pub mod thresholds;
mod unjudged_kinds;
mod view;
mod voltage;
mod voltage_triangle;
mod voltage_unbalance;

pub use after_work::{AfterWork, ConductorCheck, RoundCheck};
pub use held_back::Ignored;
pub use neutral_fault::displacement_voltage;
pub use neutral_harmonics::cable_current_with_third_harmonic;
pub use outcome::{Diagnosis, NotJudged, NothingFound, Shown, Trace};
pub use overload::OverloadTrace;
pub use page::Page;
pub use phase_detail::{HalfHour, HalfHourPart, PhaseDay, PhaseDetail};
pub use relief::Relief;
pub use voltage_triangle::VoltageTrace;
pub use voltage_unbalance::motor_derating;

use balance::HeldBack;
use finding::Kind;
use metering::Logs;
use plans::Plans;
use site::{Node, Quantity, Site};
use star_point::StarPoint;
use view::View;

/// Looks for everything that the logs can show.
pub fn diagnose(site: &Site, logs: &Logs) -> Diagnosis {
    diagnose_ignoring(site, logs, &[])
}

/// The same; findings that the user ignores do not bind the moves that it gives.
pub fn diagnose_ignoring(site: &Site, logs: &Logs, ignored: &[Ignored]) -> Diagnosis {
    let views = views(site, logs);
    let mut diagnosis = conductor_faults(&views);
    let plans = Plans::new(site, logs, diagnosis.held_back(site, ignored));
    for view in &views {
        overload::check(view, logs, &plans, &mut diagnosis);
        metering_fault::check(view, &mut diagnosis);
        neutral_harmonics::check(view, &mut diagnosis);
        voltage::check(view, logs, &mut diagnosis);
        voltage_unbalance::check(view, &mut diagnosis);
        load_unbalance::check(view, &plans, &mut diagnosis);
        list_mismatch::check(view, logs, &mut diagnosis);
    }
    frequency::check(&views, &mut diagnosis);
    metering_fault::check_against_above(&views, &mut diagnosis);
    overload::unmetered(site, logs, &mut diagnosis);
    after_work::check(site, logs, &mut diagnosis);
    metering_fault::weigh_overloads(&mut diagnosis);
    unjudged_kinds::add_unjudged_kinds(&mut diagnosis);
    accepted::mark(site, &mut diagnosis);
    diagnosis.rank();
    diagnosis
}

/// The conductors that dangers keep from carrying more than now, without the other checks.
pub fn held_back(site: &Site, logs: &Logs, ignored: &[Ignored]) -> Vec<HeldBack> {
    conductor_faults(&views(site, logs)).held_back(site, ignored)
}

fn views<'s>(site: &'s Site, logs: &'s Logs) -> Vec<View<'s>> {
    logs.meters.iter().map(|log| View::new(site, log)).collect()
}

/// Faults of the conductors themselves: they come first, since they bind what the other checks may propose.
fn conductor_faults(views: &[View<'_>]) -> Diagnosis {
    let mut diagnosis = Diagnosis::default();
    for view in views {
        let star_point = StarPoint::of(view);
        let neutral = joint::check(view, upstream(view, views), &star_point, &mut diagnosis);
        neutral_fault::check(view, &star_point, neutral, &mut diagnosis);
        phase_loss::check(view, &star_point, &mut diagnosis);
    }
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
        Kind::NeutralFault => neutral_fault::PAGE,
        Kind::PhaseLoss => phase_loss::PAGE,
        Kind::HighResistanceJoint => joint::PAGE,
        Kind::PhaseOverload => overload::PHASE_PAGE,
        Kind::NeutralOverload => overload::NEUTRAL_PAGE,
        Kind::NeutralHarmonics => neutral_harmonics::PAGE,
        Kind::MeteringFault => metering_fault::PAGE,
        Kind::VoltageOutOfRange => voltage::RANGE_PAGE,
        Kind::FrequencyOutOfRange => frequency::PAGE,
        Kind::VoltageUnbalance => voltage_unbalance::PAGE,
        Kind::RapidVoltageChange => voltage::STEP_PAGE,
        Kind::LoadUnbalance => load_unbalance::PAGE,
        Kind::ListMismatch => list_mismatch::PAGE,
        Kind::WrongPhase => after_work::PAGE,
    }
}
