//! The numbers with which the page tries allocations, against the program's own analysis of each.

use std::sync::OnceLock;

use tapoff::balance::{BalanceResult, Fix, Settings, TrialBoard, balance_with, read_fix};
use tapoff::site::Site;

use crate::sample::demo;

fn held(site: &Site, board: &TrialBoard, turns: &[usize]) -> Vec<Fix> {
    let mut fixes = Vec::new();
    for (unit, turn) in board.units.iter().zip(turns) {
        let (_, connections) = unit
            .choices
            .iter()
            .find(|(choice, _)| choice == turn)
            .expect("a turn that it may take");
        for (&machine, connection) in unit.machines.iter().zip(connections) {
            let text = format!("{}={connection}", site.machines[machine].name);
            fixes.push(read_fix(site, &text).expect("a fix"));
        }
    }
    fixes
}

/// The answer for the demo with a board to try.
fn with_board() -> &'static BalanceResult {
    static RESULT: OnceLock<BalanceResult> = OnceLock::new();
    RESULT.get_or_init(|| analyse(&[], true))
}

fn analyse(fixes: &[Fix], trial_board: bool) -> BalanceResult {
    let (site, logs) = demo();
    let settings = Settings {
        trial_board,
        curve_moves: 0,
        proof_work: 0,
        ..Settings::default()
    };
    balance_with(site, logs, &settings, fixes).expect("an answer")
}

/// 1e-6 is what the page promises beside the program; both sum 40 000 squares in double precision.
#[test]
fn any_allocation_has_the_figures_of_the_full_analysis() {
    let (site, _) = demo();
    let board = with_board().trial.as_ref();
    let board = board.expect("asked for with the settings");
    assert!(board.start_s.len() < board.intervals, "a choice was made");
    assert!(board.compared >= 12);
    let mut state = 7_u64;
    for _ in 0..4 {
        let turns: Vec<usize> = board
            .units
            .iter()
            .map(|unit| {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1);
                unit.choices[(state >> 33) as usize % unit.choices.len()].0
            })
            .collect();
        let full = analyse(&held(site, board, &turns), false);
        for (told, node) in board.figures(&turns).iter().zip(&board.nodes) {
            let exact = &full
                .nodes
                .iter()
                .find(|full| full.id == node.id)
                .expect("the same node")
                .after;
            let near = |a: f64, b: f64| (a - b).abs() <= 1e-6 * b.max(1.0);
            assert!(near(told.neutral_rms_a, exact.neutral_rms_a), "{}", node.id);
            for phase in 0..3 {
                assert!(near(told.phase_rms_a[phase], exact.phase_rms_a[phase]));
                // A 16-bit step of each of some thirty series, at most.
                assert!(told.phase_max_a[phase] <= exact.phase_max_a[phase] * 1.001);
                assert!(told.phase_max_a[phase] >= exact.phase_max_a[phase] * 0.9);
            }
            assert!(told.neutral_max_a <= exact.neutral_max_a * 1.001);
            assert!(told.neutral_max_a >= exact.neutral_max_a * 0.9);
        }
    }
}

#[test]
fn now_and_the_plan_are_told_as_in_the_answer() {
    let result = with_board();
    let board = result.trial.as_ref().expect("asked for with the settings");
    let plan: Vec<usize> = board.units.iter().map(|unit| unit.plan).collect();
    let now: Vec<usize> = board
        .units
        .iter()
        .map(|unit| unit.now.expect("every machine of the demo has a phase"))
        .collect();
    let before = result.before.as_ref().expect("as above");
    for (turns, exact) in [(plan, &result.after), (now, before)] {
        let told = board.figures(&turns)[0];
        assert!((told.neutral_rms_a - exact.neutral_rms_a).abs() < 1e-6);
        // Both allocations were among those that the intervals were chosen for: only steps differ.
        assert!((told.neutral_max_a - exact.neutral_max_a).abs() < 0.01);
        for phase in 0..3 {
            assert!((told.phase_max_a[phase] - exact.phase_max_a[phase]).abs() < 0.01);
        }
    }
}
