//! What meters show that disagree, read coarsely or have a doubtful ratio, and what is said of overloads there.

use std::fmt::Write as _;

use serde_json::Value;

use crate::program::Workshop;

const SITE: &str = r#"[site]
name = "doubts"
[supply]
line_voltage_v = 400
phase_limit_a = 100
[[board]]
id = "DB1"
fed_from = "supply"
phase_limit_a = 40
"#;

const MACHINES: &str = "machine,circuit,connection,power_kw\n";

/// Quarter-hours over six days from Monday 9 March 2026, UTC.
const ROWS: usize = 576;

fn meter(id: &str, measures: &str, more: &str) -> String {
    format!(
        "[[meter]]\nid = \"{id}\"\nmeasures = \"{measures}\"\nfiles = \"{id}.csv\"\nstamp = \"start\"\n{more}\n"
    )
}

/// A load that goes on and off with a rhythm of its own: a simple generator of numbers, from Numerical Recipes,
/// 2nd edition, 7.1 ("quick and dirty").
fn load(seed: u32, amps: f64) -> Vec<f64> {
    let mut state = seed;
    let mut on = false;
    let rows = (0..ROWS).map(|_| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        if state >> 24 < 80 {
            on = !on;
        }
        if on {
            amps
        } else {
            2.0 + f64::from(state >> 28) / 10.0
        }
    });
    rows.collect()
}

fn sum(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a + b).collect()
}

fn times(values: &[f64], factor: f64) -> Vec<f64> {
    values.iter().map(|value| factor * value).collect()
}

/// A log of these currents on L1 and 5 A on the others, at 230 V and unity power factor.
fn log(amps: &[f64]) -> String {
    let mut text = "time,current_l1_a,current_l2_a,current_l3_a,active_power_l1_kw,active_power_l2_kw,active_power_l3_kw\n".to_owned();
    for (row, amps) in amps.iter().enumerate() {
        let (day, minutes) = (9 + row / 96, row % 96 * 15);
        let _ = writeln!(
            text,
            "2026-03-{day:02}T{:02}:{:02}:00Z,{amps:.3},5,5,{:.4},1.15,1.15",
            minutes / 60,
            minutes % 60,
            amps * 0.23
        );
    }
    text
}

fn workshop(meters: &[(&str, &str, &str, &[f64])]) -> Workshop {
    let mut site = SITE.to_owned();
    let mut workshop = Workshop::empty().with("machines.csv", MACHINES);
    for (id, measures, more, amps) in meters {
        site += &meter(id, measures, more);
        workshop = workshop.with(&format!("{id}.csv"), log(amps));
    }
    workshop.with("site.toml", site)
}

fn diagnosis(workshop: &Workshop) -> Value {
    workshop.json(&["diagnose", "SITE", "--format", "json"])
}

fn findings<'v>(diagnosis: &'v Value, kind: &str) -> Vec<&'v Value> {
    let all = diagnosis["findings"].as_array().expect("a list");
    all.iter().filter(|one| one["kind"] == kind).collect()
}

fn needs(diagnosis: &Value, words: &str) -> bool {
    let all = diagnosis["not_judged"].as_array().expect("a list");
    let has = |one: &Value| {
        one["needs"]
            .as_str()
            .is_some_and(|needs| needs.contains(words))
    };
    all.iter().any(has)
}

#[test]
fn two_meters_of_one_board_are_compared_and_never_added() {
    let (board, rest) = (load(1, 26.0), load(2, 10.0));
    let supply = sum(&board, &rest);
    let of = |factor: f64| {
        workshop(&[
            ("main", "supply", "", &supply),
            ("one", "DB1", "", &board),
            ("two", "DB1", "", &times(&board, factor)),
        ])
    };
    // The same within the class: nothing to say, and not twice the energy of the board below the supply.
    let alike = of(1.005);
    let quiet = diagnosis(&alike);
    assert_eq!(findings(&quiet, "metering-fault"), Vec::<&Value>::new());
    let energy = alike.json(&["energy", "SITE", "--format", "json"]);
    let compared = energy["reconciliation"].as_array().expect("a list");
    assert_eq!(compared.len(), 1, "{compared:?}");
    assert_eq!(compared[0]["submeters"], serde_json::json!(["one"]));
    // A ratio of half: one finding, at the second meter.
    let differ = diagnosis(&of(0.5));
    let found = findings(&differ, "metering-fault");
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0]["where"]["meter"], "two");
    assert!(
        found[0]["evidence"]["difference_pct"]
            .as_f64()
            .expect("a figure")
            > 20.0
    );
}

/// The board's meter shows twice what flows: 52 A instead of 26 A, over the board's 40 A.
#[test]
fn an_overload_on_a_meter_with_a_doubtful_ratio_is_no_danger() {
    let (board, rest) = (load(3, 26.0), load(4, 10.0));
    let supply = sum(&board, &rest);
    let read = |factor: f64| {
        diagnosis(&workshop(&[
            ("main", "supply", "", &supply),
            ("one", "DB1", "", &times(&board, factor)),
        ]))
    };
    let doubled = read(2.5);
    let found = findings(&doubled, "phase-overload");
    assert_eq!(found.len(), 1, "{found:?}");
    let overload = found[0];
    assert_eq!(overload["severity"], "warning");
    let text = |value: &Value| value.as_str().expect("a text").to_owned();
    assert!(text(&overload["summary"]).contains("the ratio of the meter `one` is in doubt"));
    assert!(text(&overload["action"]).starts_with("clamp the conductor of L1"));
    let other = text(&overload["evidence"]["possible_other_cause"]);
    assert!(
        other.starts_with("a wrong ratio of the meter `one`"),
        "{other}"
    );
    // It is dated by its own readings, not by the log.
    let first = times(&board, 2.5).iter().position(|&amps| amps > 40.0);
    let minutes = 15 * first.expect("an overload");
    let from = format!(
        "2026-03-{:02}T{:02}:{:02}:00Z",
        9 + minutes / 1440,
        minutes / 60 % 24,
        minutes % 60
    );
    assert_eq!(overload["from"], from);
    assert!(findings(&read(1.0), "phase-overload").is_empty());
}

