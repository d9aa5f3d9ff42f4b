//! Heat in the feeders as a quadratic form in the turns.
//!
//! A node's feeder loses R_N·|N|² in its neutral and R·Σ|I_k|² in its phases. The second is a sum over
//! pairs of currents that flow on the same phase, and two phases p, q are the same as often as
//! (1 + 2 Re(a_p* a_q))/3 says, a being 1, 1∠−120°, 1∠+120°. So with V a current's real and imaginary
//! part, each multiplied by the factor of the position it flows on, and S the plain sum of all currents,
//!
//! ```text
//! Σ|I_k|² = |S|²/3 + ⅔·|V_f + Σ aᵢ Vᵢ|²,
//! ```
//!
//! and the heat has the form of the neutral's mean square: what finds and proves the least of the one finds and
//! proves the least of the other.

use crate::problem::feeder_resistance::FeederResistance;
use num_complex::Complex64;

use super::quadratic::{Quadratic, turn_factors};
use crate::problem::currents::Currents;
use crate::problem::problem::{Problem, ProblemNode};

/// The mean heat in all feeders, in watts, as a function of the turns; `None` where none is declared.
pub(crate) fn loss_form(problem: &Problem) -> Option<Quadratic> {
    let mut sum: Option<Quadratic> = None;
    for node in problem.nodes() {
        let Some(feeder) = node.feeder else { continue };
        let form = node_form(problem, node, feeder);
        match &mut sum {
            Some(sum) => sum.add(&form),
            None => sum = Some(form),
        }
    }
    sum
}

/// The heat in all feeders, interval by interval, by Joule's law. (W)
pub(crate) fn heat_over_time(problem: &Problem, turns: &[usize]) -> Vec<f64> {
    let mut heat = vec![0.0; problem.intervals()];
    for node in problem.nodes() {
        let Some(feeder) = node.feeder else { continue };
        let currents = problem.node_currents(node, turns);
        let [l1, l2, l3, neutral] = node.unresolved_square;
        for (t, watts) in heat.iter_mut().enumerate() {
            *watts += feeder.neutral_ohm * (currents.neutral_square(t) + neutral);
            let phases = currents.phases.iter().map(|phase| phase[t].norm_sqr());
            *watts += feeder.phase_ohm * (phases.sum::<f64>() + l1 + l2 + l3);
        }
    }
    heat
}

/// Mean squares of the neutrals of all nodes below the supply, added up; `None` where there is none.
pub(crate) fn neutrals_below(problem: &Problem) -> Option<Quadratic> {
    problem
        .nodes()
        .iter()
        .skip(1)
        .filter(|node| !node.shares.is_empty())
        .map(|node| neutral_form(problem, node))
        .reduce(|mut sum, form| {
            sum.add(&form);
            sum
        })
}

/// Mean square of a node's neutral.
fn neutral_form(problem: &Problem, node: &ProblemNode) -> Quadratic {
    let beyond = node.beyond_square_sum(problem.intervals());
    let here: Vec<&Currents> = node
        .shares
        .iter()
        .map(|share| problem.part(share))
        .chain([&node.fixed])
        .collect();
    let form = Quadratic::of_rows(&here, problem.intervals(), beyond, Currents::neutral_at);
    let units: Vec<usize> = node.shares.iter().map(|share| share.unit).collect();
    form.spread(problem.units().len(), &units)
}

fn node_form(problem: &Problem, node: &ProblemNode, feeder: FeederResistance) -> Quadratic {
    let nothing = Currents::none();
    let mut rows: Vec<&Currents> = vec![&nothing; problem.units().len()];
    for share in &node.shares {
        rows[share.unit] = problem.part(share);
    }
    rows.push(&node.fixed);
    let mut form = neutral_form(problem, node);
    form.scale(feeder.neutral_ohm);
    let mut phases = phases_form(&rows, problem.intervals(), |t| (t, 1.0));
    phases.constant += node.unresolved_square[..3].iter().sum::<f64>();
    phases.scale(feeder.phase_ohm);
    form.add(&phases);
    form
}

/// The mean of Σ|I_k|² over `count` moments: of each, the interval and the factor of its currents.
/// The rows are those of the units and, last, of the fixed loads.
pub(crate) fn phases_form(
    rows: &[&Currents],
    count: usize,
    moment: impl Fn(usize) -> (usize, f64) + Sync,
) -> Quadratic {
    let plain: f64 = (0..count)
        .map(|number| {
            let (interval, factor) = moment(number);
            all(rows, interval).norm_sqr() * factor * factor
        })
        .sum();
    let part = |real: bool| {
        let mut form = Quadratic::of_rows(rows, count, plain / 4.0, |currents, number| {
            let (interval, factor) = moment(number);
            let value = if real {
                real_parts(currents, interval)
            } else {
                imaginary_parts(currents, interval)
            };
            value * factor
        });
        form.scale(2.0 / 3.0);
        form
    };
    let mut form = part(true);
    form.add(&part(false));
    form
}

/// The plain sum of all currents, each from its own voltage. Turns leave it as it is.
pub(crate) fn all(rows: &[&Currents], interval: usize) -> Complex64 {
    rows.iter()
        .flat_map(|currents| (0..3).map(move |position| currents.at(position, interval)))
        .sum()
}

fn real_parts(currents: &Currents, interval: usize) -> Complex64 {
    placed(currents, interval, |current| current.re)
}

fn imaginary_parts(currents: &Currents, interval: usize) -> Complex64 {
    placed(currents, interval, |current| current.im)
}

