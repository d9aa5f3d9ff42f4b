//! Each kind of finding where it is, where something imitates it, and where it cannot be judged.

use super::samples::{Columns, clear, constant, judge, judge_site, needs, on_phases, only, site};
use crate::electrical::Phase;
use crate::finding::{Kind, Severity};
use crate::site::Quantity;

fn number(finding: &crate::finding::Finding, name: &str) -> f64 {
    finding
        .evidence
        .number(name)
        .unwrap_or_else(|| panic!("no {name} in {finding:?}"))
}

fn active(phase: Phase) -> Quantity {
    Quantity::ActivePower(Some(phase))
}

fn reactive(phase: Phase) -> Quantity {
    Quantity::ReactivePower(Some(phase))
}

/// Voltages, currents, powers of a load in phase with its voltage.
fn resistive(volts: [f64; 3], amps: [f64; 3], rows: usize) -> Columns {
    let power = [0, 1, 2].map(|k| volts[k] * amps[k] / 1000.0);
    let mut columns = on_phases(Quantity::Voltage, volts, rows);
    columns.extend(on_phases(Quantity::Current, amps, rows));
    columns.extend(on_phases(active, power, rows));
    columns.extend(on_phases(reactive, [0.0; 3], rows));
    columns
}

fn set(columns: &mut Columns, quantity: Quantity, rows: std::ops::Range<usize>, value: f64) {
    let column = columns.iter_mut().find(|column| column.0 == quantity);
    for cell in &mut column.expect("the column is there").1[rows] {
        *cell = value;
    }
}

#[test]
fn a_phase_above_its_limit_is_told_with_its_minutes() {
    let mut columns = on_phases(Quantity::Current, [90.0, 20.0, 20.0], 300);
    set(&mut columns, Quantity::Current(Phase::L1), 10..14, 104.0);
    set(&mut columns, Quantity::Current(Phase::L1), 60..71, 110.0);
    let diagnosis = judge(columns);
    let finding = only(&diagnosis, Kind::PhaseOverloaded);
    assert_eq!(finding.severity, Severity::Warning);
    assert_eq!(finding.spot.phase, Some(Phase::L1));
    assert!((number(finding, "time_above_limit_min") - 15.0).abs() < 1e-9);
    assert!((number(finding, "longest_spell_min") - 11.0).abs() < 1e-9);
    assert!((number(finding, "highest_a") - 110.0).abs() < 1e-9);
}

#[test]
fn a_site_sets_its_own_thresholds() {
    let own = site(&[], "[thresholds]\noverload_warning_min = 100\n");
    let mut columns = on_phases(Quantity::Current, [90.0, 20.0, 20.0], 300);
    set(&mut columns, Quantity::Current(Phase::L1), 60..120, 110.0);
    let severity = |site| {
        let diagnosis = judge_site(site, 60, columns.clone());
        only(&diagnosis, Kind::PhaseOverloaded).severity
    };
    assert_eq!(severity(&own), Severity::Notice);
    assert_eq!(severity(&site(&[], "")), Severity::Warning);
}

#[test]
fn a_phase_at_its_limit_is_not_overloaded_and_one_minute_is_a_notice() {
    let full = judge(on_phases(Quantity::Current, [100.0, 100.0, 99.9], 300));
    assert!(clear(&full, Kind::PhaseOverloaded));
    let mut columns = on_phases(Quantity::Current, [90.0; 3], 300);
    set(&mut columns, Quantity::Current(Phase::L2), 7..8, 130.0);
    let brief = judge(columns);
    assert_eq!(
        only(&brief, Kind::PhaseOverloaded).severity,
        Severity::Notice
    );
    let voltage_alone = judge(on_phases(Quantity::Voltage, [230.0; 3], 300));
    assert!(needs(&voltage_alone, Kind::PhaseOverloaded).contains("current"));
}

/// A gG fuse of 100 A must operate within two hours at 160 A (IEC 60269-1, Table 2).
#[test]
fn the_conventional_fusing_current_is_a_danger_after_its_conventional_time() {
    let finding = |rows| {
        let diagnosis = judge(on_phases(Quantity::Current, [160.0, 5.0, 5.0], rows));
        only(&diagnosis, Kind::PhaseOverloaded).severity
    };
    assert_eq!(finding(119), Severity::Warning);
    assert_eq!(finding(121), Severity::Danger);
}

