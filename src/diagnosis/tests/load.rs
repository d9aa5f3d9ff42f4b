//! Unbalanced and unexplained load, and what only looks like it.

use super::{number, resistive, set};
use crate::samples::{clear, constant, judge, judge_site, needs, on_phases, only, site};
use electrical::Phase;
use finding::Kind;
use site::Quantity;

#[test]
fn a_load_on_one_phase_is_told_with_its_share() {
    let one = judge(resistive([230.0; 3], [30.0, 5.0, 5.0], 300));
    let finding = only(&one, Kind::LoadUnbalance);
    assert_eq!(finding.spot.phase, Some(Phase::L1));
    assert!((number(finding, "energy_share_l1_pct") - 75.0).abs() < 1e-9);
    assert!((number(finding, "neutral_rms_a") - 25.0).abs() < 1e-9);
}

/// The neutral is loaded all the time, yet no phase has more than its share.
#[test]
fn phases_that_take_turns_are_not_an_unbalanced_load() {
    let mut turns = on_phases(Quantity::Current, [0.0; 3], 300);
    for (k, phase) in Phase::ALL.into_iter().enumerate() {
        let own = 100 * k..100 * (k + 1);
        set(&mut turns, Quantity::Current(phase), own, 30.0);
    }
    assert!(clear(&judge(turns), Kind::LoadUnbalance));
}

#[test]
fn energy_that_no_machine_explains_is_told() {
    let site = site(&["Kiln,DB1,L1,1"], "");
    let power = |kw: f64| vec![constant(Quantity::ActivePower(None), kw, 600)];
    let diagnosis = judge_site(&site, 60, power(3.0));
    let finding = only(&diagnosis, Kind::ListMismatch);
    // 2 kW for ten hours.
    assert!((number(finding, "unexplained_kwh") - 20.0).abs() < 1e-9);
    let blind = judge_site(&site, 60, on_phases(Quantity::Voltage, [230.0; 3], 300));
    assert!(needs(&blind, Kind::ListMismatch).contains("active power"));
}

#[test]
fn losses_of_a_few_per_cent_are_not_a_hidden_load() {
    let site = site(&["Kiln,DB1,L1,1"], "");
    let power = vec![constant(Quantity::ActivePower(None), 1.05, 600)];
    let diagnosis = judge_site(&site, 60, power);
    assert!(clear(&diagnosis, Kind::ListMismatch));
}

#[test]
fn a_constant_load_tells_nothing_about_joints() {
    let diagnosis = judge(resistive([230.0, 229.0, 231.0], [10.0, 20.0, 30.0], 2000));
    assert!(needs(&diagnosis, Kind::HighResistanceJoint).contains("a load that varies more"));
    let short = judge(resistive([230.0; 3], [10.0; 3], 30));
    assert!(needs(&short, Kind::HighResistanceJoint).contains("the log has 30"));
    let blind = judge(on_phases(Quantity::Current, [9.0; 3], 2000));
    assert!(needs(&blind, Kind::HighResistanceJoint).contains("voltage"));
}
