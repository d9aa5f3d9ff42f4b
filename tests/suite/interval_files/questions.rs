//! What a file does not decide is asked, with both totals and the line to write; what it holds and cannot be read is a
//! message with its line, never left out.

use super::{close, energy, half_hours, import, site};
use crate::program::{Run, Workshop};

fn asked(run: &Run, texts: &[&str]) {
    assert_eq!(run.status, 2, "{}", run.out);
    for text in texts {
        assert!(run.err.contains(text), "`{text}` in {}", run.err);
    }
}

fn alone(name: &str, log: &str) -> Run {
    let workshop = Workshop::empty().with(name, log);
    let path = format!("SITE/{name}");
    workshop.run(&["energy", &path, "--timezone", "Europe/London"])
}

/// A load that does not change, or a register that stands still: 240 kWh or none.
#[test]
fn a_constant_column_of_energy() {
    let rows = half_hours(48, |at, _| format!("{at},5"));
    let log = format!("start,kWh\n{rows}");
    asked(
        &site(&log, "", "").run(&["energy", "SITE"]),
        &[
            "register-or-interval",
            "0 kWh as a register, 240 kWh as intervals",
            "`energy_interval_kwh = \"kWh\"`",
            "meters/a.csv, row 1, column B",
        ],
    );
    let declared = "[meter.columns]\nenergy_interval_kwh = \"kWh\"";
    assert!(close(import(&energy(&site(&log, declared, "")))[0], 240.0));
    let interval = format!("start,interval kWh\n{rows}");
    assert!(close(import(&energy(&site(&interval, "", "")))[0], 240.0));
    let register = format!("start,register kWh\n{rows}");
    assert!(close(import(&energy(&site(&register, "", "")))[0], 0.0));
    // Nothing either way.
    let idle = format!("start,kWh\n{}", half_hours(48, |at, _| format!("{at},0")));
    assert!(close(import(&energy(&site(&idle, "", "")))[0], 0.0));
}

/// Five months may rise by chance; a count may begin again at a new meter, or every midnight.
#[test]
fn a_column_of_energy_that_few_readings_do_not_decide() {
    let months = |values: [u32; 5]| {
        let rows = (1..).zip(values);
        let rows: Vec<String> = rows
            .map(|(month, kwh)| format!("2026-{month:02}-01,{kwh}\n"))
            .collect();
        let rows = rows.concat();
        format!("date,kWh\n{rows}")
    };
    let rising = alone("a.csv", &months([100, 110, 120, 130, 140]));
    asked(&rising, &["register-or-interval", "40 kWh", "600 kWh"]);
    let replaced = alone("a.csv", &months([98_000, 99_000, 500, 1500, 2500]));
    asked(
        &replaced,
        &["register-or-interval", "3000 kWh", "201500 kWh"],
    );
    // 0 to 47 on each of ten days: ten times 47 kWh, or ten times 1128 kWh.
    let daily = half_hours(480, |at, n| format!("{at},{}", n % 48));
    let daily = alone("a.csv", &format!("start,kWh\n{daily}"));
    asked(&daily, &["register-or-interval", "470 kWh", "11280 kWh"]);
}

/// 1000 to 1718.5 in steps of 1.5: readings of a register, half-hour by half-hour.
#[test]
fn a_register_in_a_table_of_periods_or_days() {
    let periods = half_hours(480, |at, n| {
        format!("{},{},{}", &at[..10], n % 48 + 1, 1000.0 + 1.5 * n as f64)
    });
    let periods = alone("a.csv", &format!("Date,Period,kWh\n{periods}"));
    asked(&periods, &["register-or-interval", "718.5", "652440"]);
    let labels: Vec<String> = (0..48)
        .map(|at| format!("{:02}:{:02}", at / 2, at % 2 * 30))
        .collect();
    let days: Vec<String> = (0..10)
        .map(|day| {
            let cells = (0..48).map(|at| format!(",{}", 1000.0 + 1.5 * f64::from(48 * day + at)));
            format!(
                "2026-03-{:02}{}\n",
                9 + day,
                cells.collect::<Vec<_>>().concat()
            )
        })
        .collect();
    let days = days.concat();
    let wide = format!("Date,{} kWh\n{days}", labels.join(","));
    asked(
        &alone("a.csv", &wide),
        &["register-or-interval", "718.5", "652440"],
    );
}

