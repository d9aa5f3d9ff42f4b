//! Orders of work, worked out by hand. With all power factors 1 the neutral of a, b, c amperes on
//! L1, L2, L3 is √(a² + b² + c² − ab − bc − ca) (Kirchhoff's current law at the star point).

use tapoff::balance::{BalanceResult, WorkOrder};
use tapoff::site::Connection;

use crate::tiny_site::{Tiny, near};

/// Machines of each step.
fn steps(order: &WorkOrder) -> Vec<Vec<String>> {
    let machines = |step: &tapoff::balance::WorkStep| {
        step.moves
            .iter()
            .flat_map(|work| work.machines.clone())
            .collect()
    };
    order.steps.iter().map(machines).collect()
}

fn planned<'r>(plan: &'r BalanceResult, machine: &str) -> &'r tapoff::balance::Move {
    let found = plan.moves.iter().find(|planned| planned.machine == machine);
    found.expect("the machine moves")
}

/// L1 carries A 20 A and F 20 A, L2 carries B 15 A, the limit is 30 A. A moves to L2 and B to L3.
/// A first would put 35 A on L2, so B goes first although it leaves the neutral as it is (35 A),
/// while A alone would bring it down to √925 A.
#[test]
fn the_order_that_keeps_the_limits_is_found() {
    let plan = Tiny {
        toml: "phase_limit_a = 30\nneutral_limit_a = 100\nconductor_colours = 'brown-black-grey'",
        machines: "A,supply,L1,20,,yes,\nF,supply,L1,20,,no,\nB,supply,L2,15,,yes,\n",
        fixes: &["A=L2"],
        ..Tiny::default()
    }
    .plan();
    let order = &plan.work_order;
    assert_eq!(steps(order), [["B"], ["A"]]);
    assert!(order.one_by_one && order.searched_all);
    near(order.steps[0].neutral_rms_after_a.expect("known"), 35.0);
    near(order.steps[1].neutral_rms_after_a.expect("known"), 5.0);
    let work = &order.steps[1].moves[0];
    assert_eq!(work.from_marks.as_deref(), Some("brown"));
    assert_eq!(work.to_marks.as_deref(), Some("black"));
    assert_eq!(work.neutral_mark.as_deref(), Some("blue"));
    near(work.current_max_a, 20.0);
    // What each does: alone and left out.
    let (a, b) = (planned(&plan, "A"), planned(&plan, "B"));
    assert_eq!((a.step, b.step), (Some(2), Some(1)));
    near(a.gain_alone_a.expect("known"), 35.0 - 925.0_f64.sqrt());
    near(b.gain_alone_a.expect("known"), 0.0);
    near(a.loss_without_a.expect("known"), 35.0 - 5.0);
    near(b.loss_without_a.expect("known"), 925.0_f64.sqrt() - 5.0);
}

/// 25 A on L1 and 20 A on L2 change places under a limit of 30 A: either alone makes 45 A.
#[test]
fn an_exchange_that_no_order_allows_is_made_with_the_board_off() {
    let plan = Tiny {
        toml: "phase_limit_a = 100\n[[board]]\nid = 'DB1'\nfed_from = 'supply'\nphase_limit_a = 30\n",
        machines: "A,DB1,L1,25,,yes,\nB,DB1,L2,20,,yes,\nC,DB1,L3,22,,no,\n",
        fixes: &["A=L2", "B=L1"],
        ..Tiny::default()
    }
    .plan();
    let order = &plan.work_order;
    assert_eq!(steps(order), [["A", "B"]]);
    assert!(!order.one_by_one && order.searched_all);
    assert_eq!(order.steps[0].boards_off, ["DB1"]);
    let reason = order.steps[0].reason.as_deref().expect("a reason");
    assert!(
        reason.contains("L2 of DB1 would reach 45.0 A (limit 30 A)"),
        "{reason}"
    );
}

/// One way on each phase, all taken: nothing can move before something has moved.
#[test]
fn full_boards_need_an_exchange_and_one_free_way_does_not() {
    let with_ways = |ways: &str| {
        let toml = format!(
            "phase_limit_a = 100\n[[board]]\nid = 'DB1'\nfed_from = 'supply'\nways = {ways}\n"
        );
        Tiny {
            toml: &toml,
            machines: "A,DB1,L1,25,,yes,\nB,DB1,L2,20,,yes,\nC,DB1,L3,22,,no,\n",
            fixes: &["A=L2", "B=L1"],
            ..Tiny::default()
        }
        .plan()
        .work_order
    };
    let full = with_ways("[1, 1, 1]");
    assert_eq!(steps(&full), [["A", "B"]]);
    assert_eq!(full.steps[0].ways[0].free_before, [0, 0, 0]);
    let reason = full.steps[0].reason.as_deref().expect("a reason");
    assert!(
        reason.contains("DB1 would have no free way on L2"),
        "{reason}"
    );
    // With a second way on L1, B goes there first and makes room for A.
    let free = with_ways("[2, 1, 1]");
    assert_eq!(steps(&free), [["B"], ["A"]]);
    assert_eq!(free.steps[0].ways[0].free_before, [1, 0, 0]);
    assert_eq!(free.steps[0].ways[0].free_after, [0, 1, 0]);
    assert_eq!(free.steps[1].ways[0].free_after, [1, 0, 0]);
}

