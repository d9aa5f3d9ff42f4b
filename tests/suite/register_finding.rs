//! A register against the power of the same meter, as a finding.

use std::fmt::Write;
use std::path::Path;

use tapoff::diagnosis::diagnose;
use tapoff::finding::{Finding, Kind};
use tapoff::message::Messages;
use tapoff::metering::Period;
use tapoff::site::read_site;
use tapoff::wiring::read_logs;

const SITE: &str = r#"
[site]
name = "register"
[supply]
line_voltage_v = 400
phase_limit_a = 100
[[meter]]
id = "main"
measures = "supply"
files = "main.csv"
class = "1"
[meter.columns]
active_power_kw = "P"
energy_import_kwh = "kWh"
"#;

/// What is said of the wiring when, at 6 kW, the register counts so much in each quarter-hour. Between
/// rows 100 and 140 nothing is logged if `gap`.
fn wiring(folder: &Path, step_kwh: f64, gap: bool) -> Vec<Finding> {
    let mut log = "time,P,kWh\n".to_owned();
    for row in 0..400 {
        if gap && (100..140).contains(&row) {
            continue;
        }
        let (day, minutes) = (2 + row / 96, row % 96 * 15);
        let register = 1000.0 + step_kwh * f64::from(row);
        writeln!(
            log,
            "2026-03-{day:02} {:02}:{:02},6.0,{register:.2}",
            minutes / 60,
            minutes % 60
        )
        .expect("a String takes any text");
    }
    std::fs::write(folder.join("site.toml"), SITE).expect("written");
    std::fs::write(
        folder.join("machines.csv"),
        "machine,circuit,connection,power_kw\n",
    )
    .expect("written");
    std::fs::write(folder.join("main.csv"), log).expect("written");
    let (site, mut messages) = read_site(folder).unwrap_or_else(|errors| panic!("{errors:?}"));
    let logs = read_logs(&site, Period::default(), &mut messages);
    let none = Messages::new();
    assert_eq!(messages.has_errors(), none.has_errors(), "{messages:?}");
    let findings = diagnose(&site, &logs).findings.into_iter();
    findings
        .filter(|finding| finding.kind == Kind::MeteringFault)
        .collect()
}

/// 6 kW are 1.5 kWh in a quarter-hour; a register that misses one of three phases counts 1.0.
#[test]
fn a_register_that_counts_two_thirds_of_the_power_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let found = wiring(folder.path(), 1.0, false);
    assert_eq!(found.len(), 1, "{found:?}");
    let factor = found[0]
        .evidence
        .number("register_over_power")
        .expect("a factor");
    assert!((factor - 2.0 / 3.0).abs() < 0.001, "{factor}");
}

/// Half a per cent is within class 1, and what a register counts while nothing is logged is no fault.
#[test]
fn a_register_within_its_class_or_over_a_gap_is_not() {
    let folder = tempfile::tempdir().expect("a folder");
    assert!(wiring(folder.path(), 1.5075, false).is_empty());
    assert!(wiring(folder.path(), 1.5, true).is_empty());
}