fn placed(currents: &Currents, interval: usize, part: impl Fn(Complex64) -> f64) -> Complex64 {
    turn_factors()
        .into_iter()
        .enumerate()
        .map(|(position, factor)| factor * part(currents.at(position, interval)))
        .sum()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::form::model::Model;
    use crate::prove::branch::prove;
    use crate::samples::{Kind, all_turns, config, random_problem_with_feeders};
    use crate::search::incumbent::Incumbent;
    use crate::search::random::Dice;
    use crate::{Objective, Proof, Settings, solve};

    /// Joule's law conductor by conductor, interval by interval.
    fn heat(problem: &Problem, turns: &[usize]) -> f64 {
        let mut sum = 0.0;
        for node in problem.nodes() {
            let Some(feeder) = node.feeder else { continue };
            let phases = problem.node_currents(node, turns).phases;
            let [l1, l2, l3, neutral] = node.unresolved_square;
            let constant = feeder.phase_ohm * (l1 + l2 + l3) + feeder.neutral_ohm * neutral;
            sum += constant * problem.intervals() as f64;
            for t in 0..problem.intervals() {
                let alone = node.fixed.neutral_alone_at(t);
                let neutral: Complex64 = (0..3)
                    .map(|k| turn_factors()[k] * phases[k][t])
                    .sum::<Complex64>()
                    + alone;
                let beyond = node.beyond.get(t).copied().unwrap_or(0.0);
                sum += feeder.neutral_ohm * (neutral.norm_sqr() + beyond * beyond);
                for phase in &phases {
                    sum += feeder.phase_ohm * phase[t].norm_sqr();
                }
            }
        }
        sum / problem.intervals() as f64
    }

    proptest! {
        #![proptest_config(config(200))]

        #[test]
        fn the_form_is_the_heat_of_every_conductor(seed: u64, units in 1..8_usize) {
            let kind = Kind { units, intervals: 6, plain: false, limits: true };
            let problem = random_problem_with_feeders(seed, kind);
            let form = loss_form(&problem).expect("feeders are there");
            let mut dice = Dice::new(seed ^ 5);
            for _ in 0..8 {
                let turns: Vec<usize> = (0..units).map(|_| dice.below(3)).collect();
                let (found, expected) = (form.value(&turns), heat(&problem, &turns));
                prop_assert!((found - expected).abs() <= 1e-9 * expected.max(1e-3), "{found} {expected}");
                let told = heat_over_time(&problem, &turns);
                let mean = told.iter().sum::<f64>() / told.len() as f64;
                prop_assert!((mean - expected).abs() <= 1e-9 * expected.max(1e-3), "{mean} {expected}");
            }
        }
    }

    proptest! {
        #![proptest_config(config(150))]

        /// Against trying everything, by enumeration and by branch and bound.
        #[test]
        fn the_least_heat_is_found_and_proven(seed: u64, units in 1..7_usize, limits: bool, plain: bool) {
            let kind = Kind { units, intervals: 6, plain, limits };
            let problem = random_problem_with_feeders(seed, kind);
            let settings = Settings { objective: Objective::NeutralLoss, ..Settings::default() };
            let least = all_turns(&problem)
                .filter(|turns| problem.evaluate(turns).excess.is_none())
                .map(|turns| heat(&problem, &turns))
                .reduce(f64::min);
            let solution = solve(&problem, &settings);
            prop_assert_eq!(solution.feasible, least.is_some());
            if let Some(least) = least {
                let near = |a: f64| (a - least).abs() <= 1e-8 * least.max(1e-3);
                prop_assert!(near(solution.mean_square) && near(heat(&problem, &solution.choices)));
                prop_assert_eq!(solution.proof, Proof::Optimal);
                let model = Model::new(&problem, &settings);
                let worse = Incumbent::new(&model, solution.choices.clone());
                let shown = prove(&model, &worse, &settings);
                prop_assert!(shown.is_complete && near(shown.best.evaluation.mean_square));
            }
        }
    }

    /// 10 A on one phase and back through the neutral of a feeder of 0.1 Ω each: 100·0.1 W twice. Spread over
    /// the three phases with 10 A each, nothing flows in the neutral: three times 10 W.
    #[test]
    fn heat_of_a_single_load_and_of_three_alike() {
        let load = || Currents::to_neutral(vec![Complex64::new(10.0, 0.0)]);
        let unit = |name: &str| crate::Unit {
            name: name.to_owned(),
            currents: load(),
            choices: vec![0, 1, 2],
            current: Some(0),
            moves: 1,
        };
        let supply = ProblemNode {
            name: "supply".to_owned(),
            feeder: Some(FeederResistance {
                phase_ohm: 0.1,
                neutral_ohm: 0.1,
            }),
            ..ProblemNode::default()
        };
        let one = Problem::new(1, vec![unit("a")], supply.clone(), Vec::new(), Vec::new());
        let form = loss_form(&one.expect("a problem")).expect("a feeder");
        assert!((form.value(&[1]) - 20.0).abs() < 1e-9);
        let units = ["a", "b", "c"].map(unit).to_vec();
        let three = Problem::new(1, units, supply, Vec::new(), Vec::new());
        let form = loss_form(&three.expect("a problem")).expect("a feeder");
        assert!((form.value(&[0, 1, 2]) - 30.0).abs() < 1e-9);
        // All on one phase: 30 A out and back.
        assert!((form.value(&[2, 2, 2]) - 180.0).abs() < 1e-9);
    }
}
