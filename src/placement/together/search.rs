//! The search for the best combination of connection points.

use super::choices::{Choice, choices};
use super::in_order::InOrder;
use super::neutral_form::NeutralForm;
use super::result::PlacedMachine;
use crate::check::Check;
use crate::guest::Guest;
use crate::load::NewLoad;
use crate::placement_error::PlacementError;
use crate::scene::Scene;
use crate::search::{fails, neutral_step};
use crate::supply_effect::SupplyEffect;
use metering::Logs;
use site::NewMachine;

/// Combinations that are checked in order before the search turns to changing one machine at a time.
const MOST_IN_ORDER: usize = 60_000;

/// Most intervals that are evaluated, counted for each figure: the search stops by work, not by time.
const MOST_INTERVALS: usize = 300_000_000;

/// The figures that are compared, in this order; less is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Merit {
    pub(super) failing_machines: usize,
    failing_checks: usize,
    neutral_step: i64,
    length_mm: u64,
}

/// A combination that was checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Candidate {
    /// Choice of each machine.
    pub(super) choice: Vec<usize>,
    pub(super) merit: Merit,
}

/// The result of the search.
#[derive(Clone, Debug)]
pub(super) struct PlacesFound {
    pub(super) best: Candidate,
    /// One after the other, in the order of the list.
    pub(super) in_turn: Candidate,
    pub(super) is_best_of_all: bool,
    pub(super) looked_at: usize,
}

pub(super) struct PlacesSearch<'s> {
    scene: &'s Scene<'s>,
    machines: &'s [NewMachine],
    pub(super) loads: Vec<NewLoad>,
    choices: Vec<Vec<Choice>>,
    form: NeutralForm,
    looked_at: usize,
}

