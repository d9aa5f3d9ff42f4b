//! Invented logs whose machines are where we put them.

use chrono::DateTime;

use super::AfterWork;
use crate::samples::{MONDAY, clear, constant, needs, only, site, table};
use crate::{Diagnosis, diagnose};
use electrical::Phase;
use finding::{Kind, Severity};
use metering::{ClampReading, Logs, MeterLog, Round};
use phases::PhaseStatus;
use site::{Connection, Measured, Quantity, Site};

const METERS: &str = r#"
[[meter]]
id = "oven"
measures = "Oven"
files = "oven.csv"
[[meter]]
id = "press"
measures = "Press"
files = "press.csv"
"#;

const METERS_OF_PRESS: &str = r#"
[[meter]]
id = "press"
measures = "Press"
files = "press.csv"
"#;

const ROWS: usize = 4 * 1440;

/// On for so many minutes from each of these rows on.
fn runs(kw: f64, every: usize, first: usize, minutes: usize) -> Vec<f64> {
    (0..ROWS)
        .map(|row| {
            let since = (row + every - first) % every;
            if since < minutes { kw } else { 0.0 }
        })
        .collect()
}

/// A supply that sees these machines on these phases, and a base load with a wander of its own.
fn logs(machines: &[(usize, Vec<f64>)], metered: &[(usize, Vec<f64>)]) -> Logs {
    let mut kw = [0, 1, 2].map(|k| -> Vec<f64> {
        (0..ROWS)
            .map(|row| 2.0 + 0.2 * ((row * (3 + k)) as f64 * 0.37).sin())
            .collect()
    });
    for (phase, series) in machines {
        kw[*phase]
            .iter_mut()
            .zip(series)
            .for_each(|(sum, kw)| *sum += kw);
    }
    let mut columns = Vec::new();
    for (phase, kw) in Phase::ALL.into_iter().zip(kw) {
        let amps = kw.iter().map(|kw| kw * 1000.0 / 230.94).collect();
        columns.push((Quantity::ActivePower(Some(phase)), kw));
        columns.push((Quantity::Current(phase), amps));
        columns.push(constant(Quantity::ReactivePower(Some(phase)), 0.0, ROWS));
    }
    let mut meters = vec![MeterLog::of_table(0, table(60, columns))];
    for (meter, series) in metered {
        let column = (Quantity::ActivePower(None), series.clone());
        meters.push(MeterLog::of_table(*meter, table(60, vec![column])));
    }
    Logs {
        meters,
        ..Logs::default()
    }
}

fn after(diagnosis: &Diagnosis) -> &AfterWork {
    diagnosis.after_work.as_ref().expect("compared")
}

const LIST: [&str; 2] = ["Oven,DB1,L1,4", "Press,DB1,L2,3"];

#[test]
fn a_machine_that_moves_another_phase_is_named_and_the_others_confirmed() {
    let site = site(&LIST, METERS);
    let (oven, press) = (runs(4.0, 180, 20, 40), runs(3.0, 130, 50, 30));
    let metered = [(2, oven.clone()), (3, press.clone())];
    // The list has the oven on L1; it is on L3.
    let diagnosis = diagnose(
        &site,
        &logs(&[(2, oven.clone()), (1, press.clone())], &metered),
    );
    let finding = only(&diagnosis, Kind::WrongPhase);
    assert_eq!(finding.severity, Severity::Warning);
    assert_eq!(finding.spot.machine.as_deref(), Some("Oven"));
    assert!(
        finding
            .summary
            .contains("is probably on L3; the list gives L1"),
        "{}",
        finding.summary
    );
    let found = &diagnosis.phases.loads;
    assert_eq!(found[1].status, PhaseStatus::AsListed);
    assert!(
        found[0].probability.is_some_and(|share| share > 0.999),
        "{found:?}"
    );
    let sound = diagnose(&site, &logs(&[(0, oven), (1, press)], &metered));
    assert!(clear(&sound, Kind::WrongPhase));
}

