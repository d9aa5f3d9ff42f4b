//! Which phase each load is on, from outside: the demo with a wrong list, a list that does not know, switching tests.

use std::fmt::Write as _;

use serde_json::Value;
use tapoff::balance::{HeldBack, PlanElsewhere, Settings, Standing, balance};
use tapoff::diagnosis::diagnose;
use tapoff::electrical::Phase;
use tapoff::finding::Kind;
use tapoff::message::Messages;
use tapoff::metering::{Period, read_logs};
use tapoff::phases::{PhaseStatus, identify, plan_doubt};
use tapoff::site::{Connection, Node, read_site};

use crate::program::Workshop;
use crate::sample::demo;

/// The demo's machines with meters are where its list has them. Three of them put elsewhere in the list, with their
/// circuits, are found where they are.
#[test]
fn three_machines_that_the_demos_list_has_elsewhere_are_found() {
    let (site, logs) = demo();
    let mut wrong = site.clone();
    let swapped = [
        ("Bench hall heaters", Phase::L2),
        ("Timber kiln", Phase::L3),
        ("Launch charger", Phase::L2),
    ];
    for (name, listed) in swapped {
        let machines = &mut wrong.machines;
        let machine = machines.iter_mut().find(|machine| machine.name == name);
        let machine = machine.expect("a machine of the demo");
        assert_eq!(machine.connection, Connection::ToNeutral(Phase::L1));
        machine.connection = Connection::ToNeutral(listed);
        if let Node::Circuit(circuit) = machine.tapped_off
            && site.circuits[circuit].phases != Connection::THREE_PHASE
        {
            wrong.circuits[circuit].phases = Connection::ToNeutral(listed);
        }
    }
    let found = identify(&wrong, logs);
    for load in &found.loads {
        let is_swapped = swapped.iter().any(|(name, _)| *name == load.machine);
        match load.status {
            PhaseStatus::Elsewhere => {
                assert!(is_swapped, "{load:?}");
                assert_eq!(load.probable, Some(Connection::ToNeutral(Phase::L1)));
                assert!(load.probability.is_some_and(|share| share > 0.999));
            }
            _ => assert!(!is_swapped, "{load:?}"),
        }
    }
    // The plan of the wrong list leaves what it cannot know; with the list corrected it is as good as that of the true one.
    let quick = Settings {
        curve_moves: 0,
        ..Settings::default()
    };
    let plan = |site| balance(site, logs, &quick).expect("a plan");
    let (true_plan, wrong_plan) = (plan(site), plan(&wrong));
    assert!(
        wrong_plan.best_neutral_rms_a > true_plan.best_neutral_rms_a + 2.0,
        "{} and {} A",
        wrong_plan.best_neutral_rms_a,
        true_plan.best_neutral_rms_a
    );
    let doubt = plan_doubt(&wrong, logs, &found, &wrong_plan).expect("three loads");
    assert_eq!(doubt.machines.len(), 3);
    let corrected = doubt.corrected_neutral_rms_a.expect("three are elsewhere");
    assert!(
        (corrected - true_plan.best_neutral_rms_a).abs() < 0.1,
        "{corrected} A"
    );
    // While L2 is held back the corrected list cannot promise what would move loads onto it.
    let bound = Settings {
        held_back: vec![HeldBack {
            phase: Some(Phase::L2),
            at: "supply".to_owned(),
            because: Kind::HighResistanceJoint,
        }],
        ..quick.clone()
    };
    let bound = balance(&wrong, logs, &bound).expect("a plan");
    let doubt = plan_doubt(&wrong, logs, &found, &bound).expect("three loads");
    let corrected = doubt.corrected_neutral_rms_a.expect("three are elsewhere");
    assert!(
        corrected > true_plan.best_neutral_rms_a + 2.0,
        "{corrected} A"
    );
    let findings = diagnose(&wrong, logs).findings;
    let of_machines = findings
        .iter()
        .filter(|finding| finding.kind == Kind::WrongPhase)
        .filter_map(|finding| finding.spot.machine.as_deref());
    let mut named: Vec<&str> = of_machines.collect();
    named.sort_unstable();
    assert_eq!(
        named,
        ["Bench hall heaters", "Launch charger", "Timber kiln"]
    );
}

/// Minutes of a morning: 1 kW on each phase, which goes up and down a little; 2 kW more on L2 from 09:00 to 09:10.
fn log_with_a_test() -> String {
    log_of([0.0; 3], [0.0, 2.0, 0.0], [0.0, 2.0, 0.0])
}

