//! A neutral that has failed and phases that are lost, on circuits whose truth is known.

use super::number;
use crate::samples::{MONDAY, site};
use crate::{Diagnosis, diagnose};
use electrical::Phase;
use finding::{Finding, Kind, Severity};
use metering::{IntervalTable, Logs, MeterLog};
use simulated::{Fault, Meter, Workshop, log};
use std::ops::Range;

/// What is said of the log of a site with these faults.
fn judged(meter: &Meter, faults: &[(Fault, Range<f64>)]) -> Diagnosis {
    let columns = log(meter, &Workshop::of_seed(meter.seed), faults);
    let table = IntervalTable::of_columns(meter.starts(), 60, columns);
    let logs = Logs {
        meters: vec![MeterLog::of_table(0, table)],
        ..Logs::default()
    };
    diagnose(&site(&[], ""), &logs)
}

/// A meter with line-to-line voltages or without.
fn meter(seed: u64, days: f64, lines: bool) -> Meter {
    Meter {
        lines,
        ..Meter::of_seed(seed, days)
    }
}

fn of(diagnosis: &Diagnosis, kind: Kind) -> Vec<&Finding> {
    let of_kind = |finding: &&Finding| finding.kind == kind;
    diagnosis.findings.iter().filter(of_kind).collect()
}

fn kinds(diagnosis: &Diagnosis) -> [usize; 3] {
    [
        Kind::NeutralFault,
        Kind::PhaseLoss,
        Kind::HighResistanceJoint,
    ]
    .map(|kind| of(diagnosis, kind).len())
}

fn text<'f>(finding: &'f Finding, name: &str) -> &'f str {
    let found = finding.evidence.0.iter().find(|(known, _)| *known == name);
    match found {
        Some((_, finding::Value::Text(text))) => text,
        _ => panic!("no {name} in {finding:?}"),
    }
}

/// Two days, the neutral open for three hours of the first working day, with and without a way back through earth.
#[test]
fn an_open_neutral_is_a_danger_and_no_lost_phase() {
    for (seed, earth) in [(0, f64::INFINITY), (1, f64::INFINITY), (2, 2.0), (3, 4.0)] {
        for lines in [false, true] {
            let open = [(Fault::NeutralOpen(earth), 0.20..0.2625)];
            let diagnosis = judged(&meter(seed, 2.0, lines), &open);
            assert_eq!(kinds(&diagnosis), [1, 0, 0], "seed {seed}, lines {lines}");
            let finding = of(&diagnosis, Kind::NeutralFault)[0];
            assert_eq!(finding.severity, Severity::Danger, "{finding:?}");
            // From 09:36 to 12:36.
            let begin = MONDAY + 34_560;
            let within = |at: i64| (begin - 60..=begin + 10_860).contains(&at);
            assert!(within(finding.from.timestamp()) && within(finding.to.timestamp()));
            assert!(finding.summary.contains("Mon 9 Mar 2026"));
            assert!(text(finding, "reading_that_decides").contains("voltage indicator"));
            assert!(text(finding, "confirmed_by").len() > 10);
        }
    }
}

/// A lost phase, and one that three-phase motors feed back with 45 to 75 % of its voltage.
#[test]
fn a_lost_phase_is_no_broken_neutral_with_or_without_voltage_fed_back() {
    for seed in 0..3 {
        let phase = (seed % 3) as usize;
        for fault in [
            Fault::PhaseLost(phase),
            Fault::FuseBlown(phase, 0.45),
            Fault::FuseBlown(phase, 0.60),
            Fault::FuseBlown(phase, 0.75),
        ] {
            for lines in [false, true] {
                let lost = [(fault, 0.20..0.2625)];
                let diagnosis = judged(&meter(seed, 2.0, lines), &lost);
                assert_eq!(kinds(&diagnosis), [0, 1, 0], "{seed}: {fault:?}, {lines}");
                let finding = of(&diagnosis, Kind::PhaseLoss)[0];
                assert_eq!(finding.severity, Severity::Danger);
                assert_eq!(finding.spot.phase, Some(Phase::ALL[phase]));
                assert_eq!(finding.from.timestamp(), MONDAY + 34_560);
                assert_eq!(finding.to.timestamp(), MONDAY + 34_560 + 10_800);
                assert!(text(finding, "could_also_be").contains("neutral"));
            }
        }
    }
}

/// A joint in the neutral of 40 mΩ is found by its resistance; the star point hardly moves.
#[test]
fn resistance_in_the_neutral_is_told_with_its_heat() {
    let joint = [(Fault::NeutralJoint(0.040), 0.0..1.0)];
    let diagnosis = judged(&meter(4, 7.0, false), &joint);
    assert_eq!(kinds(&diagnosis), [1, 0, 0]);
    let finding = of(&diagnosis, Kind::NeutralFault)[0];
    let held = number(finding, "low_95_mohm")..number(finding, "high_95_mohm");
    assert!(held.contains(&40.0), "{held:?}");
    assert!(finding.evidence.number("highest_displacement_v").is_none());
    let peak = number(finding, "peak_current_a");
    let heat = number(finding, "heat_at_peak_current_w");
    assert!((heat - number(finding, "last_week_mohm") / 1e3 * peak * peak).abs() < 1e-6);
    assert_eq!(finding.severity, Severity::Danger, "{finding:?}");
    assert!(text(finding, "confirmed_by").contains("half"));
    assert!(
        finding
            .summary
            .contains("more resistance than the mean of the phase paths")
    );
}

/// 0.3 Ω in the neutral are not taken for a joint of a phase, and a sound site has nothing of the kind.
#[test]
fn a_long_neutral_is_no_joint_of_a_phase_and_a_sound_site_has_neither() {
    for seed in 0..12 {
        let long = [(Fault::NeutralJoint(0.3), 0.0..1.0)];
        let [neutral, lost, joints] = kinds(&judged(&meter(seed, 7.0, false), &long));
        assert_eq!([neutral, lost, joints], [1, 0, 0], "seed {seed}");
        let sound = kinds(&judged(&meter(seed, 3.0, seed % 2 == 0), &[]));
        assert_eq!(sound, [0; 3], "seed {seed}");
    }
}

/// A danger rests on two lines of evidence: each half of the log shows it, or it is a warning.
#[test]
fn a_joint_that_half_of_the_log_does_not_show_is_a_warning() {
    for (when, severity) in [(0.0..1.0, Severity::Danger), (0.5..1.0, Severity::Warning)] {
        let joint = [(Fault::Joint(1, 0.030), when)];
        let diagnosis = judged(&meter(5, 14.0, false), &joint);
        let found = of(&diagnosis, Kind::HighResistanceJoint);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].spot.phase, Some(Phase::L2));
        assert_eq!(found[0].severity, severity, "{:?}", found[0]);
        assert!(number(found[0], "heat_at_peak_current_w") > 25.0);
    }
}
