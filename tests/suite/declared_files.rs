//! The files of a variable, of carbon factors and of clamp readings: what the reference declares as the range of a
//! column is what `tapoff check` accepts, at both ends and not beyond.

use tapoff::declaration::{Declared, Key, ValueKind};
use tapoff::site::{CARBON_FILE, READINGS, VARIABLE_FILE};

use crate::program::{Run, SITE, Workshop};

/// A file with two rows, half an hour apart where the time has hours; every column has its example but one.
fn rows(file: &Declared, times: [&str; 2], column: &Key, value: &str) -> String {
    let header: Vec<&str> = file.names().collect();
    let row = |time: &str| {
        let cell = |key: &Key| match key.name {
            // Each row is a round of its own.
            "time" | "round" => time.to_owned(),
            name if name == column.name => value.to_owned(),
            _ => key.example.to_owned(),
        };
        file.keys.iter().map(cell).collect::<Vec<_>>().join(",")
    };
    format!(
        "{}\n{}\n{}\n",
        header.join(","),
        row(times[0]),
        row(times[1])
    )
}

fn checked(file: &str, toml: &str, text: &str) -> Run {
    let site = Workshop::new().with("site.toml", format!("{SITE}\n{toml}"));
    site.with(file, text).run(&["check", "SITE"])
}

/// Every number of a file, at the ends of its range and just beyond them; how many there were.
fn numbers(declared: &Declared, name: &str, toml: &str, times: [&str; 2]) -> usize {
    let mut tried = 0;
    for column in declared.keys {
        let ValueKind::Number(low, high) = column.kind else {
            continue;
        };
        let run = |value: f64| {
            let text = rows(declared, times, column, &format!("{value}"));
            (checked(name, toml, &text), text)
        };
        for end in [low, high] {
            let (run, text) = run(end);
            assert!(run.status < 2, "{text}{}", run.err);
        }
        let step = (high - low) * 1e-6;
        for beyond in [low - step, high + step] {
            let (run, text) = run(beyond);
            assert_eq!(run.status, 2, "{text}");
            assert!(run.err.contains(&format!("{name}, row 2")), "{}", run.err);
        }
        tried += 1;
    }
    tried
}

#[test]
fn carbon_factors_have_the_declared_range() {
    let toml = "[carbon]\nfile = \"carbon.csv\"\n";
    let times = ["2026-03-09 08:00", "2026-03-09 08:30"];
    assert_eq!(numbers(&CARBON_FILE, "carbon.csv", toml, times), 1);
}

#[test]
fn clamp_readings_have_the_declared_range() {
    let times = ["2026-03-09 10:30", "2026-03-09 11:30"];
    assert_eq!(numbers(&READINGS, "readings.csv", "", times), 4);
}

/// The variable's column is declared as any number: no size is refused, and what is no number is.
#[test]
fn a_variable_is_any_number() {
    let value = VARIABLE_FILE.keys.last().expect("the value");
    assert!(
        matches!(value.kind, ValueKind::Form("a number")),
        "{value:?}"
    );
    let toml = format!(
        "[[variable]]\nname = \"x\"\nfile = \"variables.csv\"\ncolumn = \"{}\"\n",
        value.name
    );
    let run = |text: &str| {
        let text = rows(&VARIABLE_FILE, ["2026-03-09", "2026-03-10"], value, text);
        checked("variables.csv", &toml, &text)
    };
    for number in ["-1e300", "-0.5", "0", "1e300", ""] {
        let run = run(number);
        assert!(run.status < 2, "{number}: {}", run.err);
    }
    for other in ["1e400", "-inf", "NaN", "some"] {
        let run = run(other);
        assert_eq!(run.status, 2, "{other}");
        assert!(run.err.contains("variables.csv, row 2"), "{}", run.err);
    }
}
