//! All connection points of a machine, checked and ranked.

use rayon::prelude::*;

use super::check::{Check, CheckName};
use super::connection_point::ConnectionPoint;
use super::load::NewLoad;
use super::moves::moves_that_help;
use super::network::DiversityRule;
use super::placement_error::PlacementError;
use super::ranked_point::{Placement, RankedPoint};
use super::remedy::remedies;
use super::running_cost::running_cost;
use super::scene::Scene;
use super::settings::PlacementSettings;
use super::supply_effect::SupplyEffect;
use balance::BasedOn;
use electrical::{Phase, PhasePair};
use metering::Logs;
use site::{Connection, NewMachine, Node, Site};
use units::Basis;

/// Neutral currents closer than this count as equal, and the shorter cable decides. (A)
const EQUAL_NEUTRAL_A: f64 = 0.05;

/// Neutral currents are compared in steps, so that the ranking does not depend on the order of comparison.
pub(super) fn neutral_step(neutral_rms_a: f64) -> i64 {
    (neutral_rms_a / EQUAL_NEUTRAL_A).round() as i64
}

/// Cautions of every placement.
pub(super) const CAUTIONS: [&str; 4] = [
    "Not checked: fault level and breaking capacity, disconnection times, type of residual-current device (RCD), \
     earthing and bonding.",
    "Ambient temperature and grouping are included only through the `derating` of a cable; harmonics other than the \
     third are not included.",
    "A competent person and the local wiring rules decide whether and how the machine is connected; the \
     manufacturers' data of machine, device and cable take precedence over assumed values.",
    "Isolate, lock off and prove dead before opening a board; test, check the rotation of a three-phase machine, and \
     update the circuit chart.",
];

/// First caution where a machine generates.
const GENERATION_CAUTION: &str = "Generation: whether, where and how it may be connected is for the network operator to decide, \
     with its protection against feeding an isolated network. A circuit or board fed from two sides can be overloaded \
     without either device tripping: its conductors must carry the sum of the devices that feed it, or it needs a \
     circuit of its own.";

/// Checks and ranks every connection point of a machine.
///
/// # Errors
///
/// [`PlacementError`] where nothing can feed the machine, or the site cannot be analysed.
pub fn place(
    site: &Site,
    logs: &Logs,
    new: &NewMachine,
    settings: &PlacementSettings,
) -> Result<Placement, PlacementError> {
    let scene = Scene::new(site, logs, settings)?;
    let load = NewLoad::new(site, logs, &scene.standing, new);
    let spots = spots(site, new)?;
    let effects: [SupplyEffect; 3] = [0, 1, 2].map(|turn| {
        scene
            .observer
            .effect(&scene.network.supply, &[(&load, turn)])
    });
    let spot_at = |at: (Node, Connection)| scene.spot((0, &load), at, &[]);
    let mut found: Vec<(RankedPoint, Node)> = spots
        .par_iter()
        .map(|&at| {
            let spot = spot_at(at);
            (described(&spot, &effects[spot.turn()]), at.0)
        })
        .collect();
    rank(&mut found);
    let mut looked = 0;
    for (place, node) in &mut found {
        if place.fits {
            continue;
        }
        let spot = spot_at((*node, place.connection));
        place.remedies = remedies(&spot, &place.checks);
        if looked < settings.places_with_moves {
            looked += 1;
            if let Some(found) = moves_that_help(&scene.standing, &spot, &place.checks) {
                place.moves_needed = found.moves;
                place.moves_are_fewest = found.are_fewest;
            }
        }
    }
    rank(&mut found);
    let places: Vec<RankedPoint> = found.into_iter().map(|(place, _)| place).collect();
    Ok(Placement {
        machine: new.machine.name.clone(),
        design_current_a: load.design_a,
        starting_current_a: load.starting_a(),
        profile: load.expected.basis,
        based_on: scene.standing.based_on(),
        intervals: scene.standing.starts().len(),
        interval_s: scene.standing.interval_s(),
        demand_window_min: site.demand_window_min,
        running_cost: running_cost(&scene, logs, &[&load]),
        typical: new.typical.clone(),
        failed_checks: failed_checks(&places),
        places,
        notes: notes(&scene, &[&load]),
        cautions: cautions(&load),
    })
}

fn cautions(load: &NewLoad) -> Vec<String> {
    let generation = load.generates().then_some(GENERATION_CAUTION);
    generation
        .into_iter()
        .chain(CAUTIONS)
        .map(str::to_owned)
        .collect()
}

/// Assumptions, one sentence each.
pub(super) fn notes(scene: &Scene<'_>, loads: &[&NewLoad]) -> Vec<String> {
    let mut notes = scene.standing.notes().to_vec();
    if loads.iter().any(|load| load.generates()) {
        notes.push(
            "for loading and voltage rise the machine gives its whole rating, at any time, also while nothing else draws, \
             together with the generation that is listed already; for neutral current it runs by its schedule at rating × \
             utilisation factor"
                .to_owned(),
        );
    } else if loads
        .iter()
        .any(|load| load.expected.basis != Basis::Measured)
    {
        notes.push(
            "for loading and voltage drop the machine runs at its rating whenever its schedule runs; for neutral current and \
             demand at rating × utilisation factor"
                .to_owned(),
        );
    }
    if scene.standing.based_on() == BasedOn::TypicalWeek {
        notes.push("maximum demand is not known without a log".to_owned());
    }
    notes.push(match scene.settings.diversity {
        DiversityRule::Factor(factor) => format!(
            "where there is no log, ratings are added up with diversity factor {factor} (`--diversity`)"
        ),
        DiversityRule::Assumed => {
            "where there is no log, ratings of boards are added up with the assumed loading factors of IEC 61439-2, \
             those of circuits in full"
                .to_owned()
        }
    });
    notes
}