impl<'s> PlacesSearch<'s> {
    pub(super) fn new(
        scene: &'s Scene<'s>,
        logs: &Logs,
        machines: &'s [NewMachine],
    ) -> Result<PlacesSearch<'s>, PlacementError> {
        let load = |new| NewLoad::new(scene.site, logs, &scene.standing, new);
        let loads: Vec<NewLoad> = machines.iter().map(load).collect();
        let choices = loads
            .iter()
            .zip(machines)
            .enumerate()
            .map(|(index, (load, new))| choices(scene, (index, load), new))
            .collect::<Result<_, _>>()?;
        Ok(PlacesSearch {
            form: NeutralForm::new(&scene.network.supply, &loads),
            scene,
            machines,
            loads,
            choices,
            looked_at: 0,
        })
    }

    pub(super) fn run(&mut self) -> PlacesFound {
        let choice = self.one_after_the_other();
        let in_turn = self.candidate(choice);
        let mut best = in_turn.clone();
        let is_best_of_all = self.all_in_order(&mut best);
        if !is_best_of_all {
            self.one_at_a_time(&mut best);
        }
        PlacesFound {
            best,
            in_turn,
            is_best_of_all,
            looked_at: self.looked_at,
        }
    }

    /// Each machine at its best connection point, given those before it.
    fn one_after_the_other(&mut self) -> Vec<usize> {
        let mut chosen: Vec<usize> = Vec::new();
        for machine in 0..self.loads.len() {
            let merit = |at: usize| {
                let mut with = chosen.clone();
                with.push(at);
                let failing = self.failing_checks(&with, machine);
                let choice = &self.choices[machine][at];
                let step = neutral_step(self.form.rms_a(&self.turns(&with)));
                (failing, step, choice.length_mm)
            };
            let best = (0..self.choices[machine].len()).min_by_key(|&at| merit(at));
            chosen.push(best.unwrap_or(0));
        }
        chosen
    }

    /// Goes through the combinations, lowest neutral current and shortest cable first. Returns whether the best is
    /// proven.
    fn all_in_order(&mut self, best: &mut Candidate) -> bool {
        let choices = self.choices.clone();
        let Some(order) = InOrder::new(&choices, &self.form) else {
            return false;
        };
        for (count, next) in order.enumerate() {
            let merit = |(failing_machines, failing_checks)| Merit {
                failing_machines,
                failing_checks,
                neutral_step: next.neutral_step,
                length_mm: next.length_mm,
            };
            if merit((0, 0)) >= best.merit {
                return true;
            }
            if count >= MOST_IN_ORDER || self.is_exhausted() {
                return false;
            }
            self.looked_at += 1;
            let is_better = |fails| merit(fails) < best.merit;
            if let Some(fails) = self.fails_while(&next.choice, is_better) {
                *best = Candidate {
                    merit: merit(fails),
                    choice: next.choice,
                };
            }
        }
        true
    }

    /// Moves one machine after another to its best connection point, until none improves.
    fn one_at_a_time(&mut self, best: &mut Candidate) {
        loop {
            let before = best.merit;
            for machine in 0..self.choices.len() {
                for at in 0..self.choices[machine].len() {
                    let mut choice = best.choice.clone();
                    choice[machine] = at;
                    let merit = |fails| self.merit(&choice, fails);
                    if merit((0, 0)) >= best.merit {
                        continue;
                    }
                    if self.is_exhausted() {
                        return;
                    }
                    let found = self.fails_while(&choice, |fails| merit(fails) < best.merit);
                    if let Some(merit) = found.map(merit) {
                        *best = Candidate { choice, merit };
                    }
                    self.looked_at += 1;
                }
            }
            if best.merit == before {
                return;
            }
        }
    }

    fn is_exhausted(&self) -> bool {
        let intervals = self.scene.standing.starts().len().max(1);
        self.scene.memo.computed() >= MOST_INTERVALS / intervals
    }

    fn turns(&self, choice: &[usize]) -> Vec<Option<usize>> {
        let turn = |(machine, &at): (usize, &usize)| self.choices[machine][at].turn;
        choice.iter().enumerate().map(turn).map(Some).collect()
    }

    pub(super) fn neutral_rms_a(&self, choice: &[usize]) -> f64 {
        self.form.rms_a(&self.turns(choice))
    }

    fn merit(&self, choice: &[usize], (failing_machines, failing_checks): (usize, usize)) -> Merit {
        let length = |(machine, &at): (usize, &usize)| self.choices[machine][at].length_mm;
        Merit {
            failing_machines,
            failing_checks,
            neutral_step: neutral_step(self.neutral_rms_a(choice)),
            length_mm: choice.iter().enumerate().map(length).sum(),
        }
    }

    fn candidate(&mut self, choice: Vec<usize>) -> Candidate {
        self.looked_at += 1;
        let fails = self.fails_while(&choice, |_| true).unwrap_or_default();
        Candidate {
            merit: self.merit(&choice, fails),
            choice,
        }
    }

    /// Machines and checks that fail; `None` as soon as there are too many.
    fn fails_while(
        &self,
        choice: &[usize],
        is_good_enough: impl Fn((usize, usize)) -> bool,
    ) -> Option<(usize, usize)> {
        let mut fails = (0, 0);
        for machine in 0..choice.len() {
            let failing = self.failing_checks(choice, machine);
            fails.0 += usize::from(failing > 0);
            fails.1 += failing;
            if !is_good_enough(fails) {
                return None;
            }
        }
        Some(fails)
    }

    fn failing_checks(&self, choice: &[usize], machine: usize) -> usize {
        let (checks, _) = self.checked(choice, machine);
        checks.iter().filter(|check| !check.pass).count()
    }

    /// The checks of a machine with the others at their connection points.
    fn checked(&self, choice: &[usize], machine: usize) -> (Vec<Check>, Vec<String>) {
        let guests = self.guests(choice, machine);
        let here = &self.choices[machine][choice[machine]];
        let at = (here.node, here.connection);
        let spot = self
            .scene
            .spot((machine, &self.loads[machine]), at, &guests);
        let (mut checks, mut not_checked) = (Vec::new(), Vec::new());
        spot.check(&mut checks, &mut not_checked);
        (checks, not_checked)
    }

    fn guests(&self, choice: &[usize], but: usize) -> Vec<Guest<'_>> {
        let others = choice
            .iter()
            .enumerate()
            .filter(|&(machine, _)| machine != but);
        let guest = |(machine, &at): (usize, &usize)| {
            let choice = &self.choices[machine][at];
            Guest {
                machine,
                load: &self.loads[machine],
                node: choice.node,
                connection: choice.connection,
            }
        };
        others.map(guest).collect()
    }

    pub(super) fn combinations(&self) -> u64 {
        let counts = self.choices.iter().map(|all| all.len() as u64);
        counts.fold(1, u64::saturating_mul)
    }

    pub(super) fn effect(&self, choice: &[usize]) -> SupplyEffect {
        let turns = choice.iter().enumerate();
        let loads: Vec<(&NewLoad, usize)> = turns
            .map(|(machine, &at)| (&self.loads[machine], self.choices[machine][at].turn))
            .collect();
        let supply = &self.scene.network.supply;
        self.scene.observer.effect(supply, &loads)
    }

    pub(super) fn placed(&self, choice: &[usize]) -> Vec<PlacedMachine> {
        let placed = |machine: usize| {
            let (checks, not_checked) = self.checked(choice, machine);
            let (load, new) = (&self.loads[machine], &self.machines[machine]);
            let here = &self.choices[machine][choice[machine]];
            let spot = self
                .scene
                .spot((machine, load), (here.node, here.connection), &[]);
            let fits = checks.iter().all(|check| check.pass);
            PlacedMachine {
                machine: new.machine.name.clone(),
                design_current_a: load.design_a,
                circuit: self.scene.site.node_name(here.node).to_owned(),
                connection: here.connection,
                fits,
                reason: if fits { String::new() } else { fails(&checks) },
                device: spot.own.device,
                cable_mm2: spot.own.mm2,
                path_m: spot.path_m(),
                checks,
                not_checked,
                typical: new.typical.clone(),
            }
        };
        (0..self.machines.len()).map(placed).collect()
    }
}
