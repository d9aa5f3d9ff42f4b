//! What a few moves would bring, without proof, order of work or reasons.

use super::moves::connections;
use super::nodes::nodes;
use crate::answer::result::NodeResult;
use crate::form::model::Model;
use crate::pose::present_currents::Standing;
use crate::problem::settings::Settings;
use crate::search::few_moves::best_within_moves;
use site::{Connection, Site};

/// Multiplications after which the best so far is taken.
const MOST_WORK: u64 = 300_000_000;

/// The moves, and what flows with them.
#[derive(Clone, Debug, PartialEq)]
pub struct FewMoves {
    /// Machines that move, with their phases now and after, in the order of the list.
    pub moves: Vec<(String, Connection, Connection)>,
    /// Supply, boards and circuits before and after.
    pub nodes: Vec<NodeResult>,
}

/// The moves, at most `most`, after which limits are exceeded least, and of those the neutral current of the supply is
/// lowest; `None` where a machine is not connected yet, or there is nothing to move.
#[must_use]
pub fn few_moves(site: &Site, standing: &Standing, most: usize) -> Option<FewMoves> {
    let posed = &standing.posed;
    let now = posed.problem.current()?;
    let settings = Settings {
        max_moves: Some(most),
        ..Settings::default()
    };
    let mut problem = posed.problem.clone();
    problem.watch(posed.kept_circuits());
    let best = best_within_moves(&Model::new(&problem, &settings), MOST_WORK);
    let connections = connections(site, posed, &best.turns);
    let moves = site.machines.iter().zip(connections);
    Some(FewMoves {
        moves: moves
            .filter(|(_, (from, to))| from != to)
            .map(|(machine, (from, to))| (machine.name.clone(), from, to))
            .collect(),
        nodes: nodes(site, posed, Some(&now), &best.turns),
    })
}
