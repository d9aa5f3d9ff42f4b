//! Where new machines can go, as the page shows it.

use super::format::{amps, counted, number};
use super::table::Table;
use placement::{Check, Place, Placement, Together};
use units::grouped_digits;

/// Places shown of each machine.
const MOST_PLACES: usize = 6;

/// Machines that look for a place, with what was found.
#[derive(Clone, Debug, Default)]
pub struct Wanted {
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
    pub(super) together: Option<Table>,
    pub(super) machines: Vec<MachineView>,
    pub(super) cautions: Vec<String>,
}

#[derive(Debug)]
pub(super) struct MachineView {
    pub(super) name: String,
    pub(super) verdict: String,
    pub(super) remarks: Vec<String>,
    pub(super) places: Table,
    pub(super) checks: Option<Table>,
}

impl WantedView {
    pub(super) fn new(wanted: &Wanted) -> Option<WantedView> {
        let first = wanted.apart.first()?;
        let together = wanted.together.as_ref();
        Some(WantedView {
            statement: together.map_or_else(|| verdict(first), statement),
            proof: together.map_or_else(String::new, proof),
            running: together.map_or_else(Vec::new, |all| all.running_cost.sentences()),
            together: together.map(together_table),
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

fn together_table(together: &Together) -> Table {
    let rows = together
        .machines
        .iter()
        .map(|placed| {
            vec![
                placed.machine.clone(),
                placed.circuit.clone(),
                placed.connection.to_string(),
                fits(placed.fits),
                number(placed.design_current_a, 1),
                placed.device.map_or_else(
                    || "none of the series".to_owned(),
                    |device| device.to_string(),
                ),
                number(placed.path_m, 0),
                placed.reason.clone(),
            ]
        })
        .collect();
    let head = [
        "Machine",
        "At",
        "On",
        "As things are",
        "#Design current [A]",
        "Device",
        "#Path [m]",
        "Why not",
    ];
    Table::new("Placed together", &head, rows)
}

fn fits(fits: bool) -> String {
    if fits { "fits" } else { "does not fit" }.to_owned()
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
        .stands_in_the_way
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
        places: places_table(placement),
        checks: best.map(checks_table),
    }
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

fn places_table(placement: &Placement) -> Table {
    let rows = placement
        .places
        .iter()
        .take(MOST_PLACES)
        .map(|place| {
            vec![
                format!("{}. {}", place.rank, place.circuit),
                place.connection.to_string(),
                fits(place.fits),
                number(place.effect.neutral_rms_a.after, 1),
                number(place.path_m, 0),
                place.reason.clone(),
            ]
        })
        .collect();
    let head = [
        "Place, by rank",
        "On",
        "As things are",
        "#Neutral, rms [A]",
        "#Path [m]",
        "Reason",
    ];
    let caption = if placement.places.len() > MOST_PLACES {
        format!(
            "Places of {}, the best {MOST_PLACES} of {}",
            placement.machine,
            placement.places.len()
        )
    } else {
        format!("Places of {}", placement.machine)
    };
    Table::new(&caption, &head, rows)
}

fn checks_table(best: &Place) -> Table {
    let head = [
        "Check",
        "Result",
        "At",
        "#Value",
        "#Limit",
        "Unit",
        "Value rests on",
        "Source",
    ];
    let caption = format!("Checks of {} on {}", best.circuit, best.connection);
    Table::new(&caption, &head, best.checks.iter().map(check_row).collect())
}

fn check_row(check: &Check) -> Vec<String> {
    let rule = if check.check.is_at_least() {
        "≥"
    } else {
        "≤"
    };
    let is_count = check.check.name() == "ways";
    let decimals = if is_count { 0 } else { 2 };
    vec![
        check.check.name().replace('-', " "),
        if check.pass { "met" } else { "FAILS" }.to_owned(),
        check.at.clone(),
        number(check.value, decimals),
        format!("{rule}\u{A0}{}", number(check.limit, decimals)),
        if check.unit == "1" { "" } else { check.unit }.to_owned(),
        check.basis.clone(),
        check.source.to_owned(),
    ]
}
