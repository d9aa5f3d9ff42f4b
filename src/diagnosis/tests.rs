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
    let blind = judge(on_phases(Quantity::Current, [9.0; 3], 300));
    assert!(needs(&blind, Kind::VoltageUnbalance).contains("between the lines"));
}

/// Without line voltages: |240 + a·230 + a²·220|/690 = √(240² + 230² + 220² − 240·230 − 230·220 − 220·240)/690
/// = √300/690 = 2.510 %, NEMA 10/230 = 4.348 %. Never more than a notice, since the neutral's drop does the same.
#[test]
fn phase_voltages_stand_in_for_line_voltages_and_say_so() {
    let own = site(&["Saw,DB1,3ph,10"], "");
    let judged = |volts| judge_site(&own, 60, on_phases(Quantity::Voltage, volts, 300));
    let diagnosis = judged([240.0, 230.0, 220.0]);
    let finding = only(&diagnosis, Kind::VoltageUnbalance);
    assert_eq!(finding.severity, Severity::Notice);
    assert!((number(finding, "negative_sequence_p95_worst_week_pct") - 2.510).abs() < 0.001);
    assert!((number(finding, "deviation_from_mean_p95_worst_week_pct") - 4.348).abs() < 0.001);
    assert!(finding.summary.contains("substitute"));
    assert!(clear(&judged([230.0; 3]), Kind::VoltageUnbalance));
    // A lost phase is no unbalance.
    let lost = judged([230.0, 20.0, 230.0]);
    assert!(needs(&lost, Kind::VoltageUnbalance).contains("ten-minute means"));
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

/// A log of the frequency alone, a site without any log: each kind says what it needs.
#[test]
fn every_kind_says_what_it_needs_where_the_columns_are_missing() {
    let blind = judge_site(
        &site(&["Kiln,DB1,L1,1"], ""),
        60,
        vec![constant(Quantity::Frequency, 50.0, 300)],
    );
    let none = super::diagnose(&site(&[], ""), &crate::metering::Logs::default());
    for diagnosis in [&blind, &none] {
        assert!(diagnosis.findings.is_empty(), "{:?}", diagnosis.findings);
        assert!(
            diagnosis.nothing_found.is_empty(),
            "{:?}",
            diagnosis.nothing_found
        );
        for kind in Kind::ALL {
            assert!(
                needs(diagnosis, kind).len() > 10,
                "{kind}: {}",
                needs(diagnosis, kind)
            );
        }
    }
}

/// Where each kind is shown to appear, and where something that imitates it does not trigger it.
#[test]
fn every_kind_has_a_test_where_it_appears_and_one_where_an_imitator_does_not() {
    const SOURCES: [&str; 7] = [
        include_str!("tests.rs"),
        include_str!("joint/tests.rs"),
        include_str!("meter_wiring/tests.rs"),
        include_str!("meter_wiring/pairing.rs"),
        include_str!("unexplained_load.rs"),
        include_str!("after_work/tests.rs"),
        include_str!("../../tests/suite/register_finding.rs"),
    ];
    let listed = |kind: Kind| -> [&str; 2] {
        match kind {
            Kind::NeutralConnection => [
                "a_failing_neutral_is_a_danger",
                "a_heavy_phase_and_a_lost_phase_are_not_a_failing_neutral",
            ],
            Kind::PhaseLoss => [
                "a_lost_phase_is_a_danger_and_a_lost_lead_is_not",
                "an_outage_of_all_phases_is_not_the_loss_of_one",
            ],
            Kind::HighResistanceJoint => [
                "a_joint_above_both_meters_is_not_blamed_on_what_is_between",
                "a_joint_above_both_meters_is_not_blamed_on_what_is_between",
            ],
            Kind::PhaseOverloaded => [
                "a_phase_above_its_limit_is_told_with_its_minutes",
                "a_phase_at_its_limit_is_not_overloaded_and_one_minute_is_a_notice",
            ],
            Kind::NeutralOverloaded => {
                ["a_neutral_above_its_limit_is_told_and_needs_its_current"; 2]
            }
            Kind::HarmonicNeutral => [
                "third_harmonics_that_load_the_neutral_are_told",
                "loads_that_switch_within_the_interval_are_not_called_harmonics",
            ],
            Kind::MeterWiring => [
                "a_register_that_counts_two_thirds_of_the_power_is_told",
                "a_register_within_its_class_or_over_a_gap_is_not",
            ],
            Kind::VoltageOutOfRange => [
                "ten_minute_means_outside_the_range_are_told",
                "one_minute_of_low_voltage_is_no_ten_minute_mean",
            ],
            Kind::VoltageUnbalance => [
                "unequal_line_voltages_are_told_with_the_motors_factor",
                "phase_voltages_stand_in_for_line_voltages_and_say_so",
            ],
            Kind::VoltageStep => ["steps_are_told_and_one_a_day_is_not_enough"; 2],
            Kind::UnbalancedLoad => ["a_load_on_one_phase_is_told_and_one_that_wanders_is_not"; 2],
            Kind::UnexplainedLoad => [
                "load_that_the_list_lacks_is_told_with_its_days_and_hours",
                "a_listed_machine_that_no_meter_sees_is_told_with_its_hours",
            ],
            Kind::AfterTheWork => [
                "a_machine_that_moves_another_phase_is_named_and_the_others_confirmed",
                "what_starts_together_is_no_proof",
            ],
        }
    };
    for kind in Kind::ALL {
        for name in listed(kind) {
            let head = format!("#[test]\nfn {name}()");
            let inner = format!("#[test]\n    fn {name}()");
            assert!(
                SOURCES
                    .iter()
                    .any(|text| text.contains(&head) || text.contains(&inner)),
                "{kind}: no test `{name}`"
            );
        }
    }
}

/// A cable of 20 min: (110/125)² · (1 − e^(−60/20)) = 73.6 % after an hour; a fuse's own time (72 min) gives less.
#[test]
fn the_thermal_time_constant_can_be_set() {
    let heating = |more: &str| {
        let columns = on_phases(Quantity::Current, [110.0, 5.0, 5.0], 60);
        let diagnosis = judge_site(&site(&[], more), 60, columns);
        number(
            only(&diagnosis, Kind::PhaseOverloaded),
            "highest_heating_pct",
        )
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
    let logs = crate::metering::Logs {
        meters: vec![
            crate::metering::MeterLog::of_table(0, super::samples::table(60, supply)),
            crate::metering::MeterLog::of_table(
                2,
                super::samples::table(60, vec![constant(Quantity::ActivePower(None), 9.2376, 60)]),
            ),
        ],
        ..crate::metering::Logs::default()
    };
    let diagnosis = super::diagnose(&own, &logs);
    let finding = only(&diagnosis, Kind::PhaseOverloaded);
    assert!((number(finding, "measured_share_a") - 40.0).abs() < 0.01);
    assert!((number(finding, "unknown_share_a") - 70.0).abs() < 0.1);
    assert!((number(finding, "conventional_operating_current_a") - 160.0).abs() < 1e-9);
    let told = finding
        .evidence
        .0
        .iter()
        .find(|(name, _)| *name == "relief_by_one_or_two_moves");
    let told = format!("{told:?}");
    assert!(told.contains("Kiln from L1 to L2: L1 at its highest 70.0 A instead of 110.0 A, above its limit in 0 intervals instead of 60"), "{told}");
}
