//! What is declared or read and hardly can be: `check` warns with the reason, and reads on.

use crate::program::Workshop;

const SITE: &str = r#"[site]
name = "Doubts"
timezone = "Europe/London"

[supply]
line_voltage_v = 400
phase_limit_a = 100

[[board]]
id = "DB1"
fed_from = "supply"

[[circuit]]
id = "C1"
board = "DB1"
protective_device = "B 32"
cable = { length_m = 20, phase_mm2 = 6, current_capacity_a = 41 }
use = "lighting"

[[circuit]]
id = "C2"
board = "DB1"
"#;
const LIST: &str = "machine,circuit,connection,power_kw,utilisation_factor,protective_device\nHeater,C1,L1,3,0.2,\nSaw,supply,3ph,9,0.5,gG 20\n";

/// What `check` warns of, by name, and all it says.
fn doubts(site: &str, list: &str, readings: Option<&str>) -> (Vec<String>, String) {
    let mut shop = Workshop::empty()
        .with("site.toml", site)
        .with("machines.csv", list);
    if let Some(readings) = readings {
        shop = shop.with(
            "readings.csv",
            format!("time,at,l1_a,l2_a,l3_a,n_a\n{readings}"),
        );
    }
    let run = shop.run(&["check", "SITE", "--format", "json"]);
    assert!(run.status < 2, "{}", run.err);
    let result: serde_json::Value = serde_json::from_str(&run.out).expect("JSON");
    let warnings = result["warnings"].as_array().expect("a list").iter();
    let names = warnings.map(|warning| warning["name"].as_str().expect("a name").to_owned());
    (names.collect(), run.out.replace("\u{a0}", " "))
}

#[track_caller]
fn is_doubted(change: (&str, &str), name: &str, parts: &[&str]) {
    let (from, to) = change;
    let (site, list) = (SITE.replace(from, to), LIST.replace(from, to));
    assert!(site != SITE || list != LIST, "{from}");
    let (names, text) = doubts(&site, &list, None);
    assert_eq!(names, [name], "{text}");
    for part in parts {
        assert!(text.contains(part), "{part}\n{text}");
    }
}

#[test]
fn a_plausible_site_is_read_without_a_warning() {
    assert_eq!(doubts(SITE, LIST, None).0, [""; 0]);
}

#[test]
fn what_hardly_can_be_is_said_with_its_reason() {
    // 3000 kW at 230.9 V.
    is_doubted(
        ("Heater,C1,L1,3,", "Heater,C1,L1,3000,"),
        "rating-in-doubt",
        &[
            "`Heater` draws 12990.4 A at its rating, too much for circuit `C1` behind B 32",
            "its unit",
        ],
    );
    is_doubted(
        ("Heater,C1,L1,3,", "Heater,C2,L1,3000,"),
        "rating-in-doubt",
        &["too much for the 100 A of the supply"],
    );
    is_doubted(
        ("gG 20", "gG 6"),
        "rating-in-doubt",
        &["`Saw` draws 13.0 A", "its device gG 6"],
    );
    is_doubted(
        ("line_voltage_v = 400", "line_voltage_v = 230"),
        "unusual-voltage",
        &["133 V to neutral", "`line_voltage_v = 400`"],
    );
    is_doubted(
        ("line_voltage_v = 400", "line_voltage_v = 208"),
        "unusual-voltage",
        &["Europe/London is 400 V between lines"],
    );
    is_doubted(
        ("phase_mm2 = 6", "phase_mm2 = 400"),
        "cable-in-doubt",
        &["400 mm², far more than the device B 32"],
    );
    is_doubted(
        ("phase_mm2 = 6, current_capacity_a = 41", "phase_mm2 = 1"),
        "cable-in-doubt",
        &["1 mm², too little for the device B 32"],
    );
    is_doubted(
        ("current_capacity_a = 41", "current_capacity_a = 400"),
        "cable-in-doubt",
        &["current capacity of 400 A"],
    );
    is_doubted(
        ("current_capacity_a = 41", "current_capacity_a = 31"),
        "device-above-cable",
        &["carries 31.0 A, and B 32 needs 32.0 A"],
    );
    // 30 / 0.725 = 41.4 A.
    is_doubted(
        ("\"B 32\"", "\"BS 3036 30\""),
        "device-above-cable",
        &["carries 41.0 A, and BS 3036 30 needs 41.4 A"],
    );
    is_doubted(
        ("use = \"lighting\"", "use = \"lights\""),
        "use-in-doubt",
        &["did you mean `lighting`"],
    );
    let zone = SITE
        .replace("Europe/London", "America/New_York")
        .replace("= 400", "= 208");
    assert_eq!(doubts(&zone, LIST, None).0, [""; 0]);
}

#[test]
fn an_empty_list_is_said() {
    let header = "machine,circuit,connection,power_kw\n";
    assert_eq!(doubts(SITE, header, None).0, ["no-machines"]);
}

/// The heater is 13.0 A on L1 with 0.2; the saw 13.0 A on each phase.
#[test]
fn readings_are_compared_with_the_ratings_and_the_utilisation() {
    let at = |reading: &str| doubts(SITE, LIST, Some(&format!("2026-11-23 09:30,{reading}\n")));
    assert_eq!(at("supply,27,13,13,14").0, [""; 0]);
    let (names, text) = at("Heater,30,,,");
    assert_eq!(names, ["reading-above-ratings"]);
    assert!(
        text.contains("`Heater` reads 30.0 A on L1, and its rating is 13.0 A"),
        "{text}"
    );
    let (names, text) = at("supply,27,40,13,14");
    assert_eq!(names, ["reading-above-ratings"]);
    assert!(
        text.contains("on L2, and the ratings listed there add up to 13.0 A"),
        "{text}"
    );
    let (names, text) = at("supply,-6,13,13,5");
    assert_eq!(names, ["export-in-doubt"], "{text}");
    let (names, text) = at("C2,5,0,0,5");
    assert_eq!(names, ["reading-above-ratings"]);
    assert!(text.contains("no machine is listed there"), "{text}");
    // On in each of three rounds at 0.2: 0.008. The circuit has no other load.
    let two = "2026-11-23 09:30,C1,13,0,0,\n2026-11-23 10:30,C1,13,0,0,\n";
    let three = format!("{two}2026-11-23 11:30,C1,13,0,0,\n");
    let (names, text) = doubts(SITE, LIST, Some(&three));
    assert_eq!(names, ["utilisation-in-doubt"], "{text}");
    assert!(text.contains("`Heater` was on in 3 of 3 rounds"), "{text}");
    assert_eq!(doubts(SITE, LIST, Some(two)).0, [""; 0]);
}
