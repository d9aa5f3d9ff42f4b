//! A danger on a conductor binds what is moved and placed, until it is repaired.

use serde_json::Value;

use crate::program::{Workshop, run};
use tapoff::balance::{HeldBack, Settings, balance};
use tapoff::electrical::Phase;
use tapoff::finding::Kind;
use tapoff::message::Messages;
use tapoff::metering::Period;
use tapoff::site::read_site;
use tapoff::wiring::read_logs;

const DEMO: &str = "sample-data/ferry-lane";

fn demo(arguments: &[&str]) -> Value {
    let run = run(arguments);
    assert_eq!(run.status, 0, "{}", run.err);
    serde_json::from_str(&run.out).expect("JSON")
}

/// The demo has a joint on L2 of the supply (`sample-data/README.md`). Before its repair nothing goes onto L2; after it
/// the plan is the best of all, which the plan without regard to the finding proves.
#[test]
fn nothing_is_moved_onto_a_hot_joint() {
    let plan = demo(&["balance", DEMO, "--format", "json", "--no-curve"]);
    assert_eq!(
        plan["held_back"],
        serde_json::json!([{ "phase": "L2", "at": "supply", "because": "high-resistance-joint" }])
    );
    let moves = plan["moves"].as_array().expect("moves");
    assert!(!moves.is_empty());
    for planned in moves {
        assert!(
            !planned["to"].as_str().expect("text").contains("L2"),
            "{planned}"
        );
    }
    let l2 = |side: &str| plan[side]["phase_max_a"][1].as_f64().expect("a figure");
    assert!(l2("after") <= l2("before") + 1e-9);
    let free = demo(&[
        "balance",
        DEMO,
        "--format",
        "json",
        "--no-curve",
        "--ignore",
        "high-resistance-joint@supply",
    ]);
    assert_eq!(free["held_back"], serde_json::json!([]));
    assert_eq!(free["after_repair"], Value::Null);
    let rms = |value: &Value| value["neutral_rms_a"].as_f64().expect("a figure");
    let second = &plan["after_repair"];
    assert!((rms(&second["after"]) - rms(&free["after"])).abs() < 1e-9);
    assert_eq!(second["proof"], "optimal");
    assert!(
        second["moves"]
            .as_array()
            .is_some_and(|moves| !moves.is_empty())
    );
}

/// One phase or three: what would load L2 is to wait.
#[test]
fn nothing_is_placed_on_a_hot_joint() {
    let places = |connection: &str, more: &[&str]| {
        let mut arguments = vec!["place", DEMO, "--format", "json", "--name", "oven"];
        arguments.extend(["--power-kw", "0.5", "--connection", connection]);
        arguments.extend(more);
        demo(&arguments)["places"]
            .as_array()
            .expect("places")
            .clone()
    };
    let fitting = |places: &[Value]| {
        let fits = places.iter().filter(|place| place["fits"] == true);
        fits.count()
    };
    for connection in ["L2", "3ph"] {
        let bound = places(connection, &[]);
        assert_eq!(fitting(&bound), 0, "{connection}");
        let reason = bound[0]["reason"].as_str().expect("text");
        let said = [
            "repair first: L2 of the supply",
            "fails repair-first (L2 of the supply)",
        ];
        assert!(
            said.iter().any(|words| reason.starts_with(words)),
            "{reason}"
        );
    }
    assert!(fitting(&places("L3", &[])) > 0);
    // What would move to make room goes there only once it is repaired.
    let onto_l2 = |more: &[&str]| {
        let places = places("L1", more);
        let moves = places.iter().map(|place| place["moves_needed"].as_array());
        let mut moves = moves.flat_map(|moves| moves.expect("moves"));
        moves.any(|needed| needed["to"].as_str().is_some_and(|to| to.contains("L2")))
    };
    assert!(onto_l2(&["--ignore", "high-resistance-joint"]));
    assert!(!onto_l2(&[]));
    assert!(fitting(&places("L2", &["--ignore", "high-resistance-joint"])) > 0);
}

#[test]
fn what_is_ignored_must_be_a_finding_that_binds() {
    let run = run(&["balance", DEMO, "--ignore", "high-resistance-join"]);
    assert_eq!(run.status, 2);
    assert!(
        run.err.contains("Did you mean `high-resistance-joint`"),
        "{}",
        run.err
    );
    let run = crate::program::run(&["balance", DEMO, "--ignore", "phase-loss@supplies"]);
    assert!(run.err.contains("no place `supplies`"), "{}", run.err);
}

/// The plan of the site of five machines, heater and lamps movable, with these conductors held back.
fn moved(held: &[(Option<Phase>, &str)]) -> Vec<String> {
    let workshop = Workshop::new();
    let (site, mut messages) = read_site(&workshop.site()).expect("a sound site");
    let logs = read_logs(&site, Period::default(), &mut messages);
    assert!(!Messages::has_errors(&messages));
    let held_back = held.iter().map(|&(phase, at)| HeldBack {
        phase,
        at: at.to_owned(),
        because: Kind::PhaseLoss,
    });
    let settings = Settings {
        held_back: held_back.collect(),
        ..Settings::default()
    };
    let plan = balance(&site, &logs, &settings).expect("a plan");
    let words = |planned: &tapoff::balance::Move| format!("{} {}", planned.machine, planned.to);
    plan.moves.iter().map(words).collect()
}

/// Whatever is fed through the conductor is held, and nothing else: drill, grinder and heater are on C1, the lamps on C2.
#[test]
fn what_is_fed_through_a_conductor_is_held() {
    let onto_l2 = |moves: &[String]| -> Vec<String> {
        let names = moves.iter().filter_map(|line| line.strip_suffix(" L2"));
        names.map(str::to_owned).collect()
    };
    assert_eq!(onto_l2(&moved(&[])), ["drill", "grinder", "lamps"]);
    for at in ["supply", "DB1"] {
        assert_eq!(onto_l2(&moved(&[(Some(Phase::L2), at)])), [""; 0], "{at}");
        assert_eq!(moved(&[(None, at)]), [""; 0], "{at}");
    }
    assert_eq!(onto_l2(&moved(&[(Some(Phase::L2), "C1")])), ["lamps"]);
    let only_lamps = moved(&[(None, "C1")]);
    assert!(
        only_lamps.iter().all(|line| line.starts_with("lamps")),
        "{only_lamps:?}"
    );
}
