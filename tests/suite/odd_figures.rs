//! Figures of odd logs are still figures: no division by nothing, no sign before a zero.

use crate::program::Workshop;

const SAW_METER: &str = r#"[[meter]]
id = "saw"
measures = "saw"
files = "meters/saw.csv"
time = { column = "time", format = "%Y-%m-%d %H:%M" }
[meter.columns]
active_power_kw = "P"
"#;

/// The five machines; the log of the saw has one power throughout.
fn with_saw(kw: &str) -> Workshop {
    let rows = (1..=8).map(|quarter| {
        let minutes = 8 * 60 + 15 * quarter;
        format!("2026-03-09 {:02}:{:02},{kw}\n", minutes / 60, minutes % 60)
    });
    let log: String = std::iter::once("time,P\n".to_owned()).chain(rows).collect();
    Workshop::new()
        .append("site.toml", SAW_METER)
        .with("meters/saw.csv", log)
}

/// A share of what the supply carries cannot be told where it carries nothing.
#[test]
fn a_machine_that_draws_where_the_supply_shows_nothing() {
    let workshop = with_saw("2.4").with(
        "meters/main.csv",
        crate::program::MAIN_LOG.replace(",18,10,2,3.6,2.3,0.4", ",0,0,0,0,0,0"),
    );
    let plan = workshop.run(&["balance", "SITE"]);
    assert_eq!(plan.status, 0, "{}", plan.err);
    let note = "on L1 the machines' own meters show current; the supply's meter shows none";
    assert!(plan.out.contains(note), "{}", plan.out);
    assert!(!plan.out.contains("inf"), "{}", plan.out);
}

/// Some loggers write a sign before zero.
#[test]
fn zero_has_no_sign() {
    let workshop = with_saw("-0.0");
    for form in ["text", "csv"] {
        let run = workshop.run(&["energy", "SITE", "--by", "hour", "--format", form]);
        assert_eq!(run.status, 0, "{}", run.err);
        let cells = || run.out.split([',', ' ', '\n']);
        let is_zero = |cell: &str| cell.parse().is_ok_and(|number: f64| number == 0.0);
        assert!(cells().any(is_zero), "{}", run.out);
        let signed = cells().find(|cell| cell.starts_with('-') && is_zero(cell));
        assert_eq!(signed, None, "{}", run.out);
    }
}

/// With few intervals the phases can be made alike to the last digit: the neutral's mean square is then zero but for
/// rounding, and the search for a lesser one still has to end.
#[test]
fn the_search_ends_where_nothing_is_left_in_the_neutral() {
    let demo = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/ferry-lane");
    let mut workshop = Workshop::empty();
    for file in ["site.toml", "machines.csv", "variables.csv"] {
        let content = std::fs::read(demo.join(file)).expect("part of the demo");
        workshop = workshop.with(file, content);
    }
    for file in std::fs::read_dir(demo.join("meters")).expect("part of the demo") {
        let file = file.expect("part of the demo");
        let log = std::fs::read_to_string(file.path()).expect("a log");
        let first: String = log.split_inclusive('\n').take(2).collect();
        workshop = workshop.with(&format!("meters/{}", file.file_name().display()), first);
    }
    let plan = workshop.run(&["balance", "SITE", "--all-moves"]);
    assert_eq!(plan.status, 0, "{}", plan.err);
    assert!(plan.out.contains("0.0\u{a0}A after"), "{}", plan.out);
}
