//! Several new machines placed together.
//!
//! In: a list of machines. Out: a connection point for each, so that as many as possible pass together and the
//! neutral current is lowest, never worse than placing one after another; and whether the result is proven best.

mod choices;
mod in_order;
mod neutral_form;
mod result;
mod search;

pub use result::{OneAfterTheOther, PlacedMachine, Together};

use super::load::NewLoad;
use super::placement_error::PlacementError;
use super::running_cost::running_cost;
use super::scene::Scene;
use super::search::{CAUTIONS, notes};
use super::settings::PlacementSettings;
use metering::Logs;
use search::PlacesSearch;
use site::{NewMachine, Site};

/// Chooses a connection point for every machine of a list, all together.
///
/// # Errors
///
/// [`PlacementError`] where nothing can feed one of the machines, or the site cannot be analysed.
pub fn place_together(
    site: &Site,
    logs: &Logs,
    machines: &[NewMachine],
    settings: &PlacementSettings,
) -> Result<Together, PlacementError> {
    if let Some(new) = machines.iter().find(|new| new.machine.generates()) {
        let name = new.machine.name.clone();
        return Err(PlacementError::GenerationAmongOthers(name));
    }
    let scene = Scene::new(site, logs, settings)?;
    let mut search = PlacesSearch::new(&scene, logs, machines)?;
    let outcome = search.run();
    let loads: Vec<&NewLoad> = search.loads.iter().collect();
    let running_cost = running_cost(&scene, logs, &loads);
    let mut notes = notes(&scene, &loads);
    notes.push(
        "each machine is checked with all the others of the list at their ratings whenever they run".to_owned(),
    );
    let placed = search.placed(&outcome.best.choice);
    Ok(Together {
        all_fit: placed.iter().all(|placed| placed.fits),
        effect: search.effect(&outcome.best.choice),
        running_cost,
        path_m: placed.iter().map(|placed| placed.path_m).sum(),
        machines: placed,
        is_best_of_all: outcome.is_best_of_all,
        combinations: search.combinations(),
        looked_at: outcome.looked_at,
        one_after_the_other: OneAfterTheOther {
            fitting: machines.len() - outcome.in_turn.merit.failing_machines,
            neutral_rms_a: search.neutral_rms_a(&outcome.in_turn.choice),
        },
        based_on: scene.standing.based_on(),
        intervals: scene.standing.starts().len(),
        interval_s: scene.standing.interval_s(),
        demand_window_min: site.demand_window_min,
        notes,
        cautions: CAUTIONS.map(str::to_owned).to_vec(),
    })
}
