//! The demo site: its logs are what its generator writes, its healthy twin obeys physics, and the program
//! finds in the logs what the simulation knows to be true (`truth.json`, from the steps of ten seconds and
//! before any rounding; no command reads it).

use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use ferry_lane::{Options, generate};
use serde_json::Value;
use tempfile::TempDir;

use crate::program::{ferry_lane, run};
use crate::sample::sample_json;

// ---- the generator -----------------------------------------------------------------------------

#[test]
fn the_committed_logs_are_what_the_generator_writes() {
    let fresh = TempDir::new().expect("a temporary folder can be made");
    let truth = generate(fresh.path(), &Options::default()).expect("the folder can be written");
    assert!(truth.has_faults());
    let mut files = vec!["truth.json".to_owned(), "variables.csv".to_owned()];
    for folder in [ferry_lane(), fresh.path().to_owned()] {
        for entry in fs::read_dir(folder.join("meters")).expect("the logs are there") {
            let name = entry.expect("the folder can be read").file_name();
            files.push(format!("meters/{}", name.to_string_lossy()));
        }
    }
    for name in files {
        let committed = fs::read(ferry_lane().join(&name)).ok();
        let written = fs::read(fresh.path().join(&name)).ok();
        assert!(
            committed == written,
            "sample-data/ferry-lane/{name} differs: cargo run -p ferry-lane -- sample-data/ferry-lane"
        );
    }
}

// ---- the healthy twin --------------------------------------------------------------------------

/// A week of the twin without faults.
fn healthy() -> &'static Path {
    static TWIN: OnceLock<TempDir> = OnceLock::new();
    TWIN.get_or_init(|| {
        let folder = TempDir::new().expect("a temporary folder can be made");
        let options = Options {
            healthy: true,
            days: 7,
            ..Options::default()
        };
        let truth = generate(folder.path(), &options).expect("the folder can be written");
        assert!(!truth.has_faults());
        folder
    })
    .path()
}

fn json(arguments: &[&str]) -> Value {
    let run = run(arguments);
    assert!(run.status <= 1, "{}", run.err);
    serde_json::from_str(&run.out).expect("the result is JSON")
}

fn meters(site: &Path) -> Vec<Value> {
    meters_of(&json(&[
        "energy",
        &site.to_string_lossy(),
        "--format",
        "json",
    ]))
}

fn meters_of(result: &Value) -> Vec<Value> {
    result["meters"]
        .as_array()
        .expect("meters are a list")
        .clone()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

/// Meters of class 1 (IEC 62053-21) may be 1 % out; register and integral of one meter agree better. Below
/// 10 kWh the register's step of 0.1 kWh at both ends is more than that.
#[test]
fn registers_of_the_twin_agree_with_the_integral_of_power() {
    for meter in meters(healthy()) {
        let (integral, register) = (
            number(&meter["energy_kwh"]),
            number(&meter["register_energy_kwh"]),
        );
        let allowed = (0.01 * integral.abs()).max(0.2);
        assert!(
            (integral - register).abs() <= allowed,
            "{}: {integral} and {register} kWh",
            meter["id"]
        );
        assert_eq!(
            meter["quality"].as_array().map(Vec::len),
            Some(0),
            "{meter}"
        );
    }
}

/// Kirchhoff's current law at the star point, with third harmonics in phase: from P, Q, U and I of each
/// minute follow fundamental and third harmonic of each phase, from these the neutral.
#[test]
fn the_neutral_of_the_twin_follows_from_its_phases() {
    let text =
        fs::read_to_string(healthy().join("meters/main-2026-w11.csv")).expect("the log is there");
    let turn = 3.0_f64.sqrt() / 2.0;
    let axes = [(1.0, 0.0), (-0.5, -turn), (-0.5, turn)];
    let mut differences: Vec<f64> = text
        .lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<f64> = line
                .split(',')
                .skip(1)
                .map(|cell| cell.parse().unwrap_or(f64::NAN))
                .collect();
            let (mut re, mut im, mut third) = (0.0, 0.0, 0.0);
            for (k, (x, y)) in axes.into_iter().enumerate() {
                let (u, i, p, q) = (cells[k], cells[3 + k], cells[7 + k], cells[10 + k]);
                // Lagging current: p/u along the voltage, q/u behind it.
                let (along, behind) = (1000.0 * p / u, 1000.0 * q / u);
                re += along * x + behind * y;
                im += along * y - behind * x;
                third += (i * i - along * along - behind * behind).max(0.0).sqrt();
            }
            (re.hypot(im).hypot(third) - cells[6]).abs()
        })
        .collect();
    assert_eq!(differences.len(), 7 * 24 * 60);
    differences.sort_by(f64::total_cmp);
    // Rounding of I (0.1 A) and P, Q (0.01 kW) alone makes some tenths of an ampere; loads that switch
    // within the minute make more in a few minutes.
    let (median, p90) = (
        differences[differences.len() / 2],
        differences[differences.len() * 9 / 10],
    );
    assert!(median < 0.3, "median {median} A");
    assert!(p90 < 1.5, "nine tenths below {p90} A");
}