#[test]
fn a_neutral_above_its_limit_is_told_and_needs_its_current() {
    let mut columns = on_phases(Quantity::Current, [90.0; 3], 60);
    assert!(needs(&judge(columns.clone()), Kind::NeutralOverloaded).contains("neutral"));
    columns.push(constant(Quantity::NeutralCurrent, 120.0, 60));
    let diagnosis = judge(columns.clone());
    assert!(
        (number(
            only(&diagnosis, Kind::NeutralOverloaded),
            "time_above_limit_min"
        ) - 60.0)
            .abs()
            < 1e-9
    );
    columns.pop();
    columns.push(constant(Quantity::NeutralCurrent, 99.0, 60));
    assert!(clear(&judge(columns), Kind::NeutralOverloaded));
}

#[test]
fn a_consumer_that_gives_power_has_its_transformer_reversed() {
    let columns = on_phases(active, [2.0, -2.0, 2.0], 600);
    let diagnosis = judge(columns);
    let finding = only(&diagnosis, Kind::MeterWiring);
    assert_eq!(finding.spot.phase, Some(Phase::L2));
    // 2 kW for ten hours.
    assert!((number(finding, "energy_with_wrong_sign_kwh") - 20.0).abs() < 1e-9);
}

#[test]
fn a_machine_that_brakes_or_a_generator_is_not_a_reversed_transformer() {
    let mut columns = on_phases(active, [2.0; 3], 600);
    set(
        &mut columns,
        Quantity::ActivePower(Some(Phase::L1)),
        100..160,
        -1.5,
    );
    assert!(clear(&judge(columns), Kind::MeterWiring));
    let mut generator = on_phases(active, [-2.0; 3], 600);
    generator.push(constant(Quantity::EnergyExport, 7.0, 600));
    let diagnosis = judge(generator);
    assert!(needs(&diagnosis, Kind::MeterWiring).contains("export"));
}

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
    let finding = only(&diagnosis, Kind::HarmonicNeutral);
    assert_eq!(finding.severity, Severity::Warning);
    assert!((number(finding, "neutral_rms_a") / phase_rms - 1.72).abs() < 0.005);
    assert!((number(finding, "distortion_l1_pct") - 70.0).abs() < 1e-6);
    // Above 45 % the neutral decides, 3 · 0.7 of the fundamental (IEC 60364-5-52, Table E.52.1).
    assert!((number(finding, "cable_current_over_phase_current") - 2.1).abs() < 1e-6);
}

/// Three heaters of 30 A take turns within each minute: each phase's mean is 10 A, their phasor sum
/// nought, and the neutral's mean is 30 A without any harmonic.
#[test]
fn loads_that_switch_within_the_interval_are_not_called_harmonics() {
    let mut columns = resistive([230.0; 3], [10.0; 3], 300);
    columns.push(constant(Quantity::NeutralCurrent, 30.0, 300));
    let diagnosis = judge(columns);
    assert!(
        diagnosis
            .findings
            .iter()
            .all(|finding| finding.kind != Kind::HarmonicNeutral)
    );
    assert!(needs(&diagnosis, Kind::HarmonicNeutral).contains("switch within"));
    let mut without_power = on_phases(Quantity::Current, [12.2; 3], 300);
    without_power.push(constant(Quantity::NeutralCurrent, 21.0, 300));
    assert!(needs(&judge(without_power), Kind::HarmonicNeutral).contains("reactive power"));
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
    let finding = only(&diagnosis, Kind::NeutralConnection);
    assert_eq!(finding.severity, Severity::Danger);
    assert!((number(finding, "highest_displacement_v") - 43.59).abs() < 0.15);
    assert!((number(finding, "longest_spell_min") - 20.0).abs() < 1e-9);
}

