//! A workshop with a clamp meter alone: twenty machines, three rounds read at four depths, and what each machine drew.
//! The data are invented and not part of the project. True currents are summed here, machine by machine, from the
//! shares of `truth.json`; nothing of the program is used but its plan.

use std::collections::BTreeMap;
use std::path::Path;

use num_complex::Complex64;
use tapoff::balance::{BalanceResult, Settings, balance};
use tapoff::message::Messages;
use tapoff::metering::{Period, read_logs};
use tapoff::site::read_site;

use crate::shared_sites::shared;

/// One row of the list.
struct Listed {
    name: String,
    connection: String,
    /// At its rating. (kVA)
    kva: f64,
    factor: f64,
    third: f64,
}

fn list(folder: &Path) -> Vec<Listed> {
    let mut reader = csv::Reader::from_path(folder.join("machines.csv")).expect("a list");
    let header = reader.headers().expect("a header").clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    let at = |row: &csv::StringRecord, name: &str| -> String {
        let column = header.iter().position(|own| own == name).expect("a column");
        row[column].to_owned()
    };
    rows.iter()
        .map(|row| {
            let number = |name: &str| at(row, name).parse::<f64>().ok();
            let factor = number("power_factor").unwrap_or(1.0);
            let kva = number("power_kw").map(|kw| kw / factor);
            let kva = kva.or(number("apparent_kva"));
            let shaft = number("shaft_kw").zip(number("efficiency"));
            Listed {
                name: at(row, "machine"),
                connection: at(row, "connection"),
                kva: kva
                    .or(shaft.map(|(kw, share)| kw / share / factor))
                    .expect("a rating"),
                factor,
                third: number("third_harmonic_pct").unwrap_or(0.0) / 100.0,
            }
        })
        .collect()
}

/// The neutral of a round when machines are connected as given: those to neutral alone make one. (A)
fn neutral(
    list: &[Listed],
    shares: &BTreeMap<String, f64>,
    plan: &BTreeMap<String, String>,
) -> f64 {
    let (mut sum, mut third) = (Complex64::ZERO, 0.0);
    for machine in list {
        let connection = plan.get(&machine.name).unwrap_or(&machine.connection);
        let Some(phase) = ["L1", "L2", "L3"]
            .iter()
            .position(|phase| phase == connection)
        else {
            continue;
        };
        let share = shares.get(&machine.name).copied().unwrap_or(0.0);
        let amps = share * machine.kva * 1000.0 / (400.0 / 3.0_f64.sqrt());
        let angle = -machine.factor.acos() - phase as f64 * std::f64::consts::TAU / 3.0;
        sum += Complex64::from_polar(amps, angle);
        third += machine.third * amps;
    }
    sum.norm().hypot(third)
}

fn plan_at(folder: &Path, depth: &str) -> BalanceResult {
    let copy = tempfile::tempdir().expect("a folder");
    for (from, to) in [
        ("site.toml", "site.toml"),
        ("machines.csv", "machines.csv"),
        (&format!("readings-{depth}.csv") as &str, "readings.csv"),
    ] {
        let bytes = std::fs::read(folder.join(from)).expect("a file");
        std::fs::write(copy.path().join(to), bytes).expect("a file");
    }
    let (site, _) = read_site(copy.path()).expect("a sound site");
    let mut messages = Messages::new();
    let logs = read_logs(&site, Period::default(), &mut messages);
    assert!(!messages.has_errors(), "{:?}", messages.all());
    balance(&site, &logs, &Settings::default()).expect("a plan")
}

#[test]
fn each_depth_of_readings_predicts_the_neutral_of_its_plan() {
    let Some(folder) = shared("clamp-shop") else {
        return;
    };
    let list = list(&folder);
    let truth = std::fs::read_to_string(folder.join("truth.json")).expect("the truth");
    let truth: BTreeMap<String, BTreeMap<String, f64>> =
        serde_json::from_str(&truth).expect("rounds of shares");
    let as_is = BTreeMap::new();
    // The table next to the data: 35.0, 14.8 and 41.7 A now.
    let now: Vec<f64> = truth
        .values()
        .map(|shares| neutral(&list, shares, &as_is))
        .collect();
    for (found, printed) in now.iter().zip([35.0, 14.8, 41.7]) {
        assert!((found - printed).abs() < 0.05, "{found} for {printed}");
    }
    for depth in ["supply", "boards", "circuits", "machines"] {
        let plan = plan_at(&folder, depth);
        let moved: BTreeMap<String, String> = plan
            .moves
            .iter()
            .map(|moved| (moved.machine.clone(), moved.to.to_string()))
            .collect();
        assert_eq!(plan.rounds.len(), 3);
        for ((round, shares), now) in plan.rounds.iter().zip(truth.values()).zip(&now) {
            assert!(
                (round.before.neutral_a - now).abs() < 0.01,
                "{depth}: now as read"
            );
            let true_a = neutral(&list, shares, &moved);
            let after = round.after;
            assert!(
                (after.neutral_low_a - 0.3..=after.neutral_high_a + 0.3).contains(&true_a),
                "{depth}: {true_a} A, and the plan says {after:?}, {moved:?}"
            );
            if depth == "machines" {
                assert!(
                    (after.neutral_a - true_a).abs() < 0.3,
                    "{true_a} A, and the plan says {after:?}"
                );
            }
        }
        let rms = |neutrals: Vec<f64>| {
            (neutrals.iter().map(|amps| amps * amps).sum::<f64>() / 3.0).sqrt()
        };
        let after = rms(truth
            .values()
            .map(|shares| neutral(&list, shares, &moved))
            .collect());
        assert!(
            after <= rms(now.clone()) * (1.0 + 1e-9),
            "{depth}: {after} A after {moved:?}"
        );
    }
}
