//! The moves as work: order, terminals, ways, tests and cautions.

use num_complex::Complex64;
use schemars::JsonSchema;
use serde::Serialize;

use super::effect::{Effects, PlannedChange};
use super::order_rules::{NEUTRAL, Obstacle, Rules};
use super::order_search::{Order, find_order};
use crate::pose::connections::{connection_at, connection_now, moves_with_circuit};
use crate::pose::from_site::Posed;
use crate::pose::grid::at;
use electrical::Phase;
use site::{Connection, Node, Site};
use units::format_moment;

/// A load with current in this share of the intervals counts as running all the time.
const ALL_THE_TIME: f64 = 0.95;

/// The plan as work in an order in which nothing is overloaded on the way.
#[derive(Clone, Debug, Default, PartialEq, JsonSchema, Serialize)]
pub struct WorkOrder {
    /// One after the other.
    pub steps: Vec<WorkStep>,
    /// Can every step be made on its own, without exceeding a limit of current or of ways between
    /// two steps? Where a limit is exceeded now or by the plan itself, no step makes it worse.
    pub one_by_one: bool,
    /// Where not: is it certain that it cannot be done with smaller steps?
    pub searched_all: bool,
    /// What to test after each step.
    pub tests: Vec<String>,
    /// Cautions for all the work.
    pub cautions: Vec<String>,
    /// Caution about conductor colours; `None` where the site's own marks cannot be confused.
    pub colour_caution: Option<String>,
}

impl WorkOrder {
    /// What to test after each step, with what its kinds of loads ask for besides.
    #[must_use]
    pub fn all_tests(&self) -> Vec<&str> {
        let mut all: Vec<&str> = self.tests.iter().map(String::as_str).collect();
        for work in self.steps.iter().flat_map(|step| &step.moves) {
            if !all.contains(&work.test.as_str()) {
                all.push(&work.test);
            }
        }
        all
    }

    /// Number of moves: a circuit that moves as a whole counts once, machines kept together each.
    #[must_use]
    pub fn moves(&self) -> usize {
        let all = self.steps.iter().flat_map(|step| &step.moves);
        all.map(|work| match work.circuit {
            Some(_) => 1,
            None => work.machines.len(),
        })
        .sum()
    }
}

/// What is done in one go.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct WorkStep {
    /// From 1.
    pub number: usize,
    /// Usually one; several are exchanged while the boards named in `boards_off` are off.
    pub moves: Vec<WorkMove>,
    /// Boards (or the supply) that must be off for the whole of the step.
    pub boards_off: Vec<String>,
    /// Why its moves cannot be made one by one.
    pub reason: Option<String>,
    /// Free single-pole ways on the boards concerned.
    pub ways: Vec<WaysCount>,
    /// Neutral at the supply once this step is done, rms over the analysis intervals; `None` while
    /// a load is not yet connected. (A)
    pub neutral_rms_after_a: Option<f64>,
}

/// One thing that changes its phase.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct WorkMove {
    /// The machines that move, those kept together as one.
    pub machines: Vec<String>,
    /// The one- or two-phase circuit that moves as a whole.
    pub circuit: Option<String>,
    /// The board or circuit at which the conductors are moved.
    pub at: String,
    /// The board that this belongs to.
    pub board: String,
    /// From; `any` where it is not connected yet.
    pub from: Connection,
    /// To.
    pub to: Connection,
    /// Marks of its conductors now, in the site's words.
    pub from_marks: Option<String>,
    /// Marks of the conductors it goes to.
    pub to_marks: Option<String>,
    /// Mark of the neutral that goes with it; `None` where unknown, or where it has no neutral.
    pub neutral_mark: Option<String>,
    /// Largest phase current of an interval, to be expected at the test. (A)
    pub current_max_a: f64,
    /// What to test on this load.
    pub test: String,
    /// Cautions for this load.
    pub cautions: Vec<String>,
}

/// Free single-pole ways of one board.
#[derive(Clone, Debug, PartialEq, Eq, JsonSchema, Serialize)]
pub struct WaysCount {
    /// The board.
    pub board: String,
    /// Free on L1, L2, L3 before the step.
    pub free_before: [usize; 3],
    /// Free after it.
    pub free_after: [usize; 3],
}

/// The work that leads from now to a plan.
pub(crate) fn work_order(
    site: &Site,
    posed: &Posed,
    changes: &[PlannedChange],
    effects: &Effects,
) -> WorkOrder {
    if changes.is_empty() {
        return WorkOrder {
            one_by_one: true,
            searched_all: true,
            ..WorkOrder::default()
        };
    }
    let rules = Rules::new(&posed.problem, &posed.circuits, changes);
    let order = find_order(&rules, effects, changes.len());
    let connected = posed.problem.current().is_some();
    let mut done = vec![false; changes.len()];
    let mut steps = Vec::new();
    for (position, (step, obstacle)) in order.steps.iter().zip(&order.obstacles).enumerate() {
        let before = done.clone();
        for &change in step {
            done[change] = true;
        }
        let moves: Vec<WorkMove> = step
            .iter()
            .map(|&change| work_move(site, posed, &changes[change]))
            .collect();
        steps.push(WorkStep {
            number: position + 1,
            boards_off: if step.len() > 1 {
                boards(&moves)
            } else {
                Vec::new()
            },
            reason: (step.len() > 1).then(|| reason(site, posed, &rules, *obstacle)),
            moves,
            ways: ways(posed, &rules, changes, step, &before, &done),
            neutral_rms_after_a: connected.then(|| effects.rms(&done)),
        });
    }
    WorkOrder {
        steps,
        one_by_one: is_one_by_one(&order),
        searched_all: order.is_exact,
        tests: tests(),
        cautions: cautions(),
        colour_caution: colour_caution(site.supply.conductor_marks.as_ref()),
    }
}

