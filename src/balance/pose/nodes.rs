//! The supply, boards and circuits as the problem sees them.

use super::connections::{connection_now, turn_of};
use super::grid::AnalysisGrid;
use super::measured::{MeasuredFigures, MeasuredNode, MeasuredNow, metered_board};
use super::profile::Profile;
use super::third_harmonic::add_third_harmonic;
use crate::expected::{ExpectedLoads, place_of};
use crate::problem::currents::Currents;
use crate::problem::feeder_resistance::FeederResistance;
use crate::problem::problem::{ProblemNode, Share};
use electrical::{Material, service_resistivity};
use metering::Logs;
use site::{Conductor, Connection, Node, Site};

/// A place of the tree as the problem sees it.
#[expect(
    clippy::too_many_arguments,
    reason = "a node is where everything meets"
)]
pub(crate) fn node_at(
    site: &Site,
    logs: &Logs,
    grid: &AnalysisGrid,
    place: Node,
    expected: Option<&ExpectedLoads>,
    profiles: &[Profile],
    members: &[Vec<usize>],
    main: Option<&MeasuredNode>,
    notes: &mut Vec<String>,
) -> (ProblemNode, MeasuredNow) {
    let below = |machine: usize| site.is_within(site.machines[machine].tapped_off, place);
    let mut movable = vec![false; profiles.len()];
    let mut shares = Vec::new();
    for (unit, list) in members.iter().enumerate() {
        for &machine in list {
            movable[machine] = true;
        }
        let here: Vec<usize> = list
            .iter()
            .copied()
            .filter(|&machine| below(machine))
            .collect();
        if here.is_empty() {
            continue;
        }
        let part = (here.len() < list.len()).then(|| {
            let mut sum = Currents::none();
            for &machine in &here {
                sum.add(&profiles[machine].currents);
            }
            sum
        });
        shares.push(Share { unit, part });
    }
    let own;
    let measured = if place == Node::Supply {
        main
    } else {
        own = metered_board(site, logs, grid, place, notes);
        own.as_ref()
    };
    let mut stays = match measured {
        Some(measured) => remainder(site, measured, profiles, &movable, &below),
        None => listed(site, profiles, &movable, &below),
    };
    let mut unresolved_square = measured.map_or([0.0; 4], |measured| measured.unresolved_square);
    if let Some(expected) = expected {
        let at = place_of(site, place);
        stays.fixed.add(&expected.not_listed(at, None));
        stays.beyond = expected.beyond(at);
        unresolved_square = expected.varying(at);
    }
    let node = ProblemNode {
        name: site.node_name(place).to_owned(),
        shares,
        fixed: stays.fixed,
        beyond: stays.beyond,
        unresolved_square,
        feeder: feeder(site, place),
        phase_limit_a: site.phase_limit_a(place),
        neutral_limit_a: site.neutral_limit_a(place),
    };
    let seen = MeasuredNow {
        is_measured: measured.is_some(),
        figures: stays.figures,
    };
    (node, seen)
}

/// Resistance of a board's feeder at service temperature.
fn feeder(site: &Site, place: Node) -> Option<FeederResistance> {
    let Node::Board(board) = place else {
        return None;
    };
    let cable = site.boards[board].feeder?;
    let material = match cable.conductor {
        Conductor::Copper => Material::Copper,
        Conductor::Aluminium => Material::Aluminium,
    };
    let ohm = |mm2: f64| service_resistivity(material) * cable.length_m / mm2;
    Some(FeederResistance {
        phase_ohm: ohm(cable.phase_mm2),
        neutral_ohm: ohm(cable.neutral_mm2),
    })
}

/// The fixed currents of a place.
struct Stays {
    fixed: Currents,
    beyond: Vec<f64>,
    figures: Option<MeasuredFigures>,
}

/// What is measured, less what can move away, stays where it is.
fn remainder(
    site: &Site,
    measured: &MeasuredNode,
    profiles: &[Profile],
    movable: &[bool],
    below: &dyn Fn(usize) -> bool,
) -> Stays {
    let mut fixed = Currents::new(measured.phases.clone().map(Some));
    if !measured.neutral_alone.is_empty() {
        fixed = fixed.with_neutral_alone(measured.neutral_alone.clone());
    }
    let mut beyond = measured.beyond.clone();
    let (mut third, mut third_on_top) = (Vec::new(), Vec::new());
    for (machine, profile) in profiles.iter().enumerate() {
        if !below(machine) {
            continue;
        }
        match turn_of(connection_now(site, machine)) {
            Some(turn) => {
                if movable[machine] {
                    fixed.subtract_turned(&profile.currents, turn);
                }
                if !measured.neutral_is_measured {
                    add_third_harmonic(site, machine, profile, &mut third);
                }
            }
            None if site.machines[machine].connection == Connection::Unknown => {}
            // Not connected yet: the meter has not seen it, and its harmonics come on top.
            None => add_third_harmonic(site, machine, profile, &mut third_on_top),
        }
    }
    let figures = measured.figures.as_ref().map(|figures| MeasuredFigures {
        now: measured.with_third_harmonics(&figures.now, &third),
        ..figures.clone()
    });
    combine(&mut beyond, &third, f64::hypot);
    combine(&mut beyond, &third_on_top, |beyond, third| beyond + third);
    Stays {
        fixed,
        beyond,
        figures,
    }
}

fn combine(sum: &mut Vec<f64>, more: &[f64], with: impl Fn(f64, f64) -> f64) {
    if !more.is_empty() {
        sum.resize(more.len(), 0.0);
    }
    for (sum, more) in sum.iter_mut().zip(more) {
        *sum = with(*sum, *more);
    }
}

/// Without a meter: the listed machines that stay, and the third harmonics of all.
fn listed(
    site: &Site,
    profiles: &[Profile],
    movable: &[bool],
    below: &dyn Fn(usize) -> bool,
) -> Stays {
    let mut fixed = Currents::none();
    let mut beyond = Vec::new();
    for (machine, profile) in profiles.iter().enumerate() {
        if !below(machine) {
            continue;
        }
        if let (Some(turn), false) = (turn_of(connection_now(site, machine)), movable[machine]) {
            fixed.add_turned(&profile.currents, turn);
        }
        add_third_harmonic(site, machine, profile, &mut beyond);
    }
    Stays {
        fixed,
        beyond,
        figures: None,
    }
}