#[test]
fn a_heavy_phase_and_a_lost_phase_are_not_a_failing_neutral() {
    // 80 A on one phase over 30 mΩ of line and 20 mΩ of neutral, seen as 4 V.
    let heavy = judge(resistive([226.0, 231.0, 231.0], [80.0, 2.0, 2.0], 300));
    assert!(clear(&heavy, Kind::NeutralConnection));
    let lost = judge(resistive([230.0, 0.0, 230.0], [10.0, 0.0, 10.0], 300));
    assert!(clear(&lost, Kind::NeutralConnection));
    let without = judge(on_phases(Quantity::Current, [9.0; 3], 300));
    assert!(needs(&without, Kind::NeutralConnection).contains("voltage"));
}

#[test]
fn ten_minute_means_outside_the_range_are_told() {
    let mut columns = on_phases(Quantity::Voltage, [235.0; 3], 1440);
    set(&mut columns, Quantity::Voltage(Phase::L3), 600..720, 206.0);
    let diagnosis = judge(columns);
    let finding = only(&diagnosis, Kind::VoltageOutOfRange);
    assert!((number(finding, "time_outside_min") - 120.0).abs() < 1e-9);
    // 12 of 144 means, more than 5 % of the time.
    assert_eq!(finding.severity, Severity::Warning);
}

#[test]
fn one_minute_of_low_voltage_is_no_ten_minute_mean() {
    let mut columns = on_phases(Quantity::Voltage, [235.0; 3], 1440);
    set(&mut columns, Quantity::Voltage(Phase::L3), 600..601, 190.0);
    assert!(clear(&judge(columns), Kind::VoltageOutOfRange));
    let slow = judge_site(
        &site(&[], ""),
        900,
        on_phases(Quantity::Voltage, [260.0; 3], 96),
    );
    assert!(needs(&slow, Kind::VoltageOutOfRange).contains("ten minutes"));
}

#[test]
fn a_lost_phase_is_a_danger_and_a_lost_lead_is_not() {
    let mut columns = resistive([230.0; 3], [10.0; 3], 300);
    set(&mut columns, Quantity::Voltage(Phase::L2), 50..60, 20.0);
    let lead = judge(columns.clone());
    assert!(clear(&lead, Kind::PhaseLoss));
    let wiring = only(&lead, Kind::MeterWiring);
    assert_eq!(wiring.spot.phase, Some(Phase::L2));
    assert!(wiring.summary.contains("voltage lead"));
    set(&mut columns, Quantity::Current(Phase::L2), 50..60, 0.0);
    let lost = judge(columns);
    let finding = only(&lost, Kind::PhaseLoss);
    assert_eq!(finding.severity, Severity::Danger);
    assert!((number(finding, "longest_spell_min") - 10.0).abs() < 1e-9);
}

#[test]
fn an_outage_of_all_phases_is_not_the_loss_of_one() {
    let mut columns = resistive([230.0; 3], [10.0; 3], 300);
    for phase in Phase::ALL {
        set(&mut columns, Quantity::Voltage(phase), 50..60, 0.0);
    }
    assert!(clear(&judge(columns), Kind::PhaseLoss));
}

#[test]
fn steps_are_told_and_one_a_day_is_not_enough() {
    let mut columns = resistive([230.0; 3], [5.0; 3], 1440);
    for start in [100, 300, 500] {
        set(
            &mut columns,
            Quantity::Voltage(Phase::L1),
            start..start + 5,
            216.0,
        );
        set(
            &mut columns,
            Quantity::Current(Phase::L1),
            start..start + 5,
            90.0,
        );
    }
    let diagnosis = judge(columns);
    let finding = only(&diagnosis, Kind::VoltageStep);
    // Down and up again, three times, each with the own load.
    assert!((number(finding, "steps") - 6.0).abs() < 1e-9);
    assert!((number(finding, "steps_with_own_load") - 6.0).abs() < 1e-9);
    assert!((number(finding, "largest_v").abs() - 14.0).abs() < 1e-9);
    let mut drift = resistive([230.0; 3], [5.0; 3], 1440);
    for row in 0..1440 {
        let volts = 230.0 + 20.0 * (row as f64 / 200.0).sin();
        set(
            &mut drift,
            Quantity::Voltage(Phase::L1),
            row..row + 1,
            volts,
        );
    }
    assert!(clear(&judge(drift), Kind::VoltageStep));
}

