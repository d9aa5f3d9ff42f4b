//! From the installation and its logs to the problem.

use super::grid::AnalysisGrid;
use super::measured::{MeasuredNow, main_currents};
use super::nodes::node_at;
use super::profile::{Profile, from_draws, listed_basis, profile};
use super::units::units_of;
use crate::expected::ExpectedLoads;
use crate::pose::cap_estimates::cap_estimates;
use crate::pose::ways::ways_of;
use crate::problem::currents::Currents;
use crate::problem::problem::{Problem, ProblemError, ProblemNode, above};
use demand::complete_blocks;
use metering::Logs;
use site::{Node, Site};

/// The problem together with the data needed to report its solution by the site's names.
#[derive(Debug)]
pub(crate) struct Posed {
    pub(crate) problem: Problem,
    pub(crate) grid: AnalysisGrid,
    pub(crate) profiles: Vec<Profile>,
    /// Machines of each unit.
    pub(crate) members: Vec<Vec<usize>>,
    /// Circuits, in file order; the search does not see them.
    pub(crate) circuits: Vec<ProblemNode>,
    /// Which place each node of the problem is, then the circuits.
    pub(crate) places: Vec<Node>,
    /// What is measured at these places.
    pub(crate) seen: Vec<MeasuredNow>,
    pub(crate) notes: Vec<String>,
    /// What list and readings leave open, where there is no log.
    pub(crate) expected: Option<ExpectedLoads>,
}

impl Posed {
    /// Lets the search keep the devices of circuits as well, where the choice of phases can keep them
    /// at all; returns how many nodes there were before.
    pub(crate) fn watch_circuits(&mut self) -> usize {
        let before = self.problem.nodes().len();
        let kept = self.kept_circuits();
        self.problem.watch(kept);
        before
    }

    /// The circuits whose devices the choice of phases can keep at all.
    pub(crate) fn kept_circuits(&self) -> Vec<ProblemNode> {
        let kept = |circuit: &&ProblemNode| can_be_kept(&self.problem, circuit);
        self.circuits.iter().filter(kept).cloned().collect()
    }

    /// Is the resistance of any feeder known?
    pub(crate) fn has_feeders(&self) -> bool {
        self.problem
            .nodes()
            .iter()
            .any(|node| node.feeder.is_some())
    }
}

/// False where what stays, or a unit alone, passes the device's rating whatever the phases.
fn can_be_kept(problem: &Problem, circuit: &ProblemNode) -> bool {
    let (Some(limit), true) = (circuit.phase_limit_a, circuit.shares.len() > 1) else {
        return false;
    };
    let passes = |currents: &Currents| {
        (0..3)
            .filter_map(|position| currents.series(position))
            .flatten()
            .any(|current| above(current.norm(), Some(limit)) > 0.0)
    };
    !passes(&circuit.fixed)
        && circuit
            .shares
            .iter()
            .all(|share| !passes(problem.part(share)))
}

/// Poses the problem of a site.
///
/// # Errors
///
/// [`ProblemError`] where the parts are inconsistent.
pub(crate) fn pose(site: &Site, logs: &Logs) -> Result<Posed, ProblemError> {
    let grid = AnalysisGrid::choose(site, logs);
    let mut notes = Vec::new();
    if grid.typical && !grid.by_hand {
        notes.push(
            "no log has values per phase: the analysis uses a typical week made of ratings, utilisation factors and schedules"
                .to_owned(),
        );
    }
    note_work(site, &grid, &mut notes);
    let mut expected = grid.typical.then(|| ExpectedLoads::new(site, logs, &grid));
    let mut profiles: Vec<Profile> = (0..site.machines.len())
        .map(|machine| match &expected {
            Some(expected) => {
                let listed = &site.machines[machine];
                let draws = expected.draws_of(site, machine);
                let basis = expected
                    .basis(machine)
                    .unwrap_or_else(|| listed_basis(listed));
                from_draws(site, listed, &draws, basis)
            }
            None => profile(site, logs, &grid, machine, &mut notes),
        })
        .collect();
    let main = grid
        .main
        .and_then(|meter| main_currents(site, logs, &grid, meter, &mut notes));
    note_readings(site, logs, &grid, expected.as_ref(), &mut notes);
    if let Some(main) = &main {
        cap_estimates(site, &mut profiles, &main.phases, &mut notes);
    }
    let (mut units, members) = units_of(site, &profiles);
    if let Some(expected) = &mut expected {
        expected.set_units(site, &members);
        for (index, unit) in units.iter_mut().enumerate() {
            unit.currents.add(&expected.not_listed(0, Some(index)));
        }
    }
    let places = site.nodes();
    let (mut nodes, seen): (Vec<ProblemNode>, Vec<MeasuredNow>) = places
        .iter()
        .map(|&place| {
            node_at(
                site,
                logs,
                &grid,
                place,
                expected.as_ref(),
                &profiles,
                &members,
                main.as_ref(),
                &mut notes,
            )
        })
        .unzip();
    let circuits = nodes.split_off(1 + site.boards.len());
    let supply = nodes.remove(0);
    let ways = ways_of(site, &members);
    let mut problem = Problem::new(grid.starts.len(), units, supply, nodes, ways)?;
    let blocks = complete_blocks(site, &grid.starts, grid.interval_s);
    if !blocks.is_empty() {
        problem = problem.with_blocks(blocks)?;
    }
    Ok(Posed {
        problem,
        grid,
        profiles,
        members,
        circuits,
        places,
        seen,
        notes,
        expected,
    })
}

/// Before work the machines were elsewhere than the list has them.
fn note_work(site: &Site, grid: &AnalysisGrid, notes: &mut Vec<String>) {
    let Some(work) = site.works.last() else {
        return;
    };
    let done = work.done.timestamp();
    let older = grid.starts.iter().filter(|&&start| start < done).count();
    if grid.typical || older == 0 || older == grid.starts.len() {
        return;
    }
    let date = work.done.with_timezone(&site.timezone).format("%Y-%m-%d");
    notes.push(format!(
        "{older} of {} intervals are from before the work of {date}, when machines were elsewhere than the list has them: \
         `--from {date}` leaves them out",
        grid.starts.len()
    ));
}

/// What the readings are used for, and what they contradict.
fn note_readings(
    site: &Site,
    logs: &Logs,
    grid: &AnalysisGrid,
    expected: Option<&ExpectedLoads>,
    notes: &mut Vec<String>,
) {
    if logs.rounds.is_empty() {
        return;
    }
    let Some(expected) = expected.filter(|_| grid.by_hand) else {
        notes.push(
            "`readings.csv` is not used: the logs contain more than rounds of readings".to_owned(),
        );
        return;
    };
    let rounds = logs.rounds.len();
    notes.push(format!(
        "measured by clamp meter: {} from `readings.csv`; what each load draws is estimated from the machine list and the \
         readings together, and the plan is made for the hours of the schedules, of which the rounds are samples; angles \
         follow the power factors of the machine list",
        if rounds == 1 { "1 round of readings".to_owned() } else { format!("{rounds} rounds of readings") }
    ));
    notes.extend(expected.notes(site, logs));
    for (meter, declared) in site.meters.iter().enumerate() {
        if logs.of(meter).is_some() {
            notes.push(format!(
                "the log of meter `{}` has no values per phase and is not compared with the readings",
                declared.id
            ));
        }
    }
}
