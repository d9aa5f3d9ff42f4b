//! Harmonics in the neutral and a failing neutral, and what only looks like them.

use super::{active, number, resistive, set};
use crate::samples::{Columns, MONDAY, clear, constant, judge, needs, on_phases, only};
use electrical::{Phase, PhasePair};
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

/// A transformer that has lost a line at high voltage: 0 V on one phase, 79 % on the others, and the star point stays.
#[test]
fn a_phase_without_voltage_and_two_low_ones_are_a_lost_phase() {
    let diagnosis = judge(resistive([0.0, 182.0, 182.0], [0.0, 10.0, 10.0], 300));
    assert!(clear(&diagnosis, Kind::NeutralFault));
    let lost = only(&diagnosis, Kind::PhaseLoss);
    assert_eq!(lost.severity, Severity::Danger);
    assert_eq!(lost.spot.phase, Some(Phase::L1));
}

/// The voltages of [`a_failing_neutral_is_a_danger`] in these minutes.
fn moved_voltages(rows: std::ops::Range<usize>) -> Columns {
    let mut columns = on_phases(Quantity::Voltage, [230.0; 3], 300);
    for (phase, volts) in Phase::ALL.into_iter().zip([196.7, 229.1, 270.6]) {
        set(&mut columns, Quantity::Voltage(phase), rows.clone(), volts);
    }
    columns
}

/// Voltages to neutral alone are one line of evidence; those between the lines make it two.
#[test]
fn a_displacement_that_nothing_else_confirms_is_a_warning_and_a_short_one_a_notice() {
    let alone = judge(moved_voltages(100..120));
    let finding = only(&alone, Kind::NeutralFault);
    assert_eq!(finding.severity, Severity::Warning);
    assert_eq!(finding.from.timestamp(), MONDAY + 6000);
    assert_eq!(finding.to.timestamp(), MONDAY + 7200);
    let mut with_lines = moved_voltages(100..120);
    for pair in PhasePair::ALL {
        with_lines.push(constant(Quantity::LineVoltage(pair), 398.4, 300));
    }
    let confirmed = judge(with_lines);
    let finding = only(&confirmed, Kind::NeutralFault);
    assert_eq!(finding.severity, Severity::Danger);
    assert!((number(finding, "highest_displacement_v") - 43.59).abs() < 0.3);
    let minute = judge(moved_voltages(100..101));
    let finding = only(&minute, Kind::NeutralFault);
    assert_eq!(finding.severity, Severity::Notice);
}

/// 77, 106 and 106 % of 230 V: a triangle with a side of 95.5 % of the usual one and a star point that has moved, or a phase
/// fed back. Currents decide: with none in L1 and 20 A in the neutral it is a lost phase; line-to-line voltages as well.
#[test]
fn where_both_explanations_fit_both_are_told_with_the_reading_that_decides() {
    let volts = [177.1, 243.8, 243.8];
    let mut columns = on_phases(Quantity::Voltage, [230.0; 3], 300);
    for (phase, volts) in Phase::ALL.into_iter().zip(volts) {
        set(&mut columns, Quantity::Voltage(phase), 100..120, volts);
    }
    let both = judge(columns.clone());
    let order: Vec<Kind> = both.findings.iter().map(|finding| finding.kind).collect();
    let place = |kind| order.iter().position(|&own| own == kind);
    assert!(
        place(Kind::NeutralFault) < place(Kind::PhaseLoss),
        "{order:?}"
    );
    for kind in [Kind::NeutralFault, Kind::PhaseLoss] {
        let finding = only(&both, kind);
        assert_eq!(finding.severity, Severity::Warning);
        let names: Vec<&str> = finding.evidence.0.iter().map(|piece| piece.0).collect();
        assert!(names.contains(&"reading_that_decides"), "{names:?}");
    }
    let mut loaded = resistive([230.0; 3], [20.0, 20.0, 1.0], 300);
    for (phase, volts) in Phase::ALL.into_iter().zip(volts) {
        set(&mut loaded, Quantity::Voltage(phase), 100..120, volts);
    }
    for quantity in [Quantity::Current(Phase::L1), active(Phase::L1)] {
        set(&mut loaded, quantity, 100..120, 0.0);
    }
    let lost = judge(loaded);
    assert!(clear(&lost, Kind::NeutralFault));
    assert_eq!(only(&lost, Kind::PhaseLoss).severity, Severity::Danger);
    // √(0.77² + 1.06² + 0.77·1.06) of 230 V to L1, 1.06·√3 of it between the others.
    let between = [367.3, 422.3, 367.3];
    for pair in PhasePair::ALL {
        let mut line = constant(Quantity::LineVoltage(pair), 398.4, 300);
        line.1[100..120].fill(between[pair.index()]);
        columns.push(line);
    }
    let lost = judge(columns);
    assert!(clear(&lost, Kind::NeutralFault));
    assert_eq!(only(&lost, Kind::PhaseLoss).severity, Severity::Danger);
}