/// The same with so much more on each phase all the time, so much more at 09:00 and so much less at 09:10. (kW)
fn log_of(always: [f64; 3], on: [f64; 3], off: [f64; 3]) -> String {
    let mut log = String::from("time,I1,I2,I3,P1,P2,P3\n");
    for minute in 0..180 {
        let mut kw =
            [minute % 3, minute * 7 % 5, minute * 11 % 7].map(|part| 1.0 + f64::from(part) / 50.0);
        for (phase, kw) in kw.iter_mut().enumerate() {
            *kw += always[phase];
            *kw += if minute >= 60 { on[phase] } else { 0.0 };
            *kw -= if minute >= 70 { off[phase] } else { 0.0 };
        }
        // 230.94 V to neutral, power factor 1.
        let amps = kw.map(|kw| kw * 1000.0 / 230.94);
        let _ = writeln!(
            log,
            "2026-03-09 {:02}:{:02},{:.2},{:.2},{:.2},{:.3},{:.3},{:.3}",
            8 + minute / 60,
            minute % 60,
            amps[0],
            amps[1],
            amps[2],
            kw[0],
            kw[1],
            kw[2]
        );
    }
    log
}

fn workshop() -> Workshop {
    Workshop::new()
        .with("meters/main.csv", log_with_a_test())
        .replace("machines.csv", "heater,C1,L2,2", "heater,C1,unknown,2")
}

fn json(workshop: &Workshop) -> Value {
    let run = workshop.run(&["phases", "SITE", "--format", "json"]);
    assert_eq!(run.status, 0, "{}", run.err);
    serde_json::from_str(&run.out).expect("JSON")
}

fn of<'r>(result: &'r Value, machine: &str) -> &'r Value {
    let loads = result["loads"].as_array().expect("a list");
    let found = loads.iter().find(|load| load["machine"] == machine);
    found.expect("the machine")
}

#[test]
fn nothing_measured_leaves_an_unknown_phase_unknown() {
    let workshop = workshop();
    let result = json(&workshop);
    let heater = of(&result, "heater");
    assert_eq!(heater["listed"], "unknown");
    assert_eq!(heater["probable"], Value::Null);
    assert_eq!(heater["status"], "not-measured");
    let balance = workshop.run(&["balance", "SITE", "--format", "json"]);
    assert_eq!(balance.status, 0, "{}", balance.err);
    assert!(
        balance.err.contains("the phase of `heater` is not known"),
        "{}",
        balance.err
    );
    let plan: Value = serde_json::from_str(&balance.out).expect("JSON");
    let moves = plan["moves"].as_array().expect("a list");
    assert!(
        moves.iter().all(|one| one["machine"] != "heater"),
        "{moves:?}"
    );
}

#[test]
fn a_switching_test_shows_the_phase_of_the_step() {
    let tests = "time,machine,state\n2026-03-09 09:00,heater,on\n09:10,heater,off\n";
    let workshop = workshop().with("switching.csv", tests);
    let result = json(&workshop);
    let heater = of(&result, "heater");
    assert_eq!(heater["probable"], "L2");
    assert_eq!(heater["status"], "found");
    assert_eq!(heater["basis"], "2 switching tests");
    // The other loads were not tested.
    assert_eq!(of(&result, "drill")["status"], "not-measured");
    let run = workshop.run(&["phases", "SITE", "--write", "BESIDE/list.csv"]);
    assert_eq!(run.status, 0, "{}", run.err);
    let list = std::fs::read_to_string(workshop.beside("list.csv")).expect("written");
    assert!(list.contains("heater,C1,L2,2"), "{list}");
    let balance = workshop.run(&["balance", "SITE"]);
    assert!(
        balance.err.contains("`heater` is taken to be on L2"),
        "{}",
        balance.err
    );
}

/// Typed while walking: the first time is of the log's last day, and a comma in a name divides nothing.
#[test]
fn switching_tests_can_be_typed() {
    let of_heater = |typed: &[&str]| {
        let workshop = workshop();
        let mut arguments = vec!["phases", "SITE", "--format", "json"];
        arguments.extend(typed.iter().flat_map(|typed| ["--switched", *typed]));
        let run = workshop.run(&arguments);
        assert_eq!(run.status, 0, "{}", run.err);
        let result: Value = serde_json::from_str(&run.out).expect("JSON");
        (of(&result, "heater").clone(), result["notes"].to_string())
    };
    let rows: [&[&str]; 4] = [
        &["09:00 heater on, 09:10 heater off"],
        &["9:00 am Heater ON;9:10 am heater off"],
        &["2026-03-09 09:00 heater on", "09:10 heater off"],
        &["Mon 9 Mar 2026 09:00 heater on\n09:10 heater off\n"],
    ];
    for row in rows {
        let (heater, notes) = of_heater(row);
        assert_eq!(heater["probable"], "L2", "{row:?}");
        assert_eq!(heater["basis"], "2 switching tests", "{row:?}");
        assert!(notes.contains("Mon 9 Mar 2026 09:00"), "{notes}");
    }
    let run = workshop().run(&[
        "phases",
        "SITE",
        "--switched",
        "09:00 heaters on, 09:10 heater",
    ]);
    assert_eq!(run.status, 2);
    for message in ["there is no machine `heaters`", "is neither on nor off"] {
        assert!(run.err.contains(message), "{message}\n{}", run.err);
    }
}

