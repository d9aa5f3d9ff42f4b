//! Phases and neutral above their limits, and what only looks like it.

use super::{number, resistive, set};
use crate::diagnose;
use crate::samples::{clear, constant, judge, judge_site, needs, on_phases, only, site};
use electrical::Phase;
use finding::{Kind, Severity};
use site::Quantity;

#[test]
fn a_phase_above_its_limit_is_told_with_its_minutes() {
    let mut columns = on_phases(Quantity::Current, [90.0, 20.0, 20.0], 300);
    set(&mut columns, Quantity::Current(Phase::L1), 10..14, 104.0);
    set(&mut columns, Quantity::Current(Phase::L1), 60..71, 110.0);
    let diagnosis = judge(columns);
    let finding = only(&diagnosis, Kind::PhaseOverload);
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
        only(&diagnosis, Kind::PhaseOverload).severity
    };
    assert_eq!(severity(&own), Severity::Notice);
    assert_eq!(severity(&site(&[], "")), Severity::Warning);
}

#[test]
fn a_phase_at_its_limit_is_not_overloaded_and_one_minute_is_a_notice() {
    let full = judge(on_phases(Quantity::Current, [100.0, 100.0, 99.9], 300));
    assert!(clear(&full, Kind::PhaseOverload));
    let mut columns = on_phases(Quantity::Current, [90.0; 3], 300);
    set(&mut columns, Quantity::Current(Phase::L2), 7..8, 130.0);
    let brief = judge(columns);
    assert_eq!(only(&brief, Kind::PhaseOverload).severity, Severity::Notice);
    let voltage_alone = judge(on_phases(Quantity::Voltage, [230.0; 3], 300));
    assert!(needs(&voltage_alone, Kind::PhaseOverload).contains("current"));
}

/// A gG fuse of 100 A must operate within two hours at 160 A (IEC 60269-1, Table 2).
#[test]
fn the_conventional_fusing_current_is_a_danger_after_its_conventional_time() {
    let finding = |rows| {
        let diagnosis = judge(on_phases(Quantity::Current, [160.0, 5.0, 5.0], rows));
        only(&diagnosis, Kind::PhaseOverload).severity
    };
    assert_eq!(finding(119), Severity::Warning);
    assert_eq!(finding(121), Severity::Danger);
}

#[test]
fn a_neutral_above_its_limit_is_told_and_needs_its_current() {
    let mut columns = on_phases(Quantity::Current, [90.0; 3], 60);
    assert!(needs(&judge(columns.clone()), Kind::NeutralOverload).contains("neutral"));
    columns.push(constant(Quantity::NeutralCurrent, 120.0, 60));
    let diagnosis = judge(columns);
    let finding = only(&diagnosis, Kind::NeutralOverload);
    assert!((number(finding, "time_above_limit_min") - 60.0).abs() < 1e-9);
}

/// The plain sum of the phase currents, 270 A, is not what the neutral carries; nor is a full neutral too full.
#[test]
fn full_phases_in_balance_are_not_an_overloaded_neutral() {
    for amps in [3.0, 99.0] {
        let mut columns = on_phases(Quantity::Current, [90.0; 3], 60);
        columns.push(constant(Quantity::NeutralCurrent, amps, 60));
        assert!(clear(&judge(columns), Kind::NeutralOverload));
    }
}

/// 120 A on one phase is 120 A in the neutral, logged there or not.
#[test]
fn a_neutral_that_is_not_logged_carries_at_least_the_sum_of_the_phases() {
    let one = judge(resistive([230.0; 3], [120.0, 0.0, 0.0], 60));
    let finding = only(&one, Kind::NeutralOverload);
    assert!((number(finding, "highest_a") - 120.0).abs() < 1e-9);
    // Below the limit it is not cleared, since what the sum leaves out may come on top.
    let balanced = judge(resistive([230.0; 3], [90.0; 3], 60));
    assert!(needs(&balanced, Kind::NeutralOverload).contains("harmonics"));
}

/// A cable of 20 min: (110/125)² · (1 − e^(−60/20)) = 73.6 % after an hour; a fuse's own time (72 min) gives less.
#[test]
fn the_thermal_time_constant_can_be_set() {
    let heating = |more: &str| {
        let columns = on_phases(Quantity::Current, [110.0, 5.0, 5.0], 60);
        let diagnosis = judge_site(&site(&[], more), 60, columns);
        number(only(&diagnosis, Kind::PhaseOverload), "highest_heating_pct")
    };
    assert!((heating("[thresholds]\nthermal_time_constant_min = 20\n") - 73.58).abs() < 0.01);
    // τ = 120/ln(1.6²/(1.6² − 1.25²)) = 127.3 min: 77.44 · (1 − e^(−60/127.3)) = 29.11.
    assert!((heating("") - 29.11).abs() < 0.02, "{}", heating(""));
}

#[test]
fn an_overload_names_the_moves_that_relieve_it() {
    // A kiln of 40 A on L1, which carries 110 A; the other phases 20 A.
    let meter = "[[meter]]\nid = \"kiln\"\nmeasures = \"Kiln\"\nfiles = \"kiln.csv\"\n";
    let own = site(&["Kiln,DB1,L1,9.2376"], meter);
    let supply = resistive([230.94; 3], [110.0, 20.0, 20.0], 60);
    let logs = metering::Logs {
        meters: vec![
            metering::MeterLog::of_table(0, crate::samples::table(60, supply)),
            metering::MeterLog::of_table(
                2,
                crate::samples::table(60, vec![constant(Quantity::ActivePower(None), 9.2376, 60)]),
            ),
        ],
        ..metering::Logs::default()
    };
    let diagnosis = diagnose(&own, &logs);
    let finding = only(&diagnosis, Kind::PhaseOverload);
    assert!((number(finding, "measured_share_a") - 40.0).abs() < 0.01);
    assert!((number(finding, "unmetered_share_a") - 70.0).abs() < 0.1);
    assert!((number(finding, "conventional_fusing_current_a") - 160.0).abs() < 1e-9);
    let told = finding
        .evidence
        .0
        .iter()
        .find(|(name, _)| *name == "relief_by_one_or_two_moves");
    let told = format!("{told:?}");
    assert!(told.contains("Kiln from L1 to L2: L1 then peaks at 70.0 A (now 110.0 A) and is over its limit in 0 intervals (now 60)"), "{told}");
}
