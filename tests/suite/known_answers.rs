//! Sites so small that the answer is known beforehand: by symmetry, by Kirchhoff's current law at the
//! star point, or by trying everything on paper.

use serde_json::Value;

use crate::program::{SITE, Workshop};

const TIGHT: f64 = 1e-6;

/// Machines on one board, without any meter.
fn unmetered(machines: &str) -> Workshop {
    let head = SITE.split("[[meter]]").next().unwrap_or_default();
    Workshop::empty()
        .with("site.toml", head)
        .with("machines.csv", machines)
}

fn balance(workshop: &Workshop) -> Value {
    workshop.json(&["balance", "SITE", "--format", "json"])
}

fn close(value: &Value, expected: f64, what: &str) {
    let found = value.as_f64().unwrap_or(f64::NAN);
    assert!(
        (found - expected).abs() < TIGHT,
        "{what}: {found}, not {expected}"
    );
}

fn all_close(value: &Value, expected: [f64; 3], what: &str) {
    for (index, expected) in expected.into_iter().enumerate() {
        close(&value[index], expected, what);
    }
}

/// Magnitude of the sum of three currents in phase with their voltages.
fn neutral([a, b, c]: [f64; 3]) -> f64 {
    (a * a + b * b + c * c - a * b - b * c - c * a).sqrt()
}

#[test]
fn three_equal_loads_on_three_phases_leave_the_neutral_empty() {
    let result = balance(&unmetered(
        "machine,circuit,connection,current_a\na,C1,L1,10\nb,C1,L2,10\nc,C1,L3,10\n",
    ));
    close(&result["before"]["neutral_rms_a"], 0.0, "before");
    close(&result["after"]["neutral_rms_a"], 0.0, "after");
    close(&result["gap_pct"], 0.0, "gap");
    all_close(&result["before"]["phase_max_a"], [10.0; 3], "phases");
    assert_eq!(result["moves"].as_array().map(Vec::len), Some(0));
    assert_eq!(result["proof"], "optimal");
}

/// Both on L1: 20 A. Apart: 10 A, since two currents at 120° add up to the size of one.
#[test]
fn two_equal_loads_want_to_be_apart() {
    let result = balance(&unmetered(
        "machine,circuit,connection,current_a\na,C1,L1,10\nb,C1,L1,10\n",
    ));
    close(&result["before"]["neutral_rms_a"], 20.0, "before");
    close(&result["after"]["neutral_rms_a"], 10.0, "after");
    close(
        &result["before"]["current_unbalance_pct"],
        200.0,
        "unbalance",
    );
    assert_eq!(result["moves"].as_array().map(Vec::len), Some(1));
}

/// 9, 5, 4, 3 and 3 A: 9 | 5+3 | 4+3 leaves √(81+64+49−72−56−63) = √3 A; 9 | 5+4 | 3+3 leaves 3 A. The
/// best of all 3⁵ is found here by trying them.
#[test]
fn a_handful_of_loads_reaches_the_best_of_all() {
    let loads = [9.0, 5.0, 4.0, 3.0, 3.0];
    let mut best = f64::INFINITY;
    for mut code in 0..3_usize.pow(5) {
        let mut phases = [0.0; 3];
        for load in loads {
            phases[code % 3] += load;
            code /= 3;
        }
        best = best.min(neutral(phases));
    }
    assert!((best - 3.0_f64.sqrt()).abs() < TIGHT);
    let rows: Vec<String> = loads
        .iter()
        .enumerate()
        .map(|(index, amps)| format!("m{index},C1,L1,{amps}\n"))
        .collect();
    let result = balance(&unmetered(&format!(
        "machine,circuit,connection,current_a\n{}",
        rows.concat()
    )));
    close(&result["before"]["neutral_rms_a"], 24.0, "before");
    close(&result["best_neutral_rms_a"], best, "lowest");
    assert_eq!(result["proof"], "optimal");
    // The plan is the first point of the curve with 80 % of what there is to gain: below 24 − 0.8·(24 − √3) A.
    let enough = 24.0 - 0.8 * (24.0 - best);
    let fewest = result["moves_curve"].as_array().expect("a list").iter();
    let fewest = fewest
        .filter(|point| {
            point["neutral_rms_a"]
                .as_f64()
                .is_some_and(|amps| amps <= enough)
        })
        .find_map(|point| point["moves"].as_u64());
    assert_eq!(result["recommended_moves"].as_u64(), fewest);
    let after = result["after"]["neutral_rms_a"].as_f64().expect("a figure");
    assert!(best < after && after <= enough, "{after}");
    let optional = result["optional_moves"].as_array().expect("a list");
    close(
        &optional.last().expect("a move")["neutral_rms_a"],
        best,
        "with the optional moves",
    );
    let reached = result["moves_curve"].as_array().expect("a list");
    close(&reached[0]["neutral_rms_a"], 24.0, "no move");
    // One move: 9 A away from 15 A, √(15² + 9² − 15·9) = √171 A.
    close(&reached[1]["neutral_rms_a"], 171.0_f64.sqrt(), "one move");
}