/// A fan without a meter on L3 starts with the oven on L1 and draws half as much: the oven still leads.
/// A machine that runs with another one is not placed at all.
#[test]
fn what_starts_together_is_no_proof() {
    let site = site(&LIST, METERS);
    let oven = runs(4.0, 180, 20, 40);
    let fan: Vec<f64> = oven.iter().map(|kw| 0.5 * kw).collect();
    let press = runs(3.0, 130, 50, 30);
    let metered = [(2, oven.clone()), (3, press.clone())];
    let with_fan = logs(&[(0, oven.clone()), (2, fan), (1, press)], &metered);
    assert!(clear(&diagnose(&site, &with_fan), Kind::WrongPhase));
    // Two that run together where the list has them: nothing is named.
    let twins = [(2, oven.clone()), (3, oven.clone())];
    let as_listed = logs(&[(0, oven.clone()), (1, oven.clone())], &twins);
    assert!(clear(&diagnose(&site, &as_listed), Kind::WrongPhase));
    // The same two on L3 and L2, listed on L1 and L2: one line of the list is wrong sooner than both.
    let diagnosis = diagnose(&site, &logs(&[(2, oven.clone()), (1, oven)], &twins));
    let finding = only(&diagnosis, Kind::WrongPhase);
    assert_eq!(finding.spot.machine.as_deref(), Some("Oven"));
    let loads = &diagnosis.phases.loads;
    assert_eq!(loads[1].status, PhaseStatus::AsListed);
    assert!(
        loads[0]
            .probability
            .is_some_and(|share| share < 0.99 + 1e-9),
        "{loads:?}"
    );
}

/// A press that never ran says nothing of the list.
#[test]
fn a_load_that_did_not_run_is_not_measured() {
    let site = site(&["Press,DB1,L2,3"], METERS_OF_PRESS);
    let idle = vec![0.0; ROWS];
    let diagnosis = diagnose(&site, &logs(&[(0, runs(4.0, 180, 20, 40))], &[(2, idle)]));
    assert!(needs(&diagnosis, Kind::WrongPhase).contains("switch often enough"));
    let load = &diagnosis.phases.loads[0];
    assert_eq!(
        (load.status, load.probability),
        (PhaseStatus::NotMeasured, None)
    );
}

#[test]
fn a_load_between_two_phases_is_placed_by_the_phase_it_leaves_alone() {
    let site = site(&["Oven,DB1,L1-L2,4", "Press,DB1,L2,3"], METERS);
    let oven = runs(4.0, 180, 20, 40);
    let half: Vec<f64> = oven.iter().map(|kw| 0.5 * kw).collect();
    let press = runs(3.0, 130, 50, 30);
    let metered = [(2, oven), (3, press.clone())];
    let diagnosis = diagnose(
        &site,
        &logs(&[(1, half.clone()), (2, half), (1, press)], &metered),
    );
    let finding = only(&diagnosis, Kind::WrongPhase);
    assert!(
        finding
            .summary
            .contains("is probably on L2-L3; the list gives L1-L2"),
        "{}",
        finding.summary
    );
}

/// Two days with 20 A of oven on L1 with 2 kW on each phase, then on L3 as planned, or not moved at all.
fn moved(really: bool) -> Diagnosis {
    let work = "[[work]]\ndate = \"2026-03-11\"\nmoves = [{ machine = \"Oven\", from = \"L1\" }]\n";
    // The press on L3 goes with the oven on L1 and leaves L2 and L3 fuller than L1 afterwards.
    let site = site(
        &["Oven,DB1,L3,4.6188", "Press,DB1,L1,4.6188"],
        &format!("{METERS}{work}"),
    );
    let (oven, press) = (runs(4.6188, 180, 20, 90), runs(4.6188, 180, 20, 100));
    let split = |series: &[f64], after: bool| -> Vec<f64> {
        let is_after = |row: usize| row >= 2 * 1440;
        series
            .iter()
            .enumerate()
            .map(|(row, kw)| if is_after(row) == after { *kw } else { 0.0 })
            .collect()
    };
    let new = if really { 2 } else { 0 };
    let machines = [
        (0, split(&oven, false)),
        (new, split(&oven, true)),
        (0, press.clone()),
    ];
    diagnose(&site, &logs(&machines, &[(2, oven), (3, press)]))
}

