//! Where new machines can go, as the page shows it.

use super::format::{amps, counted};
use export::{checks_table, places_table, together_table};
use placement::{Place, Placement, Together};
use tables::Table;
use units::grouped_digits;

/// Places shown of each machine.
const MOST_PLACES: usize = 6;

/// Machines that look for a place, with what was found.
#[derive(Clone, Debug, Default)]
pub struct NewMachines {
    /// Each machine for itself.
    pub apart: Vec<Placement>,
    /// All of them together, where there are several.
    pub together: Option<Together>,
}

/// The section of the page.
#[derive(Debug)]
pub(super) struct WantedView {
    pub(super) statement: String,
    pub(super) proof: String,
    pub(super) running: Vec<String>,
    pub(super) together: Table,
    pub(super) machines: Vec<MachineView>,
    pub(super) cautions: Vec<String>,
}

#[derive(Debug)]
pub(super) struct MachineView {
    pub(super) name: String,
    pub(super) verdict: String,
    pub(super) remarks: Vec<String>,
    pub(super) places: Table,
    pub(super) checks: Table,
}

impl WantedView {
    pub(super) fn new(wanted: &NewMachines) -> Option<WantedView> {
        let first = wanted.apart.first()?;
        let together = wanted.together.as_ref();
        Some(WantedView {
            statement: together.map_or_else(|| verdict(first), statement),
            proof: together.map_or_else(String::new, proof),
            running: together.map_or_else(Vec::new, |all| all.running_cost.sentences()),
            together: together.map(together_table).unwrap_or_default(),
            machines: wanted.apart.iter().map(machine).collect(),
            cautions: first.cautions.clone(),
        })
    }
}

fn statement(together: &Together) -> String {
    let count = together.machines.len();
    let fitting = together
        .machines
        .iter()
        .filter(|placed| placed.fits)
        .count();
    if together.all_fit {
        format!("All {count} fit together as things are.")
    } else {
        format!("{fitting} of {count} fit together as things are.")
    }
}

fn proof(together: &Together) -> String {
    let effect = &together.effect.neutral_rms_a;
    let neutral = format!(
        "The neutral goes from {} to {} rms with all of them.",
        amps(effect.before),
        amps(effect.after)
    );
    if together.is_best_of_all {
        format!(
            "{neutral} Of {} combinations of places every better one was ruled out.",
            grouped_digits(&together.combinations.to_string())
        )
    } else {
        format!(
            "{neutral} Best of {} combinations of places that were checked; better ones were not ruled out.",
            grouped_digits(&together.looked_at.to_string())
        )
    }
}

fn verdict(placement: &Placement) -> String {
    let fitting = placement.places.iter().filter(|place| place.fits).count();
    match placement.places.first() {
        Some(best) if best.fits => format!(
            "{} goes best at {} on {}.",
            placement.machine, best.circuit, best.connection
        ),
        _ if fitting == 0 => format!("{} fits nowhere as things are.", placement.machine),
        _ => String::new(),
    }
}

fn machine(placement: &Placement) -> MachineView {
    let fitting = placement.places.iter().filter(|place| place.fits).count();
    let best = placement.places.first();
    let mut remarks: Vec<String> = placement
        .failed_checks
        .iter()
        .take(4)
        .map(|reason| format!("In the way: {reason}."))
        .collect();
    remarks.extend(best.map(helps).unwrap_or_default());
    remarks.extend(placement.running_cost.sentences());
    remarks.extend(
        placement
            .typical
            .iter()
            .map(|typical| format!("Taken as typical: {typical}.")),
    );
    let starting = placement
        .starting_current_a
        .map_or_else(String::new, |current| {
            format!(", {} while it starts", amps(current))
        });
    MachineView {
        name: placement.machine.clone(),
        verdict: format!(
            "Design current {}{starting}. {fitting} of {} fit as things are, the others of the list left out.",
            amps(placement.design_current_a),
            counted(placement.places.len(), "place", "places"),
        ),
        remarks,
        places: places_table(placement, MOST_PLACES),
        checks: best.map(checks).unwrap_or_default(),
    }
}

fn checks(best: &Place) -> Table {
    let title = format!("Checks of {} on {}", best.circuit, best.connection);
    checks_table(best, &title)
}

/// What would make the best place fit.
fn helps(best: &Place) -> Vec<String> {
    let mut helps = Vec::new();
    if !best.moves_needed.is_empty() {
        let moves: Vec<String> = best
            .moves_needed
            .iter()
            .map(|needed| format!("{} from {} to {}", needed.machine, needed.from, needed.to))
            .collect();
        let fewest = if best.moves_are_fewest {
            "the fewest moves that do"
        } else {
            "fewer moves were not ruled out"
        };
        helps.push(format!(
            "{} on {} would fit after moving {} ({fewest}).",
            best.circuit,
            best.connection,
            moves.join(" and ")
        ));
    }
    for remedy in &best.remedies {
        helps.push(format!(
            "{} on {} would fit with {}.",
            best.circuit, best.connection, remedy.change
        ));
    }
    helps
}
