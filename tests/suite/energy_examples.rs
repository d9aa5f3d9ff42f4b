//! Published examples that go through a log: a daily curve, two meter tests, the colours of conductors.

use std::fmt::Write;

use serde_json::Value;
use tapoff::site::read_site;

use crate::program::{SITE, Workshop};

fn meter(workshop: &Workshop, more: &[&str]) -> Value {
    let mut arguments = vec!["energy", "SITE", "--format", "json"];
    arguments.extend(more);
    workshop.json(&arguments)["meters"][0].clone()
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or(f64::NAN)
}

/// A workshop whose only meter logs power and a register.
fn with_register(log: &str, more: &str) -> Workshop {
    let head = SITE.find("current_l1_a").expect("the columns are last");
    let columns = "active_power_kw = \"P\"\nenergy_import_kwh = \"kWh\"\n";
    let site = format!("{}{columns}", &SITE[..head]);
    let files = "files = \"meters/main.csv\"\n";
    let site = site.replace(files, &format!("{files}plausibility = \"keep\"\n{more}"));
    Workshop::new()
        .with("site.toml", site)
        .with("meters/main.csv", log)
}

/// Mehta & Mehta, Principles of Power System, 4e, example 3.3: a station gives 100 MW for 2 hours and 50 MW for 6, and stands
/// still for the rest of each of 320 days: load factor 20.8 %. Here in kilowatts, a day of them.
#[test]
fn a_station_that_stands_still_for_most_of_the_day() {
    let mut log = String::from("time,P,kWh\n");
    let mut register = 0.0;
    for hour in 0..24 {
        let kw = match hour {
            8 | 9 => 100.0,
            10..=15 => 50.0,
            _ => 0.0,
        };
        register += kw;
        let (day, end) = (9 + (hour + 1) / 24, (hour + 1) % 24);
        writeln!(log, "2026-03-{day:02} {end:02}:00,{kw},{register}")
            .expect("a String takes any text");
    }
    let found = meter(&with_register(&log, ""), &["--window-min", "60"]);
    assert!(
        (100.0 * number(&found, "load_factor") - 20.8).abs() <= 0.05,
        "{found}"
    );
    assert!((number(&found, "energy_kwh") - 500.0).abs() < 1e-9);
}

/// What the register says beyond the power that was really drawn. (%)
fn error_pct(kw: f64, register_kwh_per_h: f64, more: &str) -> f64 {
    let mut log = String::from("time,P,kWh\n");
    for minute in 0..=600 {
        let (hour, minute_of_hour) = (8 + minute / 60, minute % 60);
        let register = register_kwh_per_h * f64::from(minute) / 60.0;
        writeln!(
            log,
            "2026-03-09 {hour:02}:{minute_of_hour:02},{kw:.9},{register:.9}"
        )
        .expect("a String takes any text");
    }
    let found = meter(&with_register(&log, more), &[]);
    let check = &found["register_check"];
    100.0 * (number(check, "register_kwh") / number(check, "integral_kwh") - 1.0)
}

/// Shinghal, Electrical Measurements & Measuring Instruments, 2002, example 2.20: 1200 revolutions per kWh, 40 of them in 99.8 s
/// at 240 V and 5 A: 0.2 % fast.
#[test]
fn a_meter_that_is_a_fifth_of_a_percent_fast() {
    let registered = 40.0 / 1200.0 / 99.8 * 3600.0;
    let error = error_pct(240.0 * 5.0 / 1000.0, registered, "");
    assert!((error - 0.2).abs() <= 0.05, "{error}");
}

/// The same book, example 2.19: behind transformers of 22 000/110 V and 500/5 A, 0.12 revolutions per kWh, 40 of them in 61 s at
/// 110 V and 5.25 A in three phases: 1.66 % slow (−1.665). The ratio stands in the site
/// file, a thousandth of it, so that the supply can carry it.
#[test]
fn a_meter_behind_transformers_that_is_slow() {
    let ratio = 200.0 * 100.0;
    let secondary_kw = 3.0_f64.sqrt() * 110.0 * 5.25 / 1000.0;
    let registered = 40.0 / 0.12 / 61.0 * 3600.0 / ratio;
    let error = error_pct(secondary_kw, registered, "ratio = 20.0\n");
    assert!((error + 1.665).abs() <= 0.0055, "{error}");
}

/// BS 7671 Amd 2:2004: red, yellow, blue and black until then, brown, black, grey and blue since.
#[test]
fn conductors_have_the_colours_of_their_time() {
    for (word, colours) in [
        ("red-yellow-blue", ["red", "yellow", "blue", "black"]),
        ("brown-black-grey", ["brown", "black", "grey", "blue"]),
    ] {
        let supply = "phase_limit_a = 63\n";
        let workshop = Workshop::new().replace(
            "site.toml",
            supply,
            &format!("{supply}conductor_colours = \"{word}\"\n"),
        );
        let (site, _) = read_site(&workshop.site()).expect("a site");
        assert_eq!(
            site.supply.conductor_marks,
            Some(colours.map(str::to_owned))
        );
    }
}

/// Two machines with a meter each and none at the supply: 2 kW for three hours, and 3 kW and 5 kW for the first two. 6 and 8
/// kWh, and of the two hours that both have, 7 kW is the largest demand period and 6 kW the mean. A third machine without a
/// meter leaves no sum: part of what the workshop draws would be missing.
#[test]
fn all_loads_together_stand_for_a_supply_without_meter() {
    let meter = |id: &str, machine: &str| {
        format!(
            "[[meter]]\nid = '{id}'\nmeasures = '{machine}'\nfiles = '{id}.csv'\nstamp = 'start'\n\
             readings = 'average'\ntime = {{ column = 'time', format = '%Y-%m-%d %H:%M' }}\n\
             columns = {{ active_power_kw = 'P' }}\n"
        )
    };
    let site = format!(
        "[site]\nname = 'Two meters'\ntimezone = 'UTC'\n[supply]\n\
         line_voltage_v = 400\nphase_limit_a = 63\n{}{}",
        meter("a", "heater"),
        meter("b", "oven")
    );
    let machines = "machine,circuit,connection,power_kw\nheater,supply,L1,2\noven,supply,L2,5\n";
    let workshop = Workshop::empty()
        .with("site.toml", &site)
        .with("machines.csv", machines)
        .with(
            "a.csv",
            "time,P\n2026-03-09 08:00,2\n2026-03-09 09:00,2\n2026-03-09 10:00,2\n",
        )
        .with("b.csv", "time,P\n2026-03-09 08:00,3\n2026-03-09 09:00,5\n");
    let energy = workshop.json(&["energy", "SITE", "--window-min", "60", "--format", "json"]);
    let all = &energy["all_loads"];
    assert_eq!(all["meters"], 2, "{energy}");
    for (key, expected) in [
        ("energy_kwh", 14.0),
        ("max_demand_kw", 7.0),
        ("load_factor", 6.0 / 7.0),
    ] {
        assert!((number(all, key) - expected).abs() < 1e-9, "{key}: {all}");
    }
    let text = workshop.run(&["energy", "SITE"]).out;
    assert!(text.contains("All loads together"), "{text}");
    let more = workshop.with("machines.csv", format!("{machines}drill,supply,L3,1\n"));
    let energy = more.json(&["energy", "SITE", "--format", "json"]);
    assert_eq!(energy.get("all_loads"), None, "{energy}");
}
