//! Published files of open formats, with totals worked out by a reader that is not part of the project.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::program::run;
use crate::shared_sites::shared_with;

fn path_of(folder: &Path, file: &str) -> PathBuf {
    let inside = ["nem12", "nem13", "espi", "invalid"].map(|name| folder.join(name).join(file));
    inside
        .into_iter()
        .find(|path| path.exists())
        .expect("a file of the list")
}

fn energy_of(path: &Path) -> Value {
    let path = path.to_string_lossy();
    let run = run(&[
        "energy",
        &path,
        "--format",
        "json",
        "--timezone",
        "Australia/Brisbane",
    ]);
    assert_eq!(run.status, 0, "{path}: {}", run.err);
    serde_json::from_str(&run.out).expect("JSON")
}

/// A channel of the list: its meter's name in a result, the key of its energy, and how much it is in the result's unit.
fn expected(
    file: &str,
    point: &str,
    suffixes: &[String],
    suffix: &str,
    sum: f64,
    unit: &str,
) -> Option<(String, &'static str, f64)> {
    let kind = |suffix: &str| {
        suffix
            .chars()
            .next()
            .filter(char::is_ascii_alphabetic)
            .unwrap_or('E')
    };
    let key = match kind(suffix) {
        'E' => "energy_import_kwh",
        'B' => "energy_export_kwh",
        'Q' => "reactive_energy_import_kvarh",
        'K' => "reactive_energy_export_kvarh",
        _ => return None,
    };
    let alike: Vec<&String> = suffixes
        .iter()
        .filter(|own| kind(own) == kind(suffix))
        .collect();
    let several = suffixes.iter().any(|own| {
        suffixes
            .iter()
            .any(|other| own != other && kind(own) == kind(other) && kind(own) != 'V')
    });
    let id = if point.is_empty() {
        Path::new(file).file_stem()?.to_string_lossy().into_owned()
    } else if several {
        let number = suffix
            .chars()
            .last()
            .filter(|_| suffix.starts_with(|c: char| c.is_ascii_alphabetic()));
        let at = alike.iter().position(|own| *own == suffix)? + 1;
        format!(
            "{point}/{}",
            number.map_or_else(|| at.to_string(), |digit| digit.to_string())
        )
    } else {
        point.to_owned()
    };
    let small = unit.eq_ignore_ascii_case("wh") || unit.eq_ignore_ascii_case("varh");
    Some((id, key, if small { sum / 1000.0 } else { sum }))
}

#[test]
fn totals_are_those_of_an_independent_reader() {
    let Some(folder) = shared_with("interval-formats", "totals.csv") else {
        return;
    };
    let mut reader = csv::Reader::from_path(folder.join("totals.csv")).expect("the list");
    let mut sums: BTreeMap<(String, String), BTreeMap<String, (f64, String)>> = BTreeMap::new();
    for row in reader.records() {
        let row = row.expect("a row");
        let cell = |at: usize| row[at].to_owned();
        let of_point = sums.entry((cell(0), cell(1))).or_default();
        let sum: f64 = row[5].parse().expect("a number");
        of_point.entry(cell(2)).or_insert((0.0, cell(3))).0 += sum;
    }
    let mut results: BTreeMap<String, Value> = BTreeMap::new();
    let mut compared = 0;
    for ((file, point), channels) in &sums {
        let result = results
            .entry(file.clone())
            .or_insert_with(|| energy_of(&path_of(&folder, file)));
        let suffixes: Vec<String> = channels.keys().cloned().collect();
        for (suffix, (sum, unit)) in channels {
            let Some((id, key, kwh)) = expected(file, point, &suffixes, suffix, *sum, unit) else {
                continue;
            };
            let meters = result["meters"].as_array().expect("meters");
            let meter = meters.iter().find(|meter| meter["id"] == id.as_str());
            let meter = meter.unwrap_or_else(|| panic!("{file} has the meter {id}"));
            let found = meter[key]
                .as_f64()
                .unwrap_or_else(|| panic!("{file} {id} has {key}"));
            // To the last digit: what is left is the rounding of binary sums.
            assert!(
                (found - kwh).abs() <= 1e-11 * kwh.max(1.0),
                "{file} {id} {key}: {found} {kwh}"
            );
            compared += 1;
        }
    }
    assert_eq!(compared, 247);
}

/// A:4, F:20, S:24 of 48 half-hours, by their energies.
#[test]
fn what_the_source_estimated_keeps_its_mark() {
    let Some(folder) = shared_with("interval-formats", "totals.csv") else {
        return;
    };
    let share =
        |file: &str| energy_of(&path_of(&folder, file))["meters"][0]["estimated_pct"].as_f64();
    assert_eq!(share("Example_NEM12_actual_interval.csv"), Some(0.0));
    assert_eq!(share("Example_NEM12_substituted_interval.csv"), Some(100.0));
    let mixed = share("Example_NEM12_multiple_quality.csv").expect("marks");
    assert!(mixed > 85.0 && mixed < 95.0, "{mixed}");
    assert_eq!(share("test_usage_data_02.xml"), None);
}

#[test]
fn what_breaks_the_format_is_refused_with_its_line() {
    let Some(folder) = shared_with("interval-formats", "totals.csv") else {
        return;
    };
    for (file, name, line) in [
        (
            "Example_NEM12_15min_200_30min_300.csv",
            "interval-format",
            "line 3",
        ),
        (
            "Example_NEM12_15min_200_30min_400.csv",
            "interval-format",
            "line 3",
        ),
        (
            "Example_NEM12_30min_200_15min_300.csv",
            "interval-format",
            "line 3",
        ),
        (
            "Example_NEM12_30min_200_15min_400.csv",
            "interval-format",
            "line 3",
        ),
        (
            "Example_NEM12_incomplete_interval.csv",
            "interval-format",
            "line 3",
        ),
        ("Example_NEM12_powercor.csv", "two-versions", "line 9"),
        (
            "Example_NEM12_powercor_missing_fields.csv",
            "two-versions",
            "line 9",
        ),
        ("Example_NEM12_empty.csv", "empty-log", ""),
        ("Example_empty_file.csv", "empty-log", ""),
    ] {
        let path = path_of(&folder, file);
        let run = run(&["energy", &path.to_string_lossy(), "--timezone", "UTC"]);
        assert_eq!(run.status, 2, "{file}: {}", run.out);
        assert!(
            run.err.contains(name) && run.err.contains(line),
            "{file}: {}",
            run.err
        );
    }
    let result = energy_of(&path_of(&folder, "Example_NEM12_missing_header.csv"));
    assert!(
        (result["meters"][0]["energy_import_kwh"]
            .as_f64()
            .unwrap_or(0.0)
            - 53.328)
            .abs()
            < 1e-11
    );
}
