//! Wiring of a meter against that of the meter above.

use crate::Diagnosis;
use crate::samples::{Columns, judge_pair};
use electrical::Phase;
use finding::{Finding, Kind};
use site::Quantity;

const ROWS: usize = 3000;

/// A load that is switched on and off with a rhythm of its own: a simple generator of numbers, from
/// Numerical Recipes, 2nd edition, 7.1 ("quick and dirty").
fn load(seed: u32, kw: f64) -> Vec<f64> {
    let mut state = seed;
    let mut on = false;
    (0..ROWS)
        .map(|_| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            if state >> 24 < 40 {
                on = !on;
            }
            if on { kw } else { 0.0 }
        })
        .collect()
}

fn sum(a: &[f64], b: &[f64], factor: f64) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a + factor * b).collect()
}

fn power(values: Vec<f64>) -> Columns {
    vec![(Quantity::ActivePower(None), values)]
}

fn wiring(diagnosis: &Diagnosis) -> Vec<&Finding> {
    let of_kind = |finding: &&Finding| finding.kind == Kind::MeteringFault;
    diagnosis.findings.iter().filter(of_kind).collect()
}

#[test]
fn a_clock_that_is_ahead_is_told_by_its_minutes() {
    let (board, rest) = (load(1, 6.0), load(2, 4.0));
    let supply = power(sum(&rest, &board, 1.0));
    let diagnosis = judge_pair(supply.clone(), power(board.clone()), 300);
    let found = wiring(&diagnosis);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].summary.contains("5 min ahead of"), "{found:?}");
    let behind = judge_pair(supply.clone(), power(board.clone()), -3600);
    assert!(wiring(&behind)[0].summary.contains("60 min behind"));
    assert!(wiring(&judge_pair(supply, power(board), 0)).is_empty());
}

#[test]
fn a_ratio_twice_too_large_is_told_and_a_companion_is_not() {
    let (board, rest) = (load(3, 6.0), load(4, 8.0));
    // The board's meter shows twice what it draws.
    let supply = power(sum(&rest, &board, 0.5));
    let diagnosis = judge_pair(supply, power(board.clone()), 0);
    let slope = wiring(&diagnosis)
        .iter()
        .find_map(|finding| finding.evidence.number("slope"))
        .expect("a slope");
    assert!((slope - 0.5).abs() < 0.05, "{slope}");
    // An unmetered extractor of 3 kW runs with the board's 6 kW saw: a slope of 1.5.
    let with_it = power(sum(&rest, &board, 1.5));
    assert!(wiring(&judge_pair(with_it, power(board), 0)).is_empty());
}

#[test]
fn more_below_than_above_is_told_and_the_class_is_allowed() {
    let board = load(5, 6.0);
    let told = |factor: f64| {
        let supply = power(board.iter().map(|kw| factor * kw).collect());
        let diagnosis = judge_pair(supply, power(board.clone()), 0);
        wiring(&diagnosis)
            .iter()
            .any(|finding| finding.evidence.number("excess_pct").is_some())
    };
    assert!(told(0.9));
    assert!(!told(0.985));
}

#[test]
fn exchanged_phases_are_told_and_loads_that_switch_together_are_not() {
    let of = |phases: [&Vec<f64>; 3]| -> Columns {
        Phase::ALL
            .into_iter()
            .zip(phases)
            .map(|(phase, values)| (Quantity::ActivePower(Some(phase)), values.clone()))
            .collect()
    };
    let [a, b, c] = [load(6, 3.0), load(7, 2.0), load(8, 2.5)];
    let supply = of([&a, &b, &c]);
    let exchanged = judge_pair(supply.clone(), of([&b, &a, &c]), 0);
    let found = wiring(&exchanged);
    assert!(
        found.iter().any(|finding| finding
            .summary
            .contains("L1 of the first is L2 of the second; L2 of the first is L1 of the second")),
        "{found:?}"
    );
    assert!(wiring(&judge_pair(supply, of([&a, &b, &c]), 0)).is_empty());
    // A three-phase machine alone switches all phases at once.
    let alike = of([&a, &a, &a]);
    assert!(wiring(&judge_pair(alike.clone(), alike, 0)).is_empty());
}
