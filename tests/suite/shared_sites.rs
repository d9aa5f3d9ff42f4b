//! Energy and demand of open data sets and of the sample site, against totals from outside.
//!
//! The open data are not part of this project; tests that need them say so and pass when they are
//! absent.

use std::fs;
use std::path::{Path, PathBuf};

use tapoff::demand::{EnergyResult, MeterEnergy, analyse};
use tapoff::electrical::mean_power_factor;
use tapoff::message::Messages;
use tapoff::metering::Period;
use tapoff::site::{Quantity, read_site};
use tapoff::units::{KilovarHours, KilowattHours};
use tapoff::wiring::read_logs;

use crate::sample::demo_energy;

/// A folder of open data, or `None` where it is absent and need not be there.
pub(crate) fn shared(name: &str) -> Option<PathBuf> {
    shared_with(name, "site.toml")
}

/// A folder of open data that holds a file.
pub(crate) fn shared_with(name: &str, file: &str) -> Option<PathBuf> {
    let named = std::env::var_os("TAPOFF_SHARED").map(PathBuf::from);
    let beside = || Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared");
    let folder = named.clone().unwrap_or_else(beside).join("data").join(name);
    if folder.join(file).exists() {
        return Some(folder);
    }
    assert!(
        named.is_none(),
        "TAPOFF_SHARED is set, but {} is not there",
        folder.display()
    );
    say_skipped(&folder);
    None
}

#[expect(clippy::print_stderr, reason = "a skipped test must say so")]
fn say_skipped(folder: &Path) {
    eprintln!("skipped: {} is not there", folder.display());
}

fn energy_of(folder: &Path) -> EnergyResult {
    let (site, _) = read_site(folder).expect("a sound site");
    let mut messages = Messages::new();
    let logs = read_logs(&site, Period::default(), &mut messages);
    assert!(!messages.has_errors(), "the logs can be read");
    analyse(&site, &logs, None)
}

fn meter<'r>(result: &'r EnergyResult, id: &str) -> &'r MeterEnergy {
    let found = result.meters.iter().find(|meter| meter.id == id);
    found.expect("the meter is in the result")
}

#[track_caller]
fn close(found: Option<f64>, expected: f64, tolerance: f64) {
    let found = found.expect("a value");
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} instead of {expected} ± {tolerance}"
    );
}

fn at(meter: &MeterEnergy) -> String {
    meter
        .max_demand_at
        .map(|at| at.to_rfc3339())
        .unwrap_or_default()
}

fn kinds(meter: &MeterEnergy) -> Vec<&str> {
    meter
        .quality
        .iter()
        .map(|entry| entry.kind.as_str())
        .collect()
}

/// Open 15-minute log of a campus substation (MIT licence). Totals are sums of kW/4 made outside
/// this project.
#[test]
fn campus_totals_demand_and_unmetered_remainder() {
    let Some(folder) = shared("campus") else {
        return;
    };
    let result = energy_of(&folder);
    let main = meter(&result, "main");
    close(main.energy_kwh, 4_899_327.5, 0.5);
    close(main.max_demand_kw, 855.6, 1e-9);
    assert_eq!(at(main), "2017-06-14T13:30:00+02:00");
    close(Some(main.coverage_pct), 99.44, 0.02);
    for (id, energy) in [
        ("dimat", 107_179.2),
        ("data-centre", 672_531.9),
        ("bar-ambrogio", 151_958.4),
        ("canteen", 839_100.0),
        ("rectory", 205_886.2),
        ("print-shop", 51_548.4),
        ("mechanical-room", 560_177.5),
    ] {
        close(meter(&result, id).energy_kwh, energy, 0.06);
    }
    let [below] = &result.reconciliation[..] else {
        panic!("one meter has others below it");
    };
    assert_eq!((below.main.as_str(), below.submeters.len()), ("main", 7));
    close(Some(below.unmetered_kwh), 2_310_945.8, 0.1);
    close(below.unmetered_pct, 47.2, 0.05);
    // The spring days have 92 quarter-hours and are complete; the autumn days lost four each.
    let complete = |date: &str| {
        main.trace
            .days
            .iter()
            .find(|day| day.date == date)
            .map(|day| day.complete)
    };
    assert_eq!(complete("2017-03-26"), Some(true));
    assert_eq!(complete("2018-03-25"), Some(true));
    assert_eq!(complete("2017-10-29"), Some(false));
    assert_eq!(complete("2018-10-28"), Some(false));
}

