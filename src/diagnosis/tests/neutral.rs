//! Harmonics in the neutral and a failing neutral, and what only looks like them.

use super::{number, resistive, set};
use crate::samples::{clear, constant, judge, needs, on_phases, only};
use electrical::Phase;
use finding::{Kind, Severity};
use site::Quantity;

/// BSRIA AG 2/2000: 70 % third harmonic on balanced phases gives 172 % of the phase current in the neutral.
#[test]
fn third_harmonics_that_load_the_neutral_are_told() {
    let phase_rms = 10.0 * (1.0_f64 + 0.49).sqrt();
    let mut columns = resistive([230.0; 3], [10.0; 3], 300);
    for phase in Phase::ALL {
        set(&mut columns, Quantity::Current(phase), 0..300, phase_rms);
    }
    columns.push(constant(Quantity::NeutralCurrent, 21.0, 300));
    let diagnosis = judge(columns);
    let finding = only(&diagnosis, Kind::NeutralHarmonics);
    assert_eq!(finding.severity, Severity::Warning);
    assert!((number(finding, "neutral_rms_a") / phase_rms - 1.72).abs() < 0.005);
    assert!((number(finding, "distortion_l1_pct") - 70.0).abs() < 1e-6);
    // Above 45 % the neutral decides, 3 · 0.7 of the fundamental (IEC 60364-5-52, Table E.52.1).
    assert!((number(finding, "cable_current_over_phase_current") - 2.1).abs() < 1e-6);
}

/// A share of a fundamental that is zero would be no figure.
#[test]
fn a_phase_with_a_current_and_no_power_is_not_judged() {
    let mut columns = resistive([230.0; 3], [10.0; 3], 300);
    let power = Quantity::ActivePower(Some(Phase::L1));
    set(&mut columns, power, 0..300, 0.0);
    set(&mut columns, Quantity::Current(Phase::L1), 0..300, 30.0);
    columns.push(constant(Quantity::NeutralCurrent, 40.0, 300));
    let diagnosis = judge(columns);
    assert!(needs(&diagnosis, Kind::NeutralHarmonics).contains("the power of L1"));
}

/// Three heaters of 30 A take turns within each minute: each phase's mean is 10 A, their phasor sum
/// zero, and the neutral's mean is 30 A without any harmonic.
#[test]
fn loads_that_switch_within_the_interval_are_not_called_harmonics() {
    let mut columns = resistive([230.0; 3], [10.0; 3], 300);
    columns.push(constant(Quantity::NeutralCurrent, 30.0, 300));
    let diagnosis = judge(columns);
    assert!(
        diagnosis
            .findings
            .iter()
            .all(|finding| finding.kind != Kind::NeutralHarmonics)
    );
    assert!(needs(&diagnosis, Kind::NeutralHarmonics).contains("switch within"));
    let mut without_power = on_phases(Quantity::Current, [12.2; 3], 300);
    without_power.push(constant(Quantity::NeutralCurrent, 21.0, 300));
    assert!(needs(&judge(without_power), Kind::NeutralHarmonics).contains("reactive power"));
}

/// 10, 8 and 5 kW in star without a neutral (Millman's theorem, worked out apart): 196.7, 229.1 and
/// 270.6 V, displacement 43.59 V.
#[test]
fn a_failing_neutral_is_a_danger() {
    let mut columns = resistive([230.0; 3], [43.0, 35.0, 22.0], 300);
    for (phase, volts) in Phase::ALL.into_iter().zip([196.7, 229.1, 270.6]) {
        set(&mut columns, Quantity::Voltage(phase), 100..120, volts);
    }
    let diagnosis = judge(columns);
    let finding = only(&diagnosis, Kind::NeutralFault);
    assert_eq!(finding.severity, Severity::Danger);
    assert!((number(finding, "highest_displacement_v") - 43.59).abs() < 0.15);
    assert!((number(finding, "longest_spell_min") - 20.0).abs() < 1e-9);
}

#[test]
fn a_heavy_phase_and_a_lost_phase_are_not_a_failing_neutral() {
    // 80 A on one phase over 30 mΩ of line and 20 mΩ of neutral, seen as 4 V.
    let heavy = judge(resistive([226.0, 231.0, 231.0], [80.0, 2.0, 2.0], 300));
    assert!(clear(&heavy, Kind::NeutralFault));
    let lost = judge(resistive([230.0, 0.0, 230.0], [10.0, 0.0, 10.0], 300));
    assert!(clear(&lost, Kind::NeutralFault));
    let without = judge(on_phases(Quantity::Current, [9.0; 3], 300));
    assert!(needs(&without, Kind::NeutralFault).contains("voltage"));
}