/// 410, 400 and 390 V: u2 2.888 % by IEC 61000-4-30, 2.5 % by NEMA MG 1, where its curve reads 0.93.
#[test]
fn unequal_line_voltages_are_told_with_the_motors_factor() {
    use crate::electrical::PhasePair;
    let lines = |volts: [f64; 3]| -> Columns {
        PhasePair::ALL
            .map(|pair| constant(Quantity::LineVoltage(pair), volts[pair.index()], 300))
            .into()
    };
    let diagnosis = judge(lines([410.0, 400.0, 390.0]));
    let finding = only(&diagnosis, Kind::VoltageUnbalance);
    assert!((number(finding, "negative_sequence_p95_worst_week_pct") - 2.888).abs() < 0.001);
    assert!((number(finding, "motor_load_factor") - 0.93).abs() < 1e-9);
    // The neutral moves the phase voltages, not the line voltages.
    let mut moved = lines([398.4; 3]);
    moved.extend(on_phases(Quantity::Voltage, [196.7, 229.1, 270.6], 300));
    assert!(clear(&judge(moved), Kind::VoltageUnbalance));
    let phases_alone = judge(on_phases(Quantity::Voltage, [230.0; 3], 300));
    assert!(needs(&phases_alone, Kind::VoltageUnbalance).contains("between the lines"));
}

#[test]
fn a_load_on_one_phase_is_told_and_one_that_wanders_is_not() {
    let one = judge(resistive([230.0; 3], [30.0, 5.0, 5.0], 300));
    let finding = only(&one, Kind::UnbalancedLoad);
    assert_eq!(finding.spot.phase, Some(Phase::L1));
    assert!((number(finding, "energy_share_l1_pct") - 75.0).abs() < 1e-9);
    assert!((number(finding, "neutral_rms_a") - 25.0).abs() < 1e-9);
    // Each phase has its turn: the neutral is loaded, but no phase has more than its share.
    let mut turns = on_phases(Quantity::Current, [0.0; 3], 300);
    for (k, phase) in Phase::ALL.into_iter().enumerate() {
        set(
            &mut turns,
            Quantity::Current(phase),
            100 * k..100 * (k + 1),
            30.0,
        );
    }
    assert!(clear(&judge(turns), Kind::UnbalancedLoad));
}

#[test]
fn energy_that_no_machine_explains_is_told() {
    let site = site(&["Kiln,DB1,L1,1"], "");
    let power = |kw: f64| vec![constant(Quantity::ActivePower(None), kw, 600)];
    let diagnosis = judge_site(&site, 60, power(3.0));
    let finding = only(&diagnosis, Kind::UnexplainedLoad);
    // 2 kW for ten hours.
    assert!((number(finding, "unexplained_kwh") - 20.0).abs() < 1e-9);
    // Losses of a few per cent are not a hidden load.
    assert!(clear(
        &judge_site(&site, 60, power(1.05)),
        Kind::UnexplainedLoad
    ));
    let blind = judge_site(&site, 60, on_phases(Quantity::Voltage, [230.0; 3], 300));
    assert!(needs(&blind, Kind::UnexplainedLoad).contains("active power"));
}

#[test]
fn a_constant_load_tells_nothing_about_joints() {
    let diagnosis = judge(resistive([230.0, 229.0, 231.0], [10.0, 20.0, 30.0], 2000));
    assert!(needs(&diagnosis, Kind::HighResistanceJoint).contains("not enough variation"));
    let short = judge(resistive([230.0; 3], [10.0; 3], 30));
    assert!(needs(&short, Kind::HighResistanceJoint).contains("only 30"));
    let blind = judge(on_phases(Quantity::Current, [9.0; 3], 2000));
    assert!(needs(&blind, Kind::HighResistanceJoint).contains("voltage"));
}

#[test]
fn every_kind_has_a_page_and_a_name_of_its_own() {
    let mut names: Vec<&str> = Kind::ALL.iter().map(|kind| kind.name()).collect();
    for kind in Kind::ALL {
        assert_eq!(Kind::from_name(kind.name()), Some(kind));
        let page = super::page(kind);
        for part in [
            page.meaning,
            page.formula,
            page.source,
            page.imitators,
            page.action,
            page.caution,
        ] {
            assert!(part.len() > 20, "{kind}: {part:?}");
        }
    }
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), Kind::ALL.len());
}
