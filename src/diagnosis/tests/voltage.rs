//! Range, unbalance and steps of the voltage, and what only looks like them.

use super::{number, resistive, set};
use crate::diagnose;
use crate::samples::{
    Columns, MONDAY, clear, constant, judge, judge_site, needs, on_phases, only, site,
};
use electrical::{Phase, PhasePair};
use finding::{Kind, Severity};
use metering::{IntervalTable, Logs, MeterLog};
use site::Quantity;

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

/// EN 50160:2010, 4.2 (from memory), at 230 V: 95 % of a week's ten-minute means from 207 to 253 V, none above 253 or
/// below 195.5 V. Of the 144 means of a day 7 are less than 5 %, 8 are more.
#[test]
fn the_range_ends_where_the_standard_says() {
    let with = |volts: f64, means: usize| {
        let mut columns = on_phases(Quantity::Voltage, [235.0; 3], 1440);
        let l3 = Quantity::Voltage(Phase::L3);
        set(&mut columns, l3, 0..10 * means, volts);
        judge(columns)
    };
    for volts in [207.0, 253.0] {
        assert!(clear(&with(volts, 144), Kind::VoltageOutOfRange), "{volts}");
    }
    for (volts, means, severity) in [
        (206.9, 7, Severity::Notice),
        (206.9, 8, Severity::Warning),
        (195.5, 7, Severity::Notice),
        (195.4, 1, Severity::Warning),
        (253.1, 1, Severity::Warning),
    ] {
        let diagnosis = with(volts, means);
        let finding = only(&diagnosis, Kind::VoltageOutOfRange);
        assert_eq!(finding.severity, severity, "{volts} V, {means} means");
    }
}