/// 10 A rms with 50 % third harmonic is 10/√1.25 A of fundamental; the fundamentals cancel, the third
/// harmonics of the three phases add: 3 · 0.5 · 10/√1.25 A.
#[test]
fn third_harmonics_add_up_in_the_neutral() {
    let result = balance(&unmetered(
        "machine,circuit,connection,current_a,third_harmonic_pct\n\
         a,C1,L1,10,50\nb,C1,L2,10,50\nc,C1,L3,10,50\n",
    ));
    let expected = 15.0 / 1.25_f64.sqrt();
    close(&result["before"]["neutral_rms_a"], expected, "before");
    close(&result["after"]["neutral_rms_a"], expected, "after");
}

/// 10 A from L1 to L2: both carry it, the neutral and L3 nothing.
#[test]
fn a_load_between_two_phases_leaves_the_neutral_alone() {
    let result = balance(&unmetered(
        "machine,circuit,connection,current_a\nwelder,C1,L1-L2,10\n",
    ));
    close(&result["before"]["neutral_rms_a"], 0.0, "neutral");
    all_close(
        &result["before"]["phase_max_a"],
        [10.0, 10.0, 0.0],
        "phases",
    );
    assert_eq!(result["moves"].as_array().map(Vec::len), Some(0));
}

/// 2.3 kW at cos φ 0.8 lagging on 400/√3 V: 2.3 kW/0.8/230.94 V = 12.449 A.
#[test]
fn power_and_power_factor_give_the_current() {
    let result = balance(&unmetered(
        "machine,circuit,connection,power_kw,power_factor\nmotor,C1,L3,2.3,0.8\n",
    ));
    let amps = 2300.0 / 0.8 / (400.0 / 3.0_f64.sqrt());
    close(&result["before"]["neutral_rms_a"], amps, "neutral");
    all_close(&result["before"]["phase_rms_a"], [0.0, 0.0, amps], "phases");
}

/// 10 A lagging by 60° on L1 and 10 A leading by 60° on L2: the first at −60°, the second at −120° + 60°
/// = −60°. They lie on each other: 20 A.
#[test]
fn lagging_and_leading_can_meet() {
    let result = balance(&unmetered(
        "machine,circuit,connection,current_a,power_factor,movable\n\
         a,C1,L1,10,0.5,no\nb,C1,L2,10,0.5 lead,no\n",
    ));
    close(&result["before"]["neutral_rms_a"], 20.0, "before");
}

#[test]
fn a_load_without_a_phase_has_no_before() {
    let result = balance(&unmetered(
        "machine,circuit,connection,current_a,movable\na,C1,L1,10,no\nb,C1,L2,10,no\nc,C1,any,10,\n",
    ));
    assert_eq!(result["before"], Value::Null);
    assert_eq!(result["nodes"][0]["before"], Value::Null);
    assert_eq!(result["allocation"]["c"], "L3");
    close(&result["after"]["neutral_rms_a"], 0.0, "after");
}

/// What is on a one-phase circuit moves as one.
#[test]
fn a_circuit_moves_as_a_whole() {
    let result = balance(&unmetered(
        "machine,circuit,connection,current_a,movable\n\
         a,C2,L1,10,\nb,C2,L1,10,\nc,C1,L1,20,no\nd,C1,L2,20,no\n",
    ));
    // 20 A on L1 and on L2 stay; both lamps belong on L3.
    assert_eq!(result["allocation"]["a"], "L3");
    assert_eq!(result["allocation"]["b"], "L3");
    close(&result["after"]["neutral_rms_a"], 0.0, "after");
}

