//! Range, unbalance and steps of the voltage, and what only looks like them.

use super::{number, resistive, set};
use crate::diagnosis::diagnose;
use crate::diagnosis::samples::{
    Columns, MONDAY, clear, constant, judge, judge_site, needs, on_phases, only, site,
};
use crate::electrical::{Phase, PhasePair};
use crate::finding::{Kind, Severity};
use crate::metering::{IntervalTable, Logs, MeterLog};
use crate::site::Quantity;

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
    let finding = only(&diagnosis, Kind::VoltageStep);
    // Down and up again, three times, each with the own load.
    assert!((number(finding, "steps") - 6.0).abs() < 1e-9);
    assert!((number(finding, "steps_with_own_load") - 6.0).abs() < 1e-9);
    assert!((number(finding, "largest_v").abs() - 14.0).abs() < 1e-9);
    // The network's steps are told as such: the own current does not follow.
    let network = judge(dips(&[100, 300, 500], 5.0));
    let finding = only(&network, Kind::VoltageStep);
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
    assert!(clear(&judge(drift), Kind::VoltageStep));
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
    assert!(clear(&diagnose(&site(&[], ""), &logs), Kind::VoltageStep));
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