/// Half-hours of two meters, 1 to 11 kWh: no registers, although the columns are those of registers read by hand.
#[test]
fn a_long_table_is_not_taken_for_registers_read_by_hand() {
    let rows = half_hours(96, |at, n| {
        format!(
            "{at},A,{},kWh\n{at},B,{},kWh",
            1 + n * 7 % 11,
            1 + n * 5 % 11
        )
    });
    let log = format!("time,meter,value,unit\n{rows}");
    let result = Workshop::empty().with("a.csv", &log).json(&[
        "energy",
        "SITE/a.csv",
        "--timezone",
        "Europe/London",
        "--format",
        "json",
    ]);
    let sum = |step: usize| -> f64 { (0..96).map(|n| (1 + n * step % 11) as f64).sum() };
    assert_eq!(import(&result), [sum(7), sum(5)]);
    let few = "date,meter,value\n2026-01-01,A,100\n2026-02-01,A,110\n2026-03-01,A,120\n";
    asked(
        &alone("usage.csv", few),
        &["register-or-interval", "20 as a register, 330 as energies"],
    );
}

/// Without the half-hours of 10:00 to 12:00 net energy is 44 × 2 − 44 × 0.5; the import of all is 96 kWh.
#[test]
fn export_that_is_missing_is_not_taken_for_none() {
    let rows = half_hours(48, |at, n| {
        let export = if (20..24).contains(&n) { "" } else { "0.5" };
        format!("{at},{},{export}", if n % 2 == 0 { 1.5 } else { 2.5 })
    });
    let tariff = "[[tariff]]\nfrom = \"2025-01-01\"\n\
                  energy = [{ band = \"all\", otherwise = true, rate_per_kwh = 0.3 }]\n";
    let workshop = site(
        &format!("start,Import (kWh),Export (kWh)\n{rows}"),
        "",
        tariff,
    );
    let result = energy(&workshop);
    let meter = &result["meters"][0];
    let number = |key: &str| meter[key].as_f64().expect("a number");
    assert!(close(number("energy_import_kwh"), 96.0));
    assert!(close(number("energy_export_kwh"), 22.0));
    assert!(close(number("energy_kwh"), 66.0), "{}", meter["energy_kwh"]);
    assert_eq!(result["cost"]["months"][0]["lines"][0]["quantity"], 96.0);
    assert!(
        meter["quality"]
            .to_string()
            .contains("import or export alone")
    );
}

/// A row whose date cannot be read is a message; sums and the header once more are passed over.
#[test]
fn rows_of_days_without_a_date() {
    let labels: Vec<String> = (0..48)
        .map(|at| format!("{:02}:{:02}", at / 2, at % 2 * 30))
        .collect();
    let head = format!("Date,{}", labels.join(","));
    let day = |date: &str| {
        let cells: Vec<String> = (0..48).map(|at| format!(",{}", 1 + at % 3)).collect();
        let cells = cells.concat();
        format!("{date}{cells}\n")
    };
    let log = |date: &str| {
        let days = [day("2026-03-09"), day(date), day("2026-03-11")].concat();
        let more: String = (12..16).map(|at| day(&format!("2026-03-{at}"))).collect();
        format!("{head}\n{days}{head}\n{more}{}", day("Total"))
    };
    let keys = "unit = \"kWh\"\n";
    assert!(close(
        import(&energy(&site(&log("2026-03-10"), keys, "")))[0],
        7.0 * 96.0
    ));
    asked(
        &site(&log("2026-02-30"), keys, "").run(&["energy", "SITE"]),
        &["interval-format", "2026-02-30", "meters/a.csv, line 3"],
    );
    let shifted = log("2026-03-10").replace("2026-03-11,1,", "2026-03-11,1,5,");
    asked(
        &site(&shifted, keys, "").run(&["energy", "SITE"]),
        &["more cells than the header", "meters/a.csv, line 4"],
    );
}

#[test]
fn rows_of_periods_and_of_meters_that_cannot_be_read() {
    let log = |second: &str| {
        let rows = half_hours(96, |at, n| {
            format!("{},{},{}", &at[..10], n % 48 + 1, n % 5)
        });
        format!(
            "Date,Period,kWh\n{}",
            rows.replacen("2026-03-09,2,1", second, 1)
        )
    };
    for (row, text) in [
        ("2026-02-30,2,1", "2026-02-30"),
        ("2026-03-09,2,abc", "period 2 of 2026-03-09"),
    ] {
        asked(
            &alone("a.csv", &log(row)),
            &["interval-format", text, "a.csv, line 3"],
        );
    }
    let rows = half_hours(48, |at, n| {
        let meter = if n == 3 { "" } else { "B" };
        format!("A,{at},{}\n{meter},{at},{}", 1 + n % 3, 1 + n % 4)
    });
    for keys in [
        "point = \"A\"",
        "point = \"A\"\n[meter.columns]\nenergy_interval_kwh = \"kWh\"",
    ] {
        asked(
            &site(&format!("meter,start,kWh\n{rows}"), keys, "").run(&["energy", "SITE"]),
            &["interval-format", "names no meter", "meters/a.csv, line 9"],
        );
    }
}