/// Every node and connection that can feed the machine.
pub(super) fn spots(
    site: &Site,
    new: &NewMachine,
) -> Result<Vec<(Node, Connection)>, PlacementError> {
    let nodes = if new.candidates.is_empty() {
        (0..site.circuits.len())
            .map(Node::Circuit)
            .chain((0..site.boards.len()).map(Node::Board))
            .collect()
    } else {
        new.candidates.clone()
    };
    let connections: Vec<Connection> = match new.machine.connection {
        Connection::Any | Connection::Unknown => Phase::ALL.map(Connection::ToNeutral).to_vec(),
        Connection::AnyPair => PhasePair::ALL.map(Connection::Between).to_vec(),
        connection => vec![connection],
    };
    let has_phases = |node: Node, connection: Connection| match node {
        Node::Circuit(index) => match site.circuits[index].phases {
            Connection::ThreePhase { .. } => true,
            phases => phases == connection,
        },
        _ => true,
    };
    let spots: Vec<(Node, Connection)> = nodes
        .into_iter()
        .flat_map(|node| {
            connections
                .iter()
                .map(move |&connection| (node, connection))
        })
        .filter(|&(node, connection)| has_phases(node, connection))
        .collect();
    if spots.is_empty() {
        return Err(PlacementError::NoPlace(new.machine.name.clone()));
    }
    Ok(spots)
}

fn described(spot: &ConnectionPoint<'_>, effect: &SupplyEffect) -> RankedPoint {
    let (mut checks, mut not_checked) = (Vec::new(), Vec::new());
    spot.check(&mut checks, &mut not_checked);
    RankedPoint {
        circuit: spot.network.site.node_name(spot.node).to_owned(),
        connection: spot.connection,
        fits: checks.iter().all(|check| check.pass),
        rank: 0,
        reason: String::new(),
        device: spot.own.device,
        cable_mm2: spot.own.mm2,
        checks,
        not_checked,
        effect: *effect,
        path_m: spot.path_m(),
        moves_needed: Vec::new(),
        moves_are_fewest: false,
        remedies: Vec::new(),
    }
}

pub(super) fn failing(place: &RankedPoint) -> impl Iterator<Item = &Check> {
    place.checks.iter().filter(|check| !check.pass)
}

/// Does it fail for nothing but a danger that is to be repaired?
fn waits_for_repair(place: &RankedPoint) -> bool {
    !place.fits && failing(place).all(|check| check.check == CheckName::RepairFirst)
}

/// Those that pass first, then those that pass after moves or another device or cable; lowest neutral current next,
/// shortest cable next, then the order of the site file.
fn rank(found: &mut [(RankedPoint, Node)]) {
    let class = |place: &RankedPoint| match place {
        place if place.fits => (0, 0),
        place if !place.moves_needed.is_empty() => (1, place.moves_needed.len()),
        place if waits_for_repair(place) => (2, 0),
        place if !place.remedies.is_empty() => (2, place.remedies.len()),
        place => (3, failing(place).count()),
    };
    let step = |place: &RankedPoint| neutral_step(place.effect.neutral_rms_a.after);
    found.sort_by(|(a, _), (b, _)| {
        class(a)
            .cmp(&class(b))
            .then(step(a).cmp(&step(b)))
            .then(a.path_m.total_cmp(&b.path_m))
    });
    for (index, (place, _)) in found.iter_mut().enumerate() {
        place.rank = index + 1;
        place.reason = reason(place);
    }
}

fn reason(place: &RankedPoint) -> String {
    let neutral = format!(
        "neutral {:.1} A rms, {:.0} m of cable",
        place.effect.neutral_rms_a.after, place.path_m
    );
    if place.fits {
        return format!("passes; {neutral}");
    }
    if waits_for_repair(place) {
        let repairs: Vec<String> = failing(place)
            .map(|check| format!("{} ({})", check.at, check.basis))
            .collect();
        return format!(
            "repair first: {}; passes after that; {neutral}",
            repairs.join(", ")
        );
    }
    let fails = fails(&place.checks);
    match (place.moves_needed.len(), place.remedies.first()) {
        (0, None) => format!("{fails}; {neutral}"),
        (0, Some(remedy)) => format!(
            "{fails}; would pass with {}, if the whole circuit suits it",
            remedy.change
        ),
        (1, _) => format!("{fails}; passes after 1 move; {neutral}"),
        (moves, _) => format!("{fails}; passes after {moves} moves; {neutral}"),
    }
}

/// The checks that fail, each once.
pub(super) fn fails(checks: &[Check]) -> String {
    let mut names: Vec<String> = Vec::new();
    for check in checks.iter().filter(|check| !check.pass) {
        let name = format!("{} ({})", check.check.name(), check.at);
        if !names.contains(&name) {
            names.push(name);
        }
    }
    format!("fails {}", names.join(", "))
}

/// The checks that fail, with the number of connection points that fail each; empty where one passes.
fn failed_checks(places: &[RankedPoint]) -> Vec<String> {
    if places.iter().any(|place| place.fits) {
        return Vec::new();
    }
    let mut counts: Vec<(String, usize)> = Vec::new();
    for place in places {
        for check in failing(place) {
            let name = format!("{} at {}", check.check.name(), check.at);
            match counts.iter_mut().find(|(known, _)| *known == name) {
                Some((_, count)) => *count += 1,
                None => counts.push((name, 1)),
            }
        }
    }
    counts.sort_by_key(|&(_, count)| std::cmp::Reverse(count));
    counts
        .into_iter()
        .map(|(name, count)| {
            format!(
                "{name}: fails at {count} of {} connection points",
                places.len()
            )
        })
        .collect()
}