/// UCI Machine Learning Repository, "Steel Industry Energy Consumption" (2018), CC BY 4.0. Totals
/// are sums of the published columns made outside this project.
#[test]
fn steel_works_totals_and_demand() {
    let Some(folder) = shared("steel-works") else {
        return;
    };
    let result = energy_of(&folder);
    let main = meter(&result, "main");
    assert_eq!(main.intervals, 35_040);
    close(main.energy_kwh, 959_640.31, 0.01);
    close(main.reactive_energy_import_kvarh, 456_765.85, 0.01);
    close(main.reactive_energy_export_kvarh, 135_638.04, 0.01);
    close(main.max_demand_kw, 628.72, 1e-9);
    assert_eq!(at(main), "2018-11-22T09:30:00+09:00");
    close(Some(main.coverage_pct), 100.0, 0.0);
    assert!(main.quality.is_empty(), "{:?}", main.quality);
    // kWh/√(kWh² + (lagging − leading)²) and mean over maximum, from the totals above.
    close(main.power_factor, 0.948_312_76, 1e-7);
    close(main.load_factor, 959_640.31 / 8760.0 / 628.72, 1e-9);
    assert_eq!(main.trace.days.len(), 365);
    assert!(main.trace.days.iter().all(|day| day.complete));
}

/// The same data: its published lagging power factor (%) is that of each row's energies. The log is read row by
/// row here, and the quarter-hours of the whole pass are asked for each of them.
#[test]
fn steel_works_lagging_power_factor_of_every_row() {
    let Some(folder) = shared("steel-works") else {
        return;
    };
    let (site, _) = read_site(&folder).expect("a sound site");
    let logs = read_logs(&site, Period::default(), &mut Messages::new());
    let table = &logs.of(0).expect("the log").table;
    let column = |quantity| table.values(quantity).expect("a logged column");
    let kw = column(Quantity::ActivePower(None));
    let kvarh = column(Quantity::ReactiveEnergyInterval);
    let text = fs::read_to_string(folder.join("meters/steel-2018.csv")).expect("the log");
    let mut rows = csv::Reader::from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let heads = rows.headers().expect("a header").clone();
    let at = heads
        .iter()
        .position(|head| head == "Lagging_Current_Power_Factor");
    let at = at.expect("the published column");
    let mut told = 0;
    for ((row, kw), kvarh) in rows.records().zip(kw.iter()).zip(kvarh.iter()) {
        let published: f64 = row.expect("a row")[at].parse().expect("a number");
        let (kwh, kvarh) = (kw.expect("energy") / 4.0, kvarh.expect("reactive energy"));
        let Ok(Some(factor)) = mean_power_factor(KilowattHours(kwh), KilovarHours(kvarh)) else {
            // Nothing was drawn: the published figure is 0.
            assert!(published.abs() < 1e-9 && kwh.abs() < 1e-9);
            continue;
        };
        told += 1;
        let found = 100.0 * factor;
        assert!(
            (found - published).abs() <= 0.005 + 1e-9,
            "{found}: {published}"
        );
    }
    assert!(told > 35_000, "{told}");
}

/// The sample site against what its generator knows before rounding (sample-data/README.md).
#[test]
fn sample_site_meters_agree_with_its_truth() {
    let result = demo_energy();
    let main = meter(result, "main");
    // 78.3 kWh fell into the gap; the register went on. Power is logged in steps of 0.01 kW, whose
    // rounding of steady loads does not cancel: half a step on three phases would be 10 kWh.
    close(main.energy_kwh, 7_293.6 - 78.3, 1.0);
    close(main.register_energy_kwh, 7_293.6, 0.3);
    close(main.max_demand_kw, 41.16, 0.02);
    close(main.max_demand_kva, 44.10, 0.02);
    assert_eq!(at(main), "2026-03-12T10:30:00+00:00");
    close(main.neutral_rms_a, 25.19, 0.01);
    close(main.neutral_max_a, 82.5, 0.06);
    for (found, expected) in main
        .phase_max_a
        .expect("currents")
        .into_iter()
        .zip([126.5, 72.4, 78.0])
    {
        close(Some(found), expected, 0.06);
    }
    assert_eq!(
        kinds(main),
        ["gap", "duplicate", "register-advanced-in-gap"]
    );
    assert_eq!(main.quality[1].count, 25);
    close(meter(result, "boat shed").energy_kwh, 2_039.4, 0.5);
    for (id, energy) in [
        ("saw", 150.526),
        ("chips", 841.912),
        ("air", 232.943),
        ("hall", 704.854),
    ] {
        close(meter(result, id).energy_kwh, energy, 0.05);
    }
    close(meter(result, "air").register_energy_kwh, 232.943, 0.2);
    let kiln = meter(result, "kiln");
    close(kiln.energy_kwh, 1_041.629, 0.05);
    close(kiln.energy_kwh_as_logged, -1_041.629, 0.05);
    assert_eq!(kinds(kiln), ["meter-fault-corrected"]);
    let main_against = &result.reconciliation[0];
    assert_eq!(
        main_against.submeters,
        ["boat shed", "saw", "chips", "air", "hall", "kiln"]
    );
}