fn is_one_by_one(order: &Order) -> bool {
    order.steps.iter().all(|step| step.len() == 1)
}

fn boards(moves: &[WorkMove]) -> Vec<String> {
    let mut boards: Vec<String> = Vec::new();
    for work in moves {
        if !boards.contains(&work.board) {
            boards.push(work.board.clone());
        }
    }
    boards
}

fn work_move(site: &Site, posed: &Posed, change: &PlannedChange) -> WorkMove {
    let members = &posed.members[change.unit];
    let first = members[0];
    let kind = connection_now(site, first);
    let from = change.from.map_or(kind, |turn| connection_at(kind, turn));
    let to = connection_at(kind, change.to);
    let circuit = moves_with_circuit(site, first);
    let place = match circuit {
        Some(circuit) => site.circuits[circuit].board,
        None => site.machines[first].tapped_off,
    };
    let board = std::iter::successors(Some(place), |&place| site.parent(place))
        .find(|place| !matches!(place, Node::Circuit(_)))
        .unwrap_or(Node::Supply);
    let marks = site.supply.conductor_marks.as_ref();
    WorkMove {
        machines: members
            .iter()
            .map(|&machine| site.machines[machine].name.clone())
            .collect(),
        circuit: circuit.map(|circuit| site.circuits[circuit].id.clone()),
        at: site.node_name(place).to_owned(),
        board: site.node_name(board).to_owned(),
        from,
        to,
        from_marks: marks.and_then(|marks| marks_of(marks, from)),
        to_marks: marks.and_then(|marks| marks_of(marks, to)),
        neutral_mark: marks
            .filter(|_| matches!(to, Connection::ToNeutral(_)))
            .map(|marks| marks[3].clone()),
        current_max_a: largest_current(site, posed, change.unit),
        test: test_of(to).to_owned(),
        cautions: cautions_of(site, posed, change, members),
    }
}

/// Marks of a connection's conductors, in the order of its name.
fn marks_of(marks: &[String; 4], connection: Connection) -> Option<String> {
    let of = |phase: Phase| marks[phase.index()].clone();
    match connection {
        Connection::ToNeutral(phase) => Some(of(phase)),
        Connection::Between(pair) => {
            let (one, other) = pair.phases();
            Some(format!("{}, {}", of(one), of(other)))
        }
        Connection::ThreePhase { .. } => Some(Phase::ALL.map(of).join(", ")),
        Connection::Any | Connection::AnyPair | Connection::Unknown => None,
    }
}

/// The largest current that a clamp meter may show: the third harmonics of the loads are taken as in phase.
fn largest_current(site: &Site, posed: &Posed, unit: usize) -> f64 {
    let mut largest: f64 = 0.0;
    for interval in 0..posed.grid.starts.len() {
        for position in 0..3 {
            let mut fundamental = Complex64::ZERO;
            let mut third = 0.0;
            for &machine in &posed.members[unit] {
                let current = posed.profiles[machine].currents.at(position, interval);
                fundamental += current;
                third += site.machines[machine].third_harmonic * current.norm();
            }
            largest = largest.max(fundamental.norm().hypot(third));
        }
    }
    largest
}

fn test_of(to: Connection) -> &'static str {
    match to {
        Connection::ThreePhase { .. } => {
            "Three-phase machine: check phase rotation before use, and the three line-to-line voltages."
        }
        Connection::Between(_) | Connection::AnyPair => {
            "Load between two phases: measure the voltage between them; check that it uses no neutral."
        }
        Connection::ToNeutral(_) | Connection::Any | Connection::Unknown => {
            "Load to neutral: measure the voltage between its line conductor and its own neutral."
        }
    }
}

fn cautions_of(
    site: &Site,
    posed: &Posed,
    change: &PlannedChange,
    members: &[usize],
) -> Vec<String> {
    let mut cautions = Vec::new();
    if members.len() > 1 && moves_with_circuit(site, members[0]).is_none() {
        cautions.push("kept together: move them in the same visit, to the same phase".to_owned());
    }
    if change.from.is_some() && runs_all_the_time(site, posed, change.unit) {
        cautions.push("runs nearly all the time: agree a shutdown".to_owned());
    }
    if members
        .iter()
        .any(|&machine| site.machines[machine].third_harmonic >= 0.15)
    {
        cautions.push(
            "strong third harmonic: moving it does not reduce its third harmonic in the neutral"
                .to_owned(),
        );
    }
    cautions
}

