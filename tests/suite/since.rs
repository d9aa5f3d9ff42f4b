//! A report beside the one before it, and files that are none.

use std::fs;

use serde_json::Value;

use crate::program::{MAIN_LOG, Workshop};

/// A workshop with a report of it beside.
fn reported() -> Workshop {
    let workshop = Workshop::new();
    let run = workshop.run(&["report", "SITE", "-o", "BESIDE/last"]);
    assert_eq!(run.status, 0, "{}", run.err);
    workshop
}

fn last(workshop: &Workshop) -> Value {
    let text = fs::read_to_string(workshop.beside("last/report.json")).expect("it is written");
    serde_json::from_str(&text).expect("the report is JSON")
}

fn texts(workshop: &Workshop, file: &str) -> Vec<String> {
    let result = workshop.json(&["energy", "SITE", "--since", file, "--format", "json"]);
    let changes = result["since"]["changes"].as_array().expect("changes");
    let text = |change: &Value| change["text"].as_str().unwrap_or_default().to_owned();
    changes.iter().map(text).collect()
}

/// Two hours at 6.3 kW, then at 7.3 kW: 1 kW more on L3, 151.2 and 175.2 kWh a day; a machine moved, one gone, one new.
#[test]
fn what_has_changed_is_listed() {
    let workshop = reported()
        .with(
            "meters/main.csv",
            MAIN_LOG.replace("18,10,2,3.6,2.3,0.4", "18,10,6.5,3.6,2.3,1.4"),
        )
        .replace("machines.csv", "drill,C1,L1,0.9", "drill,C1,L3,0.9")
        .replace("machines.csv", "grinder,C1,L1,1.2", "polisher,C1,L1,1.2");
    let found = texts(&workshop, "BESIDE/last/report.json");
    for expected in [
        "main: energy per day of readings 175.2 kWh/d, before 151.2 kWh/d (+15.9 %)",
        "main: maximum demand 7.3 kW, before 6.3 kW (+15.9 %)",
        "main L1: peak current 18.0 A, before 18.0 A (+0.0 %)",
        "main L3: peak current 6.5 A, before 2.0 A (+225.0 %)",
        "drill: moved to L3 on C1 from L1 on C1",
        "polisher: added, L1 on C1",
        "grinder: no longer on the list; it was L1 on C1",
    ] {
        assert!(
            found.iter().any(|text| text == expected),
            "{expected}: {found:#?}"
        );
    }
    let text = workshop
        .run(&["energy", "SITE", "--since", "BESIDE/last"])
        .out;
    assert!(
        text.contains("Changes since the last report (report.json, Mon 9 Mar 2026)"),
        "{text}"
    );
    assert!(
        text.contains("  → drill: moved to L3 on C1 from L1 on C1"),
        "{text}"
    );
    let page = workshop.run(&[
        "report",
        "SITE",
        "-o",
        "BESIDE/next",
        "--since",
        "BESIDE/last",
    ]);
    assert_eq!(page.status, 0, "{}", page.err);
    let page = fs::read_to_string(workshop.beside("next/index.html")).expect("it is written");
    assert!(page.contains("<bdi>polisher: added, L1 on C1</bdi>"));
}

/// Beside itself a report has nothing but figures that are as before.
#[test]
fn a_report_beside_itself_has_not_changed() {
    let workshop = reported();
    let result = workshop.json(&[
        "energy",
        "SITE",
        "--since",
        "BESIDE/last",
        "--format",
        "json",
    ]);
    let changes = result["since"]["changes"].as_array().expect("changes");
    assert_eq!(
        changes.len(),
        5,
        "energy, demand, three phases: {changes:?}"
    );
    assert!(changes.iter().all(|change| change["change"] == "as-before"));
    assert_eq!(result["since"]["notes"], Value::Array(Vec::new()));
}