/// Kept together, 6 + 4 A move as 10 A: 10 A stay on L1 and on L2, so both go to L3.
#[test]
fn kept_machines_stay_together() {
    let result = balance(&unmetered(
        "machine,circuit,connection,current_a,movable,keep_with\n\
         a,C1,L1,6,,bench\nb,C1,L1,4,,bench\nc,C1,L1,10,no,\nd,C1,L2,10,no,\n",
    ));
    assert_eq!(result["allocation"]["a"], "L3");
    assert_eq!(result["allocation"]["b"], "L3");
    close(&result["after"]["neutral_rms_a"], 0.0, "after");
}

/// "Before" is what the supply's meter has seen, listed or not: 18, 10 and 2 A in phase.
#[test]
fn before_is_what_the_main_meter_saw() {
    let result = balance(&Workshop::new());
    all_close(
        &result["before"]["phase_max_a"],
        [18.0, 10.0, 2.0],
        "phases",
    );
    all_close(
        &result["before"]["phase_rms_a"],
        [18.0, 10.0, 2.0],
        "phases",
    );
    // √(324 + 100 + 4 − 180 − 20 − 36) = √192.
    close(
        &result["before"]["neutral_rms_a"],
        192.0_f64.sqrt(),
        "neutral",
    );
    close(
        &result["before"]["neutral_max_a"],
        192.0_f64.sqrt(),
        "neutral",
    );
    assert_eq!(result["intervals"], 8);
}

/// 3.6, 2.3 and 0.4 kW for two hours.
#[test]
fn energy_of_two_even_hours() {
    let result = Workshop::new().json(&["energy", "SITE", "--format", "json"]);
    let meter = &result["meters"][0];
    close(&meter["energy_kwh"], 12.6, "kWh");
    all_close(
        &meter["energy_kwh_by_phase"],
        [7.2, 4.6, 0.8],
        "kWh by phase",
    );
    close(&meter["max_demand_kw"], 6.3, "kW");
    assert_eq!(meter["max_demand_at"], "2026-03-09T08:00:00+00:00");
    close(&meter["load_factor"], 1.0, "load factor");
    close(&meter["coverage_pct"], 100.0, "coverage");
    // Mean of 18, 10 and 2 is 10; the largest deviation is 8.
    close(&meter["current_unbalance_mean_pct"], 80.0, "unbalance");
    for unknown in [
        "register_energy_kwh",
        "reactive_energy_import_kvarh",
        "max_demand_kva",
        "power_factor",
    ] {
        assert_eq!(meter[unknown], Value::Null, "{unknown} was not logged");
    }
    assert_eq!(result["cost"], Value::Null);
}

/// A meter with 100:5 transformers read as 50:5 shows half of everything that flows.
#[test]
fn the_ratio_applies_to_current_power_and_energy() {
    let workshop = Workshop::new().replace(
        "site.toml",
        "measures = \"supply\"",
        "measures = \"supply\"\nratio = 2",
    );
    let result = workshop.json(&["energy", "SITE", "--format", "json"]);
    close(&result["meters"][0]["energy_kwh"], 25.2, "kWh");
    all_close(&result["meters"][0]["phase_max_a"], [36.0, 20.0, 4.0], "A");
}

/// Third harmonics of the three phases are in phase with each other: 3 × 40 % of a fundamental of 39 A are 46.8 A, in
/// quadrature with the fundamental of a load beside it. Rated currents include the harmonic: I = I1·√(1 + 0.4²).
#[test]
fn a_three_phase_machine_has_its_third_harmonics_in_the_neutral() {
    let press = format!("press,C1,3ph,{},40,1,no\n", 39.0 * 1.16_f64.sqrt());
    let site = |more: &str| {
        unmetered(&format!(
            "machine,circuit,connection,current_a,third_harmonic_pct,power_factor,movable\n{press}{more}"
        ))
    };
    let alone = balance(&site(""));
    close(&alone["before"]["neutral_max_a"], 46.8, "alone");
    close(&alone["after"]["neutral_rms_a"], 46.8, "alone");
    let with_lamp = balance(&site("lamp,C1,L1,20,0,1,no\n"));
    close(
        &with_lamp["before"]["neutral_max_a"],
        46.8_f64.hypot(20.0),
        "with a lamp",
    );
    // A load between two phases has no neutral.
    let between = balance(&site("heater,C1,L1-L2,20,50,1,no\n"));
    close(
        &between["before"]["neutral_max_a"],
        46.8,
        "with a load between two phases",
    );
    let board = site("").json(&["balance", "SITE", "--format", "json"]);
    close(
        &board["nodes"][1]["before"]["neutral_rms_a"],
        46.8,
        "the board",
    );
}