fn runs_all_the_time(site: &Site, posed: &Posed, unit: usize) -> bool {
    let currents = &posed.problem.units()[unit].currents;
    let intervals = posed.grid.starts.len();
    let least = 0.02 * largest_current(site, posed, unit);
    let running = (0..intervals)
        .filter(|&interval| (0..3).any(|k| currents.at(k, interval).norm() > least))
        .count();
    // A few rounds of readings, taken while machines ran, show nothing about other times.
    !posed.grid.by_hand && running as f64 >= ALL_THE_TIME * intervals as f64
}

fn ways(
    posed: &Posed,
    rules: &Rules<'_>,
    changes: &[PlannedChange],
    step: &[usize],
    before: &[bool],
    after: &[bool],
) -> Vec<WaysCount> {
    let units: Vec<usize> = step.iter().map(|&change| changes[change].unit).collect();
    posed
        .problem
        .ways()
        .iter()
        .enumerate()
        .filter(|(_, board)| board.uses.iter().any(|(unit, _)| units.contains(unit)))
        .map(|(index, board)| {
            let free = |done: &[bool]| {
                let taken = rules.taken(index, done);
                [0, 1, 2].map(|k| board.free[k].saturating_sub(taken[k]))
            };
            WaysCount {
                board: board.name.clone(),
                free_before: free(before),
                free_after: free(after),
            }
        })
        .collect()
}

fn reason(site: &Site, posed: &Posed, rules: &Rules<'_>, obstacle: Option<Obstacle>) -> String {
    match obstacle {
        Some(Obstacle::Way { board, phase }) => format!(
            "one at a time, {} would have no free way on {}",
            posed.problem.ways()[board].name,
            Phase::ALL[phase]
        ),
        Some(Obstacle::Current {
            node,
            conductor,
            interval,
            current_a,
            limit_a,
        }) => format!(
            "one at a time, {} of {} would reach {current_a:.1} A (limit {limit_a} A), as on {}",
            conductor_name(conductor),
            rules.nodes()[node].name,
            format_moment(at(posed.grid.starts[interval]).with_timezone(&site.timezone)),
        ),
        None => "no order in smaller steps was found".to_owned(),
    }
}

/// L1, L2, L3 or N.
pub(crate) fn conductor_name(conductor: usize) -> &'static str {
    if conductor == NEUTRAL {
        "N"
    } else {
        Phase::ALL[conductor].name()
    }
}

/// IEC 60364-6 requires these after an alteration; local rules may require more.
fn tests() -> Vec<String> {
    [
        "Dead tests: continuity of the protective conductor and insulation resistance of the altered circuit; polarity.",
        "Live tests: polarity; operation of the protective device, and of the residual-current device (RCD) where there is one.",
        "Clamp meter: the load's current is on its new phase and not on the old one; around line and neutral together the reading is near zero.",
        "Update the circuit chart and the machine list before the next step.",
    ]
    .map(str::to_owned)
    .to_vec()
}

fn cautions() -> Vec<String> {
    [
        "For each step isolate the whole board, lock off and prove dead: with only the circuit off, the busbars and terminals in the board stay live.",
        "Move the neutral with its line conductor: same board, same protective device, same RCD. First check for a neutral shared by circuits on different phases.",
        "Protective devices and cables are not checked here: check both for the new connection.",
    ]
    .map(str::to_owned)
    .to_vec()
}

/// BS 7671:2001 amendment 2:2004: red, yellow, blue with black neutral became brown, black, grey
/// with blue neutral; the new colours alone since 1 April 2006.
fn colour_caution(marks: Option<&[String; 4]>) -> Option<String> {
    let confusing = |mark: &String| {
        let mark = mark.to_lowercase();
        mark.contains("black") || mark.contains("blue")
    };
    let known = match marks {
        Some(marks) if !marks.iter().any(confusing) => return None,
        Some(_) => {
            "The conductor colours of this site belong to one of two codes that can be confused"
        }
        None => "The conductor colours of this site are not declared",
    };
    Some(format!(
        "{known}: in British installations black was the neutral until 2004 (with red, yellow, blue) and is L2 since (with brown, black, grey); blue was L3 and is now the neutral. Boards altered since may have both: identify each conductor by test, never by colour (BS 7671:2001 amendment 2:2004)."
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Wiring colours before and after BS 7671:2001 amendment 2:2004 (from 31 March 2004, alone
    /// from 1 April 2006): L1/L2/L3/N red/yellow/blue/black became brown/black/grey/blue.
    #[test]
    fn both_codes_and_unknown_marks_are_warned_of() {
        let marks = |words: [&str; 4]| words.map(str::to_owned);
        let old = marks(["red", "yellow", "blue", "black"]);
        let new = marks(["brown", "Black", "grey", "blue"]);
        for marks in [Some(&old), Some(&new), None] {
            let caution = colour_caution(marks).expect("a caution");
            assert!(caution.contains("black was the neutral") && caution.contains("blue was L3"));
        }
        assert_eq!(colour_caution(Some(&marks(["1", "2", "3", "0"]))), None);
    }
}
