//! Energy by a column of words in the logs: the parts add up whatever the log went through.

use serde_json::Value;

use crate::program::{Workshop, run};
use crate::shared_sites::shared;

/// A site of one meter of the supply; its logs are written as given.
struct Logged {
    workshop: Workshop,
}

impl Logged {
    fn new(zone: &str, columns: &str, files: &[(&str, &str)]) -> Logged {
        let site = format!(
            "[site]\nname = 'case'\ntimezone = '{zone}'\n[supply]\nline_voltage_v = 400\nphase_limit_a = 100\n\
             [[meter]]\nid = 'm'\nmeasures = 'supply'\nfiles = 'logs/*'\nreadings = 'average'\nstamp = 'start'\n\
             [meter.columns]\n{columns}\n"
        );
        let workshop = Workshop::empty()
            .with("site.toml", site)
            .with("machines.csv", "machine,circuit,connection,power_kw\n");
        let workshop = files.iter().fold(workshop, |workshop, (name, text)| {
            workshop.with(&format!("logs/{name}"), text)
        });
        Logged { workshop }
    }

    fn by(&self, column: &str) -> (Vec<(String, f64)>, Value) {
        let by = format!("column:{column}");
        let result = self
            .workshop
            .json(&["energy", "SITE", "--by", &by, "--format", "json"]);
        (sums(&result), result)
    }

    fn refused(&self, column: &str) -> String {
        let found = self
            .workshop
            .run(&["energy", "SITE", "--by", &format!("column:{column}")]);
        assert_eq!(found.status, 2);
        found.err
    }
}

fn sums(result: &Value) -> Vec<(String, f64)> {
    let parts = result["breakdown"].as_array().expect("a breakdown");
    parts
        .iter()
        .map(|part| {
            let key = part["key"].as_str().expect("a key").to_owned();
            (key, part["energy_kwh"].as_f64().expect("a number"))
        })
        .collect()
}

#[track_caller]
fn are(found: &[(String, f64)], expected: &[(&str, f64)]) {
    let keys: Vec<&str> = found.iter().map(|(key, _)| key.as_str()).collect();
    let wanted: Vec<&str> = expected.iter().map(|(key, _)| *key).collect();
    assert_eq!(keys, wanted);
    for ((key, found), (_, expected)) in found.iter().zip(expected) {
        assert!((found - expected).abs() < 1e-9, "{key}: {found}");
    }
}

#[track_caller]
fn sum_to_the_whole(result: &Value) {
    let all = result["meters"][0]["energy_kwh"].as_f64().expect("energy");
    let sum: f64 = sums(result).iter().map(|(_, kwh)| kwh).sum();
    assert!((sum - all).abs() < 1e-9 * all, "{sum} is not {all}");
}

/// UCI Machine Learning Repository, "Steel Industry Energy Consumption" (2018), CC BY 4.0: sums of its own
/// column, made outside this project.
#[test]
fn load_types_of_a_public_log() {
    let Some(site) = shared("steel-works") else {
        return;
    };
    let by = "column:Load_Type";
    let found = run(&[
        "energy",
        &site.to_string_lossy(),
        "--by",
        by,
        "--format",
        "json",
    ]);
    assert_eq!(found.status, 0, "{}", found.err);
    let result: Value = serde_json::from_str(&found.out).expect("JSON");
    let found = sums(&result);
    let expected = [
        ("Light_Load", 155_896.41),
        ("Medium_Load", 372_766.54),
        ("Maximum_Load", 430_977.36),
    ];
    assert_eq!(found.len(), expected.len());
    for ((key, kwh), (name, published)) in found.iter().zip(expected) {
        assert_eq!(key, name);
        assert!((kwh - published).abs() < 0.005, "{key}: {kwh}");
    }
    sum_to_the_whole(&result);
    assert_eq!(result["breakdown"][0]["by"], by);
    assert_eq!(result["breakdown"][0]["complete"], true);
}

/// Hours at 1, 2, 4, 8, 16 kW. The third has no word; the second appears twice, its word in the second row; the
/// fifth comes before the fourth.
#[test]
fn repeated_rows_empty_cells_and_rows_out_of_order() {
    let log = "time,kW,shift\n2026-03-09T00:00:00Z,1,early\n2026-03-09T01:00:00Z,2,\n\
               2026-03-09T01:00:00Z,2,late\n2026-03-09T02:00:00Z,4, \n2026-03-09T04:00:00Z,16,\"early\"\n\
               2026-03-09T03:00:00Z,8,late\n";
    let logged = Logged::new("UTC", "active_power_kw = 'kW'", &[("a.csv", log)]);
    let (found, result) = logged.by("shift");
    are(
        &found,
        &[("early", 17.0), ("late", 10.0), ("empty cells", 4.0)],
    );
    sum_to_the_whole(&result);
}

