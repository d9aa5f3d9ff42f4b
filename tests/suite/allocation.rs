//! The allocation of phases against open data and against trying everything.

use tapoff::balance::{Currents, Proof, Settings, Standing, balance_with, few_moves, solve};

use crate::european_lv::EuropeanLv;

/// Neutral rms of the published phases and the best possible, from an independent computation
/// on the same data.
#[test]
fn european_lv_reaches_the_known_best() {
    let Some(data) = EuropeanLv::read() else {
        return;
    };
    let problem = data.problem(55);
    let now = problem.current().expect("all loads have a phase");
    let before = problem.evaluate(&now).mean_square.sqrt();
    assert!((before - 25.927).abs() < 5e-4, "before: {before} A");
    let solution = solve(&problem, &Settings::default());
    let after = solution.mean_square.sqrt();
    assert!((after - 15.206_379).abs() < 5e-7, "after: {after} A");
    assert_eq!(solution.moves, 34);
    assert_eq!(solution.proof, Proof::Optimal);
    let curve: Vec<f64> = solution
        .moves_curve
        .iter()
        .map(|point| point.mean_square.sqrt())
        .collect();
    assert_eq!(curve.len(), 35);
    assert!((curve[0] - 25.927).abs() < 5e-4 && (curve[34] - after).abs() < 1e-9);
    assert!(
        curve
            .windows(2)
            .all(|pair| pair[1] <= pair[0] * (1.0 + 1e-9)),
        "{curve:?}"
    );
}

#[test]
fn european_lv_subsets_reach_the_known_best() {
    let Some(data) = EuropeanLv::read() else {
        return;
    };
    let known = [
        (10, 9.693_543),
        (14, 9.970_584),
        (18, 10.810_117),
        (22, 11.330_349),
        (30, 12.956_754),
        (42, 14.732_364),
        (50, 14.942_347),
    ];
    for (loads, best) in known {
        let problem = data.problem(loads);
        let settings = Settings {
            curve_moves: 0,
            ..Settings::default()
        };
        let solution = solve(&problem, &settings);
        let after = solution.mean_square.sqrt();
        assert!((after - best).abs() < 5e-7, "{loads} loads: {after} A");
        assert_eq!(solution.proof, Proof::Optimal, "{loads} loads");
    }
}

/// The largest neutral of the published phases, computed apart from this project: 135.925 A.
#[test]
fn european_lv_has_the_known_largest_neutral() {
    let Some(data) = EuropeanLv::read() else {
        return;
    };
    let problem = data.problem(55);
    let now = problem.current().expect("all loads have a phase");
    let phases = problem.node_currents(problem.supply(), &now).phases;
    let largest = (0..problem.intervals())
        .map(|t| {
            Currents::new([0, 1, 2].map(|k| Some(vec![phases[k][t]])))
                .neutral_at(0)
                .norm()
        })
        .fold(0.0, f64::max);
    assert!(
        (largest - 135.925).abs() < 5e-4,
        "largest neutral: {largest} A"
    );
}

/// The few moves of a diagnosis are those of the search for a plan with as many moves, where limits can be kept.
#[test]
fn few_moves_are_those_of_a_plan_with_few_moves() {
    let (site, logs) = crate::sample::demo();
    for limit_a in [100.0, 200.0] {
        let mut site = site.clone();
        site.supply.phase_limit_a = limit_a;
        let standing = Standing::new(&site, logs).expect("a sound problem");
        let few = few_moves(&site, &standing, 2).expect("machines that can move");
        let settings = Settings {
            max_moves: Some(2),
            ..Settings::default()
        };
        let plan = balance_with(&site, logs, &settings, &[]).expect("a plan");
        let named: Vec<&String> = few.moves.iter().map(|(machine, ..)| machine).collect();
        let planned: Vec<&String> = plan.moves.iter().map(|one| &one.machine).collect();
        assert_eq!(named, planned, "{limit_a} A");
        assert_eq!(few.nodes, plan.nodes);
    }
}
