//! What `diagnose` says about the demo, against what is true of it (`sample-data/README.md`), and about
//! its healthy twin.

use std::path::Path;

use tapoff::diagnosis::{Diagnosis, diagnose};
use tapoff::electrical::Phase;
use tapoff::finding::{Finding, Kind, Severity};
use tapoff::message::Messages;
use tapoff::metering::Period;
use tapoff::site::read_site;
use tapoff::wiring::read_logs;

use crate::sample::demo;

fn diagnosis_of(folder: &Path) -> Diagnosis {
    let (site, mut messages) = match read_site(folder) {
        Ok(read) => read,
        Err(errors) => panic!("{errors:?}"),
    };
    let logs = read_logs(&site, Period::default(), &mut messages);
    assert_no_errors(&messages);
    diagnose(&site, &logs)
}

fn assert_no_errors(messages: &Messages) {
    assert!(!messages.has_errors(), "{messages:?}");
}

fn the(diagnosis: &Diagnosis, kind: Kind) -> &Finding {
    let mut found = diagnosis
        .findings
        .iter()
        .filter(|finding| finding.kind == kind);
    let first = found.next().unwrap_or_else(|| panic!("no {kind}"));
    assert!(found.next().is_none(), "more than one {kind}");
    first
}

fn number(finding: &Finding, name: &str) -> f64 {
    finding
        .evidence
        .number(name)
        .unwrap_or_else(|| panic!("no {name}"))
}

#[test]
fn the_demos_faults_are_found_with_their_true_figures() {
    let (site, logs) = demo();
    let diagnosis = diagnose(site, logs);

    // 2.0 mΩ on 9 March to 25.0 mΩ four weeks later, evenly: 13.5 in the middle, 22.1 over the last week,
    // 5.76 a week; up to 94 W.
    let joint = the(&diagnosis, Kind::HighResistanceJoint);
    assert_eq!(joint.spot.phase, Some(Phase::L2));
    assert_eq!(joint.severity, Severity::Danger);
    for (low, high, truth) in [
        ("low_95_mohm", "high_95_mohm", 13.5),
        ("last_week_low_95_mohm", "last_week_high_95_mohm", 22.1),
        (
            "trend_low_95_mohm_per_week",
            "trend_high_95_mohm_per_week",
            5.76,
        ),
    ] {
        let (low, high) = (number(joint, low), number(joint, high));
        assert!(low <= truth && truth <= high, "{truth} in {low} to {high}");
        assert!(high - low < 2.0, "an interval that says something");
    }
    assert!((number(joint, "highest_heat_so_far_w") - 94.0).abs() < 5.0);

    // 207 minutes before rounding to 0.1 A, up to 126.5 A; the spell before noon on 12 March.
    let overload = the(&diagnosis, Kind::PhaseOverload);
    assert_eq!(overload.spot.phase, Some(Phase::L1));
    assert!((number(overload, "time_above_limit_min") - 207.0).abs() <= 2.0);
    assert!((number(overload, "highest_a") - 126.5).abs() <= 0.1);

    // 1 042 kWh that the kiln's register has not seen.
    let wiring = the(&diagnosis, Kind::MeteringFault);
    assert_eq!(wiring.spot.machine.as_deref(), Some("Timber kiln"));
    assert!((number(wiring, "energy_with_wrong_sign_kwh") - 1042.0).abs() < 2.0);

    // 56, 23 and 21 % of the energy.
    let unbalanced = diagnosis
        .findings
        .iter()
        .find(|finding| finding.kind == Kind::LoadUnbalance)
        .expect("told at the supply");
    assert!((number(unbalanced, "energy_share_l1_pct") - 56.0).abs() < 1.0);

    let board = diagnosis.not_judged.iter().find(|entry| {
        entry.kind == Kind::PhaseOverload && entry.spot.node.as_deref() == Some("DB1")
    });
    assert!(board.is_some(), "no log shows DB1 alone");
}

#[test]
fn the_healthy_twin_has_no_joint_and_no_reversed_transformer() {
    let folder = tempfile::tempdir().expect("a folder");
    let options = ferry_lane::Options {
        healthy: true,
        ..ferry_lane::Options::default()
    };
    ferry_lane::generate(folder.path(), &options).expect("written");
    let diagnosis = diagnosis_of(folder.path());
    let kinds: Vec<Kind> = diagnosis
        .findings
        .iter()
        .map(|finding| finding.kind)
        .collect();
    // What belongs to the loads remains.
    assert!(
        kinds
            .iter()
            .all(|kind| [Kind::PhaseOverload, Kind::LoadUnbalance].contains(kind)),
        "{kinds:?}"
    );
    let joints = diagnosis
        .nothing_found
        .iter()
        .filter(|entry| entry.kind == Kind::HighResistanceJoint)
        .count();
    assert_eq!(joints, 3, "each phase of the supply is judged");
}