/// A finding of the last report that is gone, one that was less then, and one that is new.
#[test]
fn findings_come_go_and_grow() {
    let workshop = reported().with(
        "meters/main.csv",
        MAIN_LOG.replace("18,10,2,3.6,2.3,0.4", "90,10,2,18,2.3,0.4"),
    );
    let mut report = last(&workshop);
    let finding = |kind: &str, figure: &str, value: f64| {
        serde_json::json!({
            "kind": kind, "severity": "danger", "where": { "meter": "main", "phase": "L1", "node": "supply" },
            "summary": "as it was", "evidence": { figure: value }
        })
    };
    report["findings"] = Value::Array(vec![
        finding("phase-overload", "highest_a", 70.0),
        finding("rapid-voltage-change", "steps_per_day", 7.0),
    ]);
    fs::write(workshop.beside("last/report.json"), report.to_string()).expect("written");
    let found = texts(&workshop, "BESIDE/last/report.json");
    let has = |start: &str| found.iter().any(|text| text.starts_with(start));
    assert!(
        has("Phase overload, main L1: grown (`highest_a` 90.0, before 70.0)"),
        "{found:#?}"
    );
    assert!(
        has("Rapid voltage changes, main L1: no longer found"),
        "{found:#?}"
    );
    report["findings"] = Value::Array(Vec::new());
    fs::write(workshop.beside("last/report.json"), report.to_string()).expect("written");
    let found = texts(&workshop, "BESIDE/last/report.json");
    assert!(
        found
            .iter()
            .any(|text| text.starts_with("Phase overload, main L1: new: ")),
        "{found:#?}"
    );
}

/// Reports that are older than the list of machines have an `energy.json` alone.
#[test]
fn an_older_report_is_compared_as_far_as_it_goes() {
    let workshop = reported();
    let result = workshop.json(&[
        "energy",
        "SITE",
        "--since",
        "BESIDE/last/energy.json",
        "--format",
        "json",
    ]);
    assert_eq!(result["since"]["changes"].as_array().map(Vec::len), Some(5));
    let notes = result["since"]["notes"].as_array().expect("notes");
    assert_eq!(notes.len(), 2, "{notes:?}");
}

/// The message of a file that cannot be compared with.
fn refused(content: impl AsRef<[u8]>) -> String {
    let workshop = Workshop::new();
    fs::write(workshop.beside("report.json"), content).expect("written");
    let run = workshop.run(&["energy", "SITE", "--since", "BESIDE/report.json"]);
    assert_eq!((run.status, run.out.as_str()), (2, ""), "{}", run.err);
    run.err
}

#[test]
fn a_damaged_file_is_told_and_nothing_else_happens() {
    let whole = fs::read_to_string(reported().beside("last/report.json")).expect("written");
    let cut = refused(&whole[..whole.len() / 2]);
    assert!(
        cut.contains("is incomplete: it is cut off or empty"),
        "{cut}"
    );
    assert!(refused("").contains("is incomplete"));
    let spoilt = refused(whole.replacen(':', ";", 1));
    assert!(spoilt.contains("is damaged: it is not JSON"), "{spoilt}");
    assert!(spoilt.contains("report.json, line 2"), "{spoilt}");
    let bytes = refused([b'{', 0xff, 0xfe, b'}']);
    assert!(bytes.contains("is damaged: it is not JSON"), "{bytes}");
    for (content, what) in [
        ("[]", "is not a report: `meters` is not a list of meters"),
        (
            "{\"findings\": []}",
            "is not a report: `meters` is not a list of meters",
        ),
        (
            "{\"meters\": {}}",
            "is not a report: `meters` is not a list",
        ),
        (
            "{\"meters\": [{}]}",
            "is not a report: `meters[0].id` is not a text",
        ),
        (
            "{\"meters\": [{\"id\": \"main\", \"energy_kwh\": \"many\"}]}",
            "is not a report: `meters[0].energy_kwh` is not a number",
        ),
        (
            "{\"meters\": [], \"machines\": [{\"machine\": 3}]}",
            "is not a report: `machines[0].machine` is not a text",
        ),
        (
            "{\"report\": 99, \"meters\": []}",
            "was written by a later version of the program (format 99; this version reads 1)",
        ),
    ] {
        let told = refused(content);
        assert!(told.contains(what), "{content}: {told}");
    }
    let missing = Workshop::new().run(&["energy", "SITE", "--since", "BESIDE/none.json"]);
    assert_eq!(missing.status, 2);
    assert!(missing.err.contains("cannot read"), "{}", missing.err);
}