#[test]
fn faults_of_switching_tests_are_reported_at_their_cells() {
    let tests = "time,machine,state\n2026-03-09 09:00,heaters,on\n2026-03-09 09:10,heater,open\nnoon,heater,off\n";
    let run = workshop()
        .with("switching.csv", tests)
        .run(&["check", "SITE"]);
    assert_eq!(run.status, 2);
    for message in [
        "there is no machine `heaters`",
        "Did you mean `heater`?",
        "`open` is neither on nor off",
        "`noon` is not a time of Europe/London",
    ] {
        assert!(run.err.contains(message), "{message}\n{}", run.err);
    }
}

/// L2 carries 2 kW more than the others. The heater of 2 kW switches on L2 at one test and on L3 at the other: it may be
/// either, and a plan could do more if it were known.
#[test]
fn what_an_unknown_load_is_worth_is_in_plan_phases_and_page() {
    let tests = "time,machine,state\n2026-03-09 09:00,heater,on\n2026-03-09 09:10,heater,off\n";
    let workshop = workshop().with("switching.csv", tests).with(
        "meters/main.csv",
        log_of([0.0, 2.0, 2.0], [0.0, 2.0, 0.0], [0.0, 0.0, 2.0]),
    );
    let result = workshop.json(&["phases", "SITE", "--worth", "--format", "json"]);
    let heater = of(&result, "heater");
    assert_eq!(heater["status"], "in-doubt", "{heater}");
    let worth = &result["worth_knowing"][0];
    assert_eq!(worth["machine"], "heater");
    let amps = |key: &str| worth[key].as_f64().expect("a number");
    assert!(amps("worth_a") > 0.0, "{worth}");
    let less = amps("unknown_neutral_rms_a") - amps("known_neutral_rms_a");
    assert!((amps("worth_a") - less).abs() < 1e-9, "{worth}");
    let plan = workshop.json(&["balance", "SITE", "--format", "json"]);
    assert_eq!(plan["phase_doubt"]["machines"][0], "heater");
    assert_eq!(plan["phase_doubt"]["identify_first"][0], *worth);
    let text = workshop.run(&["balance", "SITE"]).out;
    assert!(text.contains("Identify `heater` first"), "{text}");
    let run = workshop.run(&["report", "SITE", "-o", "BESIDE/page"]);
    assert_eq!(run.status, 0, "{}", run.err);
    let page = std::fs::read_to_string(workshop.beside("page/index.html")).expect("written");
    assert!(page.contains("<h2 id=\"phases-title\">"), "no section");
    assert!(
        page.contains("Identify ‘heater’ first"),
        "no value of knowing"
    );
}

/// Two heaters of 10 A on L1, as the list has them, which measures 20 A. The plan moves one to L2: 10 A on each, 10 A in
/// the neutral. Was that one on L3 in truth, L1 keeps its 20 A and L3 loses 10 A that it does not seem to have:
/// |20 + 10a² − 10a| = |20 − j·17.32| = 26.46 A.
#[test]
fn a_load_that_was_elsewhere_leaves_its_phase_there() {
    let mut log = String::from("time,I1,I2,I3,P1,P2,P3\n");
    for quarter in 0..8 {
        let _ = writeln!(
            log,
            "2026-03-09 {:02}:{:02},20,0,0,4.6188,0,0",
            8 + quarter / 4,
            quarter % 4 * 15
        );
    }
    let list = "machine,circuit,connection,power_kw\none,C1,L1,2.3094\nother,C1,L1,2.3094\n";
    let workshop = Workshop::new()
        .with("meters/main.csv", log)
        .with("machines.csv", list);
    let (site, _) = read_site(&workshop.site()).expect("a sound site");
    let logs = read_logs(&site, Period::default(), &mut Messages::new());
    let standing = Standing::new(&site, &logs).expect("currents");
    let on = |phase| Connection::ToNeutral(phase);
    let plan = [
        ("one".to_owned(), on(Phase::L1)),
        ("other".to_owned(), on(Phase::L2)),
    ];
    let plan = PlanElsewhere::new(&standing, &site, &plan).expect("a measured supply");
    let amps = |elsewhere: &[(usize, Connection)]| plan.neutral_rms_a(elsewhere);
    assert!((amps(&[]) - 10.0).abs() < 0.01, "{}", amps(&[]));
    let other = amps(&[(1, on(Phase::L3))]);
    assert!((other - 26.46).abs() < 0.01, "{other}");
    // What the plan does not move may be anywhere.
    assert!((amps(&[(0, on(Phase::L3))]) - 10.0).abs() < 0.01);
}
