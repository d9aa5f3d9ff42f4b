//! New machines and their connection points, as the page shows them.

use super::format::{amps, counted, quoted};
use export::{checks_table, places_table, together_table};
use placement::{Placement, RankedPoint, Together};
use tables::Table;
use units::grouped_digits;

/// Connection points shown for each machine.
const MOST_PLACES: usize = 6;

/// New machines, with the connection points found for them.
#[derive(Clone, Debug, Default)]
pub struct NewMachines {
    /// Each machine on its own.
    pub apart: Vec<Placement>,
    /// All of them together, where there are several.
    pub together: Option<Together>,
}

/// The section of the page.
#[derive(Debug)]
pub(super) struct NewMachinesView {
    pub(super) statement: String,
    pub(super) proof: String,
    pub(super) running: Vec<String>,
    pub(super) together: Table,
    pub(super) machines: Vec<NewMachineView>,
    pub(super) cautions: Vec<String>,
}

#[derive(Debug)]
pub(super) struct NewMachineView {
    pub(super) name: String,
    pub(super) verdict: String,
    pub(super) remarks: Vec<String>,
    pub(super) places: Table,
    pub(super) checks: Table,
}

impl NewMachinesView {
    pub(super) fn new(all: &NewMachines) -> Option<NewMachinesView> {
        let first = all.apart.first()?;
        let together = all.together.as_ref();
        Some(NewMachinesView {
            statement: together.map_or_else(|| verdict(first), statement),
            proof: together.map_or_else(String::new, proof),
            running: together.map_or_else(Vec::new, |together| together.running_cost.sentences()),
            together: together.map(together_table).unwrap_or_default(),
            machines: all.apart.iter().map(machine).collect(),
            cautions: first.cautions.iter().map(|line| quoted(line)).collect(),
        })
    }
}

fn statement(together: &Together) -> String {
    let count = together.machines.len();
    let passing = together
        .machines
        .iter()
        .filter(|placed| placed.fits)
        .count();
    if together.all_fit {
        format!("All {count} new machines pass together now.")
    } else {
        format!("{passing} of {count} new machines pass together now.")
    }
}

fn proof(together: &Together) -> String {
    let effect = &together.effect.neutral_rms_a;
    let neutral = format!(
        "Neutral current: {} rms now, {} rms with all of them.",
        amps(effect.before),
        amps(effect.after)
    );
    if together.is_best_of_all {
        format!(
            "{neutral} Proven best of {} combinations of connection points.",
            grouped_digits(&together.combinations.to_string())
        )
    } else {
        format!(
            "{neutral} Best of the {} combinations of connection points that were checked; not proven best.",
            grouped_digits(&together.looked_at.to_string())
        )
    }
}

pub(super) fn verdict(placement: &Placement) -> String {
    let passing = placement.places.iter().filter(|place| place.fits).count();
    match placement.places.first() {
        Some(best) if best.fits => format!(
            "Best connection point for {}: {} on {}.",
            placement.machine, best.circuit, best.connection
        ),
        _ if passing == 0 => format!("No connection point passes now for {}.", placement.machine),
        _ => String::new(),
    }
}

fn machine(placement: &Placement) -> NewMachineView {
    let passing = placement.places.iter().filter(|place| place.fits).count();
    let best = placement.places.first();
    let mut remarks: Vec<String> = placement
        .failed_checks
        .iter()
        .take(4)
        .map(|reason| format!("Why it fails: {reason}."))
        .collect();
    remarks.extend(best.map(helps).unwrap_or_default());
    remarks.extend(placement.running_cost.sentences());
    remarks.extend(
        placement
            .typical
            .iter()
            .map(|typical| format!("Assumed, not on the rating plate: {typical}.")),
    );
    let starting = placement
        .starting_current_a
        .map_or_else(String::new, |current| {
            format!(", {} on starting", amps(current))
        });
    NewMachineView {
        name: placement.machine.clone(),
        verdict: format!(
            "Design current {}{starting}. {passing} of {} pass now; the table shows the best.",
            amps(placement.design_current_a),
            counted(
                placement.places.len(),
                "connection point",
                "connection points"
            ),
        ),
        remarks,
        places: places_table(placement, MOST_PLACES),
        checks: best.map(checks).unwrap_or_default(),
    }
}

fn checks(best: &RankedPoint) -> Table {
    let title = format!("Checks of {} on {}", best.circuit, best.connection);
    checks_table(best, &title)
}

/// What would make the best connection point pass.
fn helps(best: &RankedPoint) -> Vec<String> {
    let mut helps = Vec::new();
    if !best.moves_needed.is_empty() {
        let moves: Vec<String> = best
            .moves_needed
            .iter()
            .map(|needed| format!("{} from {} to {}", needed.machine, needed.from, needed.to))
            .collect();
        let fewest = if best.moves_are_fewest {
            "the fewest moves possible"
        } else {
            "fewer moves may be enough"
        };
        helps.push(format!(
            "{} on {} would pass after moving {} ({fewest}).",
            best.circuit,
            best.connection,
            moves.join(" and ")
        ));
    }
    for remedy in &best.remedies {
        helps.push(format!(
            "{} on {} would pass with {}, if the whole circuit suits it: cable, disconnection time, short-circuit rating, other loads.",
            best.circuit, best.connection, remedy.change
        ));
    }
    helps
}