/// Samples every 15 s at 60 kW: of the first minute a quarter is of one word, three quarters of the other.
#[test]
fn a_minute_of_two_words_is_shared_by_its_samples() {
    let rows = [("00", "a"), ("15", "b"), ("30", "b"), ("45", "b")]
        .map(|(second, word)| format!("2026-03-09T00:00:{second}Z,60,{word}\n"))
        .concat();
    let next = ["00", "15", "30", "45"]
        .map(|second| format!("2026-03-09T00:01:{second}Z,60,a\n"))
        .concat();
    let log = format!("time,kW,job\n{rows}{next}");
    let logged = Logged::new("UTC", "active_power_kw = 'kW'", &[("a.csv", &log)]);
    let (found, result) = logged.by("job");
    are(&found, &[("a", 1.25), ("b", 0.75)]);
    sum_to_the_whole(&result);
}

/// A register reads 0, 1, 3, then 9 after two hours without a row: what it counted meanwhile has no word.
#[test]
fn what_a_register_counted_over_a_gap_is_told_apart() {
    let log = "time,kWh,shift\n2026-03-09T00:00:00Z,0,early\n2026-03-09T01:00:00Z,1,early\n\
               2026-03-09T02:00:00Z,3,late\n2026-03-09T05:00:00Z,9,late\n2026-03-09T06:00:00Z,10,late\n\
               2026-03-09T07:00:00Z,12,late\n";
    let columns = "energy_import_kwh = 'kWh'";
    let logged = Logged::new("UTC", columns, &[("a.csv", log)]);
    let (found, result) = logged.by("shift");
    sum_to_the_whole(&result);
    assert!(
        found
            .iter()
            .any(|(key, kwh)| key == "not dated" && *kwh > 0.0)
    );
}

/// Berlin puts its clocks back on 25 October 2026: 02:00 and 02:30 come twice, told apart by their order.
#[test]
fn the_repeated_hour_keeps_both_its_words() {
    let rows = [
        ("00:30", "a"),
        ("01:00", "a"),
        ("01:30", "a"),
        ("02:00", "a"),
        ("02:30", "a"),
        ("02:00", "b"),
        ("02:30", "b"),
        ("03:00", "b"),
        ("03:30", "b"),
    ];
    let rows = rows.map(|(stamp, word)| format!("2026-10-25 {stamp},2,{word}\n"));
    let log = format!("time,kW,shift\n{}", rows.concat());
    let logged = Logged::new(
        "Europe/Berlin",
        "active_power_kw = 'kW'",
        &[("a.csv", &log)],
    );
    let (found, result) = logged.by("shift");
    are(&found, &[("a", 5.0), ("b", 4.0)]);
    sum_to_the_whole(&result);
}

/// Two files that overlap by an hour; the second has no such column. 1 and 2 kW, then 4 kW.
#[test]
fn a_file_without_the_column_is_a_group_of_its_own() {
    let first = "time,kW,shift\n2026-03-09T00:00:00Z,1,early\n2026-03-09T01:00:00Z,2,early\n";
    let second = "time,kW\n2026-03-09T01:00:00Z,2\n2026-03-09T02:00:00Z,4\n";
    let files = [("a.csv", first), ("b.csv", second)];
    let logged = Logged::new("UTC", "active_power_kw = 'kW'", &files);
    let (found, result) = logged.by("shift");
    are(&found, &[("early", 3.0), ("files without the column", 4.0)]);
    sum_to_the_whole(&result);
}

#[test]
fn a_column_that_is_not_there_is_named_with_those_that_are() {
    let log = "time,kW,Shift\n2026-03-09T00:00:00Z,1,early\n2026-03-09T01:00:00Z,2,late\n";
    let logged = Logged::new("UTC", "active_power_kw = 'kW'", &[("a.csv", log)]);
    assert_eq!(
        logged.refused("Shft").trim(),
        "Error: no log has a column `Shft`.\n  Did you mean `column:Shift`?\n  (no-such-column)"
    );
    assert!(
        logged
            .refused("operator")
            .contains("Columns of the logs: time, kW, Shift")
    );
    let two = "time,kW,Shift,Shift\n2026-03-09T00:00:00Z,1,early,late\n2026-03-09T01:00:00Z,2,late,late\n";
    let logged = Logged::new("UTC", "active_power_kw = 'kW'", &[("a.csv", two)]);
    assert!(logged.refused("Shift").contains("has two columns `Shift`"));
}

/// A word that a spreadsheet would run is disarmed in CSV.
#[test]
fn words_are_only_words() {
    let log = "time,kW,job\n2026-03-09T00:00:00Z,1,=1+1\n2026-03-09T01:00:00Z,2,=1+1\n";
    let logged = Logged::new("UTC", "active_power_kw = 'kW'", &[("a.csv", log)]);
    let found = logged
        .workshop
        .run(&["energy", "SITE", "--by", "column:job", "--format", "csv"]);
    assert_eq!(found.status, 0);
    assert!(found.out.contains("\ncase,m,'=1+1,3,"), "{}", found.out);
}
