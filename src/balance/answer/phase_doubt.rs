//! What a plan is worth where the phase of some loads is in doubt.

use schemars::JsonSchema;
use serde::Serialize;

use crate::pose::connections::turn_of;
use crate::pose::present_currents::Standing;
use site::{Connection, Node, Site};

/// What it is worth to know the phase of a load: the plan can then move it.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct WorthKnowing {
    /// Name of the machine.
    pub machine: String,
    /// Lowest neutral that a plan reaches which leaves the load where it is. (A)
    pub unknown_neutral_rms_a: f64,
    /// Lowest neutral that a plan reaches when its phase is known: the mean over its possible connections. (A)
    pub known_neutral_rms_a: f64,
    /// The difference. (A)
    pub worth_a: f64,
}

/// Loads whose phase is in doubt, and what that does to the plan.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct DoubtfulPhases {
    /// Machines whose phase is unknown, in doubt or not as listed, in the order of the list.
    pub machines: Vec<String>,
    /// Neutral after the moves, were each of them on its possible connections with their probabilities: mean and 95 %
    /// range; `None` where the supply is not measured. (A)
    pub after_neutral_rms_mean_a: Option<f64>,
    /// Lower end of the range. (A)
    pub after_neutral_rms_low_a: Option<f64>,
    /// Upper end of the range. (A)
    pub after_neutral_rms_high_a: Option<f64>,
    /// Lowest neutral that a plan reaches with the list corrected where loads are not as listed; `None` where all are.
    /// (A)
    pub corrected_neutral_rms_a: Option<f64>,
    /// Which of them to identify first, the most worth first.
    pub identify_first: Vec<WorthKnowing>,
}

/// A plan at the supply, for loads that may be elsewhere than listed.
#[derive(Debug)]
pub struct PlanElsewhere<'s> {
    standing: &'s Standing,
    site: &'s Site,
    /// Currents of the phases after the moves, with all loads where the list has them. (A)
    planned: Vec<usize>,
    /// Where the plan puts each machine.
    targets: Vec<Connection>,
}

impl<'s> PlanElsewhere<'s> {
    /// Of an allocation, machine by machine; `None` where the supply is not measured: then nothing depends on where a load
    /// that is moved was before.
    #[must_use]
    pub fn new(
        standing: &'s Standing,
        site: &'s Site,
        allocation: &[(String, Connection)],
    ) -> Option<PlanElsewhere<'s>> {
        let targets: Vec<Connection> = allocation.iter().map(|(_, target)| *target).collect();
        if !standing.is_measured(Node::Supply) || targets.len() != site.machines.len() {
            return None;
        }
        let planned = standing
            .units()
            .map(|(_, members)| turn_of(targets[*members.first()?]))
            .collect::<Option<_>>()?;
        Some(PlanElsewhere {
            standing,
            site,
            planned,
            targets,
        })
    }

    /// Does the plan move a machine?
    #[must_use]
    pub fn moves(&self, machine: usize) -> bool {
        self.targets[machine] != crate::standing_connection(self.site, machine)
    }

    /// Root mean square of the supply's neutral after the moves, were these machines elsewhere. The total is measured, so
    /// that a load which was elsewhere leaves its phase there; one that is not moved changes nothing. (A)
    #[must_use]
    pub fn neutral_rms_a(&self, elsewhere: &[(usize, Connection)]) -> f64 {
        let problem = &self.standing.posed.problem;
        let mut currents = problem.node_currents(problem.supply(), &self.planned);
        for &(machine, truly) in elsewhere {
            let listed = turn_of(crate::standing_connection(self.site, machine));
            let (Some(listed), Some(truly)) = (listed, turn_of(truly)) else {
                continue;
            };
            if listed == truly || !self.moves(machine) {
                continue;
            }
            let own = &self.standing.posed.profiles[machine].currents;
            for position in 0..3 {
                let Some(series) = own.series(position) else {
                    continue;
                };
                for (sum, amps) in currents.phases[(position + listed) % 3]
                    .iter_mut()
                    .zip(series)
                {
                    *sum += amps;
                }
                for (sum, amps) in currents.phases[(position + truly) % 3]
                    .iter_mut()
                    .zip(series)
                {
                    *sum -= amps;
                }
            }
        }
        let count = currents.intervals();
        let sum: f64 = (0..count).map(|at| currents.neutral_square(at)).sum();
        (sum / count as f64 + currents.unresolved_square[3]).sqrt()
    }
}