#[test]
fn the_currents_since_the_work_stand_beside_those_that_were_promised() {
    let done = moved(true);
    let neutral = |diagnosis: &Diagnosis| {
        let conductors = &after(diagnosis).conductors;
        *conductors
            .iter()
            .find(|one| one.conductor == "N")
            .expect("a neutral")
    };
    let check = neutral(&done);
    // Both on L1 for half of the time: 40 A in the neutral then, 28.5 A rms; apart: 20 A, 14.5 A rms.
    assert!((check.before_rms_a - 28.5).abs() < 0.5, "{check:?}");
    assert!((check.predicted_rms_a - 14.5).abs() < 0.5, "{check:?}");
    assert!(
        (check.measured_rms_a - check.predicted_rms_a).abs() < 0.1,
        "{check:?}"
    );
    assert!(clear(&done, Kind::WrongPhase), "{:?}", done.findings);
    let not_done = moved(false);
    let check = neutral(&not_done);
    assert!(
        (check.measured_rms_a - check.before_rms_a).abs() < 0.1,
        "{check:?}"
    );
    let found: Vec<&str> = not_done
        .findings
        .iter()
        .filter(|finding| finding.kind == Kind::WrongPhase)
        .map(|finding| finding.summary.as_str())
        .collect();
    assert!(
        found
            .iter()
            .any(|summary| summary.contains("after the work the neutral")),
        "{found:?}"
    );
}

fn reading(at: Measured, phases_a: [Option<f64>; 3], neutral_a: Option<f64>) -> ClampReading {
    ClampReading {
        at,
        phases_a,
        neutral_a,
    }
}

fn round(minutes: i64, supply: [f64; 4], site: &Site, amps: &[f64]) -> Round {
    let mut readings = vec![reading(
        Measured::SUPPLY,
        [0, 1, 2].map(|k| Some(supply[k])),
        Some(supply[3]),
    )];
    for (index, &amps) in amps.iter().enumerate() {
        let phases = match site.machines[index].connection {
            Connection::ToNeutral(phase) => [0, 1, 2].map(|k| (k == phase.index()).then_some(amps)),
            _ => [Some(amps); 3],
        };
        readings.push(reading(Measured::Machine(index), phases, None));
    }
    Round {
        label: None,
        at: DateTime::from_timestamp(MONDAY + 60 * minutes, 0).expect("a time"),
        readings,
    }
}

/// Resistive loads of 20, 10 and 6 A; a rest of 5 A on each phase. Neutral by hand:
/// √(a² + b² + c² − ab − bc − ca).
#[test]
fn a_round_of_clamp_readings_names_the_machine_that_is_elsewhere() {
    let work =
        "[[work]]\ndate = \"2026-03-09 12:00\"\nmoves = [{ machine = \"Oven\", from = \"L1\" }]\n";
    let site = site(
        &["Oven,DB1,L2,4.6", "Press,DB1,L1,2.3", "Pump,DB1,L3,1.4"],
        work,
    );
    let amps = [20.0, 10.0, 6.0];
    // Before: L1 5 + 20 + 10, L2 5, L3 5 + 6.
    let first = round(600, [35.0, 5.0, 11.0, 27.5], &site, &amps);
    let judge = |supply: [f64; 4]| {
        let logs = Logs {
            rounds: vec![first.clone(), round(900, supply, &site, &amps)],
            ..Logs::default()
        };
        diagnose(&site, &logs)
    };
    // As planned: L1 15, L2 25, L3 11: √(225 + 625 + 121 − 375 − 275 − 165) = 12.5.
    let done = judge([15.0, 25.0, 11.0, 12.5]);
    assert!(clear(&done, Kind::WrongPhase), "{:?}", done.findings);
    let check = after(&done).round.as_ref().expect("a round");
    for (found, told) in check.predicted_a.iter().zip([15.0, 25.0, 11.0, 12.49]) {
        assert!((found - told).abs() < 0.01, "{check:?}");
    }
    // Put on L3 by mistake: L1 15, L2 5, L3 31.
    let wrong = judge([15.0, 5.0, 31.0, 22.7]);
    let finding = only(&wrong, Kind::WrongPhase);
    assert_eq!(finding.spot.machine.as_deref(), Some("Oven"));
    assert!(finding.summary.contains("is on L3"), "{}", finding.summary);
    // Half of the load is off: no place of one machine explains that.
    let other = judge([5.0, 5.0, 5.0, 0.0]);
    let finding = only(&other, Kind::WrongPhase);
    assert!(
        finding.summary.contains("no single machine"),
        "{}",
        finding.summary
    );
    assert_eq!(finding.severity, Severity::Notice);
}