/// One load alone behind a lost neutral draws the star point to its phase: 0, 398.4 and 398.4 V (Millman's theorem).
#[test]
fn one_load_alone_behind_a_lost_neutral_is_no_lost_phase_and_the_others_are_too_high() {
    let diagnosis = judge(resistive([0.0, 398.4, 398.4], [0.0; 3], 300));
    assert!(clear(&diagnosis, Kind::PhaseLoss));
    let high = diagnosis.findings.iter().filter(|finding| {
        finding.kind == Kind::VoltageOutOfRange && finding.spot.phase != Some(Phase::L1)
    });
    assert_eq!(high.count(), 2);
    // And as what it is, with the readings a few volts off as well.
    for volts in [[0.0, 398.4, 398.4], [2.0, 396.0, 400.0]] {
        let diagnosis = judge(resistive(volts, [0.0; 3], 300));
        let neutral = only(&diagnosis, Kind::NeutralFault);
        assert_eq!(neutral.severity, Severity::Danger, "{volts:?}");
        assert!((number(neutral, "highest_displacement_v") - 230.0).abs() < 1.0);
    }
    // A phase lost at the source leaves the others near nominal.
    let source = judge(resistive([2.0, 231.0, 229.0], [0.0; 3], 300));
    assert!(clear(&source, Kind::NeutralFault));
    let lost = only(&source, Kind::PhaseLoss);
    assert_eq!(
        (lost.severity, lost.spot.phase),
        (Severity::Danger, Some(Phase::L1))
    );
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

/// A day at 230 V and 5 A in which L1 falls to 216 V at these minutes, for five, with so many amperes.
fn dips(starts: &[usize], amps: f64) -> Columns {
    let mut columns = resistive([230.0; 3], [5.0; 3], 1440);
    for &start in starts {
        let minutes = start..start + 5;
        set(
            &mut columns,
            Quantity::Voltage(Phase::L1),
            minutes.clone(),
            216.0,
        );
        set(&mut columns, Quantity::Current(Phase::L1), minutes, amps);
    }
    columns
}

#[test]
fn steps_are_told_with_those_of_the_own_load() {
    let diagnosis = judge(dips(&[100, 300, 500], 90.0));
    let finding = only(&diagnosis, Kind::RapidVoltageChange);
    // Down and up again, three times, each with the own load.
    assert!((number(finding, "steps") - 6.0).abs() < 1e-9);
    assert!((number(finding, "steps_with_own_load") - 6.0).abs() < 1e-9);
    assert!((number(finding, "largest_v").abs() - 14.0).abs() < 1e-9);
    // The network's steps are reported as such: the own current does not follow.
    let network = judge(dips(&[100, 300, 500], 5.0));
    let finding = only(&network, Kind::RapidVoltageChange);
    assert!((number(finding, "steps_with_own_load")).abs() < 1e-9);
}

#[test]
fn a_voltage_that_drifts_or_moves_while_nobody_reads_is_not_a_step() {
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
    assert!(clear(&judge(drift), Kind::RapidVoltageChange));
    // 230 V before each hour without readings, 214 V after it, and the other way round.
    let volts = |minute: usize| {
        if (minute / 120).is_multiple_of(2) {
            230.0
        } else {
            214.0
        }
    };
    let minutes = (0..1440).filter(|minute| minute % 120 < 60);
    let (starts, series): (Vec<i64>, Vec<Option<f64>>) = minutes
        .map(|minute| (MONDAY + 60 * minute as i64, Some(volts(minute))))
        .unzip();
    let columns = Phase::ALL
        .map(|phase| (Quantity::Voltage(phase).name(), series.clone()))
        .into();
    let table = IntervalTable::of_columns(starts, 60, columns);
    let logs = Logs {
        meters: vec![MeterLog::of_table(0, table)],
        ..Logs::default()
    };
    assert!(clear(
        &diagnose(&site(&[], ""), &logs),
        Kind::RapidVoltageChange
    ));
}

fn lines(volts: [f64; 3]) -> Columns {
    PhasePair::ALL
        .map(|pair| constant(Quantity::LineVoltage(pair), volts[pair.index()], 300))
        .into()
}

/// The neutral moves the phase voltages, not the line voltages.
#[test]
fn a_displaced_neutral_is_not_unbalance_of_the_lines() {
    let mut moved = lines([398.4; 3]);
    moved.extend(on_phases(Quantity::Voltage, [196.7, 229.1, 270.6], 300));
    assert!(clear(&judge(moved), Kind::VoltageUnbalance));
}

/// 410, 400 and 390 V: u2 2.888 % by IEC 61000-4-30, 2.5 % by NEMA MG 1, where its curve reads 0.93.
#[test]
fn unequal_line_voltages_are_told_with_the_motors_factor() {
    let diagnosis = judge(lines([410.0, 400.0, 390.0]));
    let finding = only(&diagnosis, Kind::VoltageUnbalance);
    assert!((number(finding, "negative_sequence_p95_worst_week_pct") - 2.888).abs() < 0.001);
    assert!((number(finding, "motor_load_factor") - 0.93).abs() < 1e-9);
    let blind = judge(on_phases(Quantity::Current, [9.0; 3], 300));
    assert!(needs(&blind, Kind::VoltageUnbalance).contains("line-to-line voltages"));
}

/// EN 50160:2010, 4.2 (from memory): negative sequence up to 2 %. 412, 400 and 400 V have 1.990 %, 412.1, 400 and 400 V
/// 2.007 % (law of cosines, worked out apart).
#[test]
fn two_per_cent_of_negative_sequence_is_the_limit() {
    assert!(clear(
        &judge(lines([412.0, 400.0, 400.0])),
        Kind::VoltageUnbalance
    ));
    let above = judge(lines([412.1, 400.0, 400.0]));
    let finding = only(&above, Kind::VoltageUnbalance);
    assert!((number(finding, "negative_sequence_p95_worst_week_pct") - 2.007).abs() < 0.001);
}

/// NEMA MG 1, 14.36: motors are derated above 1 % and do not run above 5 %. 404, 400 and 396 V deviate by 1 % of their
/// mean, 404.4 and 395.6 V with 400 V by 1.1 %, and so on; the negative sequence of the first two is below 2 %.
#[test]
fn motors_are_derated_from_one_per_cent_and_stopped_from_five() {
    let own = site(&["Saw,DB1,3ph,10"], "");
    let judged = |volts| judge_site(&own, 60, lines(volts));
    assert!(clear(
        &judged([404.0, 400.0, 396.0]),
        Kind::VoltageUnbalance
    ));
    let little = judged([404.4, 400.0, 395.6]);
    let finding = only(&little, Kind::VoltageUnbalance);
    assert_eq!(finding.severity, Severity::Notice);
    assert!(finding.summary.contains("to 0.98 of their rating at most"));
    let most = judged([420.0, 400.0, 380.0]);
    let finding = only(&most, Kind::VoltageUnbalance);
    assert!((number(finding, "motor_load_factor") - 0.76).abs() < 1e-9);
    let more = judged([420.4, 400.0, 379.6]);
    let finding = only(&more, Kind::VoltageUnbalance);
    assert_eq!(finding.severity, Severity::Warning);
    assert!(finding.summary.contains("do not run three-phase motors"));
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
