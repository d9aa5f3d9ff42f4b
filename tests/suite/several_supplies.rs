//! Several meters of the supply: billed together, or each by prices of its own. Worked out by hand.

use std::fmt::Write as _;

use serde_json::Value;

use crate::bill_clauses::{FROM, bill, day, lines, workshop};
use crate::program::Workshop;

/// `main` draws 10 kW, and 30 at 08:00; `other` 5 kW, and 20 at 10:00.
fn shop(tariffs: &str) -> Workshop {
    let second = "[[meter]]\nid = \"other\"\nmeasures = \"supply\"\nfiles = \"meters/other.csv\"\nstamp = \"start\"\n\
        time = { column = \"time\", format = \"%Y-%m-%d %H:%M\" }\n[meter.columns]\nactive_power_kw = \"P\"\n";
    let mut log = "time,P\n".to_owned();
    for at in 0..48 {
        let kw = if at == 20 { 20 } else { 5 };
        writeln!(log, "2026-03-09 {:02}:{:02},{kw}", at / 2, at % 2 * 30).expect("text");
    }
    workshop(
        &format!("{second}{tariffs}"),
        &[day(10.0, 0.0, &[(16, 30.0)])],
    )
    .with("meters/other.csv", log)
}

fn of_meter(meter: &str, rate: f64) -> String {
    format!(
        "{FROM}meter = \"{meter}\"\nenergy = [ {{ band = \"all\", rate_per_kwh = {rate} }} ]\ndemand = {{ per = \"kW\", rate_per_month = 1 }}\n"
    )
}

/// At 08:00 both together draw 30 + 5 kW; their own maxima are 30 and 20.
#[test]
fn the_maximum_of_the_sum_and_the_sum_of_the_maxima() {
    for (words, kw) in [
        ("", 35.0),
        (", of_meters = \"maximum-of-sum\"", 35.0),
        (", of_meters = \"sum-of-maxima\"", 50.0),
    ] {
        let tariff = format!("{FROM}demand = {{ per = \"kW\", rate_per_month = 2{words} }}\n");
        let found = bill(&shop(&tariff));
        assert_eq!(
            lines(&found),
            [("demand".to_owned(), kw, 2.0, 2.0 * kw)],
            "{found:#}"
        );
    }
    let tariff = format!(
        "{FROM}demand = {{ per = \"kW\", rate_per_month = 2, of_meters = \"sum-of-maxima\" }}\n"
    );
    let found = shop(&tariff).json(&["energy", "SITE", "--bill", "--what-if", "--format", "json"]);
    let notes = found["notes"].to_string();
    assert!(
        notes.contains("are not tried: demand is the sum of the maxima"),
        "{notes}"
    );
}

/// 250 kWh at 0.2 and 127.5 at 0.1, and 30 and 20 kW.
#[test]
fn each_supply_by_prices_of_its_own() {
    let tariffs = format!("{}{}", of_meter("main", 0.2), of_meter("other", 0.1));
    let found = bill(&shop(&tariffs));
    let names: Vec<&str> = found["months"][0]["lines"]
        .as_array()
        .expect("lines")
        .iter()
        .filter_map(|line| line["meter"].as_str())
        .collect();
    assert_eq!(names, ["main", "main", "other", "other"]);
    let expected = [
        ("energy all", 250.0, 0.2, 50.0),
        ("demand", 30.0, 1.0, 30.0),
        ("energy all", 127.5, 0.1, 12.75),
        ("demand", 20.0, 1.0, 20.0),
    ];
    let own: Vec<_> = expected
        .map(|(name, quantity, rate, amount)| (name.to_owned(), quantity, rate, amount))
        .into();
    assert_eq!(lines(&found), own, "{found:#}");
    assert_eq!(
        (&found["total"], &found["meter"]),
        (&112.75.into(), &"main, other".into())
    );
    let whole = shop(&tariffs).json(&["energy", "SITE", "--format", "json"]);
    assert_eq!(whole["cost_by_day"][0]["total"], 112.75);
    // What is left without a price of its own is billed by the tariff that names no meter.
    let general = of_meter("other", 0.1).replace("meter = \"other\"\n", "");
    let found = bill(&shop(&format!("{}{general}", of_meter("main", 0.2))));
    assert_eq!(found["total"], 112.75);
    let text = shop(&tariffs).run(&["energy", "SITE", "--bill"]).out;
    assert!(text.contains("Bill of meter main, other"), "{text}");
}

/// An invoice and a what-if are of one supply, which has to be named.
#[test]
fn which_supply_is_asked_for() {
    let tariffs = || format!("{}{}", of_meter("main", 0.2), of_meter("other", 0.1));
    let invoice = "line,from,to,quantity,rate,amount\nenergy all,2026-03-09,2026-03-10,127.5,0.1,12.75\ndemand,2026-03-09,2026-03-10,20,1,20.00\n";
    let words = ["energy", "SITE", "--invoice", "SITE/invoice.csv"];
    let run = |more: &[&str]| {
        shop(&tariffs())
            .with("invoice.csv", invoice)
            .run(&[&words[..], more].concat())
    };
    for more in [&[][..], &["--supply", "third"]] {
        let asked = run(more);
        assert_eq!(asked.status, 2, "{}", asked.out);
        assert!(asked.err.contains("one of main, other"), "{}", asked.err);
    }
    let check: Value =
        serde_json::from_str(&run(&["--supply", "other", "--format", "json"]).out).expect("JSON");
    assert_eq!(check["difference"], 0.0, "{check:#}");
    let words = [
        "energy",
        "SITE",
        "--bill",
        "--what-if",
        "--supply",
        "main",
        "--format",
        "json",
    ];
    let tried = shop(&tariffs()).json(&words);
    assert_eq!(tried["tariffs"][0]["total"], 80.0);
}

/// A meter without prices is not billed, and a tariff for no meter of the supply is refused.
#[test]
fn meters_without_prices_and_prices_without_a_meter() {
    let found = shop(&of_meter("main", 0.2)).json(&["energy", "SITE", "--format", "json"]);
    assert_eq!(found["cost"]["total"], 80.0);
    let notes = found["notes"].to_string();
    assert!(
        notes.contains("meter `other` of the supply has no tariff"),
        "{notes}"
    );
    let run = shop(&of_meter("third", 0.2)).run(&["energy", "SITE", "--bill"]);
    assert_eq!(run.status, 2);
    assert!(
        run.err.contains("`third` is no meter of the supply") && run.err.contains("line"),
        "{}",
        run.err
    );
}