// ---- what is found in the demo -----------------------------------------------------------------

fn truth() -> Value {
    let text = fs::read_to_string(ferry_lane().join("truth.json")).expect("truth.json is there");
    serde_json::from_str(&text).expect("truth.json is JSON")
}

fn demo_meters() -> &'static [Value] {
    static METERS: OnceLock<Vec<Value>> = OnceLock::new();
    METERS.get_or_init(|| meters_of(&sample_json("energy sample-data/ferry-lane")))
}

fn demo_meter(id: &str) -> &'static Value {
    demo_meters()
        .iter()
        .find(|meter| meter["id"] == id)
        .expect("the meter is there")
}

fn oddity(meter: &'static Value, kind: &str) -> Option<&'static Value> {
    meter["quality"]
        .as_array()?
        .iter()
        .find(|entry| entry["kind"] == kind)
}

fn within(value: &Value, expected: f64, tolerance: f64, what: &str) {
    let found = number(value);
    assert!(
        (found - expected).abs() <= tolerance,
        "{what}: {found}, truth {expected} ± {tolerance}"
    );
}

#[test]
fn the_energy_of_the_main_meter_is_the_true_one() {
    let (truth, main) = (truth(), demo_meter("main"));
    let true_kwh = number(&truth["energy_kwh"]);
    // The integral lacks what the lost rows held. Powers are rounded to 0.01 kW, at worst 0.005 kW on each
    // phase all the time: 668 h · 3 · 0.005 kW = 10 kWh.
    within(
        &main["energy_kwh"],
        true_kwh - number(&truth["energy_in_gap_kwh"]),
        10.0,
        "integral",
    );
    // The register is cut off to 0.1 kWh at both ends and went on through the gap; its first reading is
    // one minute (under 1 kWh) into the period.
    within(&main["register_energy_kwh"], true_kwh, 1.1, "register");
    within(
        &main["max_demand_kw"],
        number(&truth["max_demand_kw"]),
        0.015,
        "demand",
    );
    within(
        &main["max_demand_kva"],
        number(&truth["max_demand_kva"]),
        0.03,
        "demand",
    );
    let at = main["max_demand_at"].as_str().unwrap_or_default();
    assert_eq!(
        at.trim_end_matches("+00:00"),
        truth["max_demand_at"]
            .as_str()
            .unwrap_or_default()
            .trim_end_matches('Z')
    );
}

#[test]
fn the_currents_of_the_main_meter_are_the_true_ones() {
    let (truth, main) = (truth(), demo_meter("main"));
    // Currents are rounded to 0.1 A.
    within(
        &main["neutral_rms_a"],
        number(&truth["neutral_rms_a"]),
        0.05,
        "neutral rms",
    );
    within(
        &main["neutral_max_a"],
        number(&truth["neutral_max_a"]),
        0.051,
        "neutral max",
    );
    for phase in 0..3 {
        within(
            &main["phase_max_a"][phase],
            number(&truth["phase_max_a"][phase]),
            0.051,
            "phase max",
        );
    }
}

/// Sub-meters log 0.001 kW, at worst 0.0005 kW all the time: 671 h · 0.0005 kW = 0.34 kWh. The kiln's is
/// reversed: its energy is corrected, and the log as it is stands beside.
#[test]
fn the_energy_of_each_sub_meter_is_that_of_its_machine() {
    let truth = truth();
    let loads = truth["loads"].as_array().expect("loads are a list");
    let mut compared = 0;
    for meter in demo_meters() {
        let Some(load) = loads.iter().find(|load| load["name"] == meter["measures"]) else {
            continue;
        };
        let energy = number(&load["energy_kwh"]);
        within(&meter["energy_kwh"], energy, 0.34, "sub-meter");
        if meter["id"] == "kiln" {
            within(&meter["energy_kwh_as_logged"], -energy, 0.34, "as logged");
        } else {
            assert!(meter["energy_kwh_as_logged"].is_null(), "{meter}");
        }
        compared += 1;
    }
    assert_eq!(compared, 7);
    let boards = truth["boards"].as_array().expect("boards are a list");
    let shed = boards
        .iter()
        .find(|board| board["id"] == "DB2")
        .expect("DB2 is there");
    // Three phases of 0.001 kW.
    within(
        &demo_meter("boat shed")["energy_kwh"],
        number(&shed["energy_kwh"]),
        1.1,
        "DB2",
    );
}

#[test]
fn what_is_wrong_with_the_logs_is_counted() {
    let truth = truth();
    let faults = &truth["faults"];
    let main = demo_meter("main");
    let gap = oddity(main, "gap").expect("the gap is noticed");
    assert_eq!(gap["count"], 1);
    assert_eq!(faults["gap_rows"], 180);
    assert!(
        gap["note"]
            .as_str()
            .is_some_and(|note| note.contains("180") && note.contains("the longest gap 3\u{a0}h")),
        "{gap}"
    );
    let repeats = oddity(main, "duplicate").expect("the repeats are noticed");
    assert_eq!(repeats["count"], faults["repeated_rows"]);
    // 28 days less an hour are 40 260 minutes, of which 180 are lost.
    within(
        &main["coverage_pct"],
        100.0 * 40_080.0 / 40_260.0,
        1e-9,
        "coverage",
    );

    assert_eq!(faults["rolling_register_of"], "Workshop compressor");
    let rolled = oddity(demo_meter("air"), "register-rollover").expect("the rollover is noticed");
    assert_eq!(rolled["count"], 1);
    within(
        &demo_meter("air")["register_energy_kwh"],
        number(&demo_meter("air")["energy_kwh"]),
        0.2,
        "register",
    );

    assert_eq!(faults["reversed_meter_of"], "Timber kiln");
    assert!(
        oddity(demo_meter("kiln"), "meter-fault-corrected").is_some(),
        "{}",
        demo_meter("kiln")
    );
    for meter in demo_meters() {
        let odd = ["main", "air", "kiln"].iter().any(|id| meter["id"] == *id);
        assert_eq!(
            meter["quality"]
                .as_array()
                .is_some_and(|list| !list.is_empty()),
            odd,
            "{meter}"
        );
    }
}

#[test]
fn the_plan_starts_from_what_was_measured() {
    let truth = truth();
    let result = sample_json("balance sample-data/ferry-lane");
    let before = &result["before"];
    assert_eq!(result["intervals"], 40_080);
    within(
        &before["neutral_rms_a"],
        number(&truth["neutral_rms_a"]),
        0.05,
        "neutral rms",
    );
    for phase in 0..3 {
        within(
            &before["phase_max_a"][phase],
            number(&truth["phase_max_a"][phase]),
            0.051,
            "phase max",
        );
    }
    // Minutes within 0.05 A of the limit may fall on either side of it.
    let minutes: f64 = truth["overload_days"]
        .as_array()
        .expect("days are a list")
        .iter()
        .map(|day| number(&day["minutes"]))
        .sum();
    within(
        &before["intervals_over_limit"][0],
        minutes,
        3.0,
        "minutes above the limit",
    );
    assert!(number(&result["after"]["neutral_rms_a"]) < number(&before["neutral_rms_a"]));
    // The reversed meter's log, put right, is the profile of the kiln.
    let kiln = result["machines"].as_array().expect("machines are a list");
    let kiln = kiln
        .iter()
        .find(|machine| machine["machine"] == "Timber kiln")
        .expect("the kiln is listed");
    assert_eq!(kiln["basis"], "measured");
    within(&kiln["energy_kwh"], 1_041.6, 0.4, "energy of the kiln");
}