/// Three machines that pass the load round: A to L2, B to L3, C to L1, each phase full. Any one or
/// two of them alone leave 40 A on a phase of 30 A.
#[test]
fn a_ring_of_three_is_made_in_one_go() {
    let plan = Tiny {
        toml: "phase_limit_a = 30\n",
        machines: "A,supply,L1,19,,yes,\nB,supply,L2,20,,yes,\nC,supply,L3,21,,yes,\n",
        fixes: &["A=L2", "B=L3", "C=L1"],
        ..Tiny::default()
    }
    .plan();
    assert_eq!(steps(&plan.work_order), [["A", "B", "C"]]);
    assert_eq!(plan.work_order.steps[0].boards_off, ["supply"]);
}

/// A phase that is over its limit now is relieved first, although another move takes more off the
/// neutral: L1 carries 12 A of 10 A in the morning only, L2 has the large load at night.
#[test]
fn an_overload_of_now_is_relieved_first() {
    let plan = Tiny {
        toml: "phase_limit_a = 10\nneutral_limit_a = 50\n\
               [[schedule]]\nname = 'morning'\ndays = 'daily'\nfrom = '08:00'\nto = '09:00'\n\
               [[schedule]]\nname = 'night'\ndays = 'daily'\nfrom = '20:00'\nto = '06:00'\n",
        machines: "small,supply,L1,2,morning,yes,\nbase,supply,L1,10,morning,no,\n\
                   left,supply,L2,5,night,yes,\nright,supply,L2,5,night,no,\n",
        ..Tiny::default()
    }
    .plan();
    let small = planned(&plan, "small").gain_alone_a.expect("known");
    let left = planned(&plan, "left").gain_alone_a.expect("known");
    assert!(left > small, "{left} {small}");
    assert_eq!(planned(&plan, "small").step, Some(1));
}

/// What has no phase yet is connected in steps too, and nothing is compared with a now.
#[test]
fn machines_without_a_phase_are_connected_in_order() {
    let plan = Tiny {
        toml: "phase_limit_a = 30\n",
        machines: "A,supply,any,10,,yes,\nB,supply,any,10,,yes,\nC,supply,L1,10,,yes,\n",
        ..Tiny::default()
    }
    .plan();
    assert_eq!(plan.work_order.steps.len(), 2);
    for step in &plan.work_order.steps {
        assert_eq!(step.moves[0].from, Connection::Any);
        assert_eq!(step.neutral_rms_after_a, None);
    }
    assert_eq!(planned(&plan, "A").gain_alone_a, None);
    near(plan.after.neutral_rms_a, 0.0);
}

/// Fixing one of a group, or one machine of a whole circuit, holds all that moves with it.
#[test]
fn a_fix_holds_what_moves_together() {
    let plan = Tiny {
        toml: "phase_limit_a = 100\n[[board]]\nid = 'DB1'\nfed_from = 'supply'\n\
               [[circuit]]\nid = 'C1'\nboard = 'DB1'\nphases = 'L1'\nprotective_device = 'B 16'\n",
        machines: "A,DB1,L1,10,,yes,pair\nB,DB1,L1,5,,yes,pair\nC,C1,L1,6,,yes,\nD,C1,L1,4,,yes,\n",
        fixes: &["B=L2", "D=L3"],
        ..Tiny::default()
    }
    .plan();
    let to = |name: &str| planned(&plan, name).to.to_string();
    assert_eq!(
        [to("A"), to("B"), to("C"), to("D")],
        ["L2", "L2", "L3", "L3"]
    );
    assert!(
        plan.notes
            .iter()
            .any(|note| note.contains("`B` is kept on L2"))
    );
    // One step for the pair, one for the circuit.
    let mut all = steps(&plan.work_order);
    all.sort();
    assert_eq!(all, [["A", "B"], ["C", "D"]]);
    assert_eq!(plan.work_order.moves(), 3);
    // The circuit is a node with its device as limit, before and after.
    let circuit = plan
        .nodes
        .iter()
        .find(|node| node.id == "C1")
        .expect("a node");
    assert_eq!(circuit.phase_limit_a, Some(16.0));
    let before = circuit.before.as_ref().expect("a before");
    for k in 0..3 {
        near(before.phase_max_a[k], [10.0, 0.0, 0.0][k]);
        near(circuit.after.phase_max_a[k], [0.0, 0.0, 10.0][k]);
    }
    near(circuit.after.neutral_max_a, 10.0);
}