/// Readings of single moments say nothing about a ratio unless both meters read in the same second.
#[test]
fn moments_that_are_not_simultaneous_give_no_advice_on_ratios() {
    let (board, rest) = (load(5, 20.0), load(6, 10.0));
    let supply = sum(&board, &rest);
    let half = times(&board, 2.0);
    let of = |board: &str, shifted: bool| {
        let moments = "readings = \"instant\"";
        let kind = if board == "average" { "" } else { moments };
        let made = workshop(&[
            ("main", "supply", kind, &supply),
            ("one", "DB1", kind, &half),
        ]);
        let text = log(&half);
        let text = if shifted {
            text.replace(":00Z", ":20Z")
        } else {
            text
        };
        diagnosis(&made.with("one.csv", text))
    };
    let slopes = |diagnosis: &Value| {
        let found = findings(diagnosis, "metering-fault");
        found
            .iter()
            .filter(|one| one["evidence"]["slope"].is_number())
            .count()
    };
    assert_eq!(slopes(&of("average", false)), 1);
    assert_eq!(slopes(&of("instant", false)), 1);
    let apart = of("instant", true);
    assert_eq!(slopes(&apart), 0);
    assert!(
        needs(&apart, "single moments that are not simultaneous"),
        "{apart}"
    );
}

/// Unmetered load drowns what little the board draws: a wide interval proves no ratio.
#[test]
fn a_slope_with_a_wide_interval_is_no_finding() {
    for seed in 0..6 {
        let (board, rest) = (load(7 + seed, 3.0), load(40 + seed, 60.0));
        let found = diagnosis(&workshop(&[
            ("main", "supply", "", &sum(&times(&board, 0.1), &rest)),
            ("one", "DB1", "", &board),
        ]));
        for one in findings(&found, "metering-fault") {
            let figure = |name: &str| one["evidence"][name].as_f64();
            if let (Some(low), Some(high), Some(slope)) = (
                figure("slope_low_95"),
                figure("slope_high_95"),
                figure("slope"),
            ) {
                assert!(low > 0.0 && high - low <= slope, "{one}");
            }
        }
    }
}

/// The supply's currents are lost in half of the readings of a board: what the moves change there is known only in the
/// other half, and this is said.
#[test]
fn a_board_read_for_longer_than_the_supply() {
    let lost = |row: &str| {
        let time = row.split_once(',').map_or(row, |(time, _)| time);
        format!("{time},,,,,,")
    };
    let with_gap: Vec<String> = crate::program::MAIN_LOG
        .lines()
        .enumerate()
        .map(|(at, row)| {
            if (3..7).contains(&at) {
                lost(row)
            } else {
                row.to_owned()
            }
        })
        .collect();
    let board = "\n[[meter]]\nid = \"board\"\nmeasures = \"DB1\"\nfiles = \"meters/board.csv\"\n\
        time = { column = \"time\", format = \"%Y-%m-%d %H:%M\" }\n[meter.columns]\ncurrent_l1_a = \"I1\"\n\
        current_l2_a = \"I2\"\ncurrent_l3_a = \"I3\"\nactive_power_l1_kw = \"P1\"\nactive_power_l2_kw = \"P2\"\n\
        active_power_l3_kw = \"P3\"\n";
    let said = |site: Workshop| {
        let plan = site.json(&["balance", "SITE", "--format", "json"]);
        plan["notes"].to_string()
    };
    let site = || {
        Workshop::new()
            .append("site.toml", board)
            .with("meters/board.csv", crate::program::MAIN_LOG)
    };
    let notes = said(site().with("meters/main.csv", with_gap.join("\n") + "\n"));
    assert!(
        notes.contains("over all of its 8 readings") && notes.contains("in 4 of them"),
        "{notes}"
    );
    let notes = said(site());
    assert!(!notes.contains("over all of its"), "{notes}");
}

/// A meter of energy alone: no limit is checked, and of the findings few can be made.
#[test]
fn a_meter_of_energy_alone_says_what_it_cannot_show() {
    let rows: Vec<String> = (1..20)
        .map(|hour| format!("2026-03-09 {hour:02}:00,{}", 1 + hour % 3))
        .collect();
    let site = Workshop::empty()
        .with("site.toml", "[site]\nname = \"one\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = 63\n[[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"main.csv\"\n[meter.columns]\nenergy_interval_kwh = \"kWh\"\n")
        .with("machines.csv", MACHINES)
        .with("main.csv", format!("time,kWh\n{}\n", rows.join("\n")));
    let checked = site.run(&["check", "SITE"]);
    assert!(
        checked.out.contains("so no limit is checked"),
        "{}",
        checked.out
    );
    let judged = site.run(&["diagnose", "SITE"]);
    assert!(
        judged
            .out
            .contains("No finding by the 1 of 14 checks that the data make possible."),
        "{}",
        judged.out
    );
}
