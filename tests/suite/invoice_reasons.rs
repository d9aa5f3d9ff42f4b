//! Every reason that an invoice check gives for a difference, each on an invoice that differs by that alone. The figures are
//! worked out by hand.

use std::fmt::Write as _;

use serde_json::Value;

use crate::bill_clauses::{FROM, day, peaks, workshop};
use crate::program::Workshop;

/// An invoice of these rows, checked.
fn checked(shop: Workshop, rows: &str) -> Value {
    let text = format!("line,from,to,quantity,rate,amount\n{rows}\n");
    let words = [
        "energy",
        "SITE",
        "--invoice",
        "SITE/invoice.csv",
        "--format",
        "json",
    ];
    shop.with("invoice.csv", text).json(&words)
}

/// The reasons given for each line whose quantity differs.
fn reasons(check: &Value) -> Vec<String> {
    let lines = check["lines"].as_array().expect("lines").iter();
    let differing = lines.filter(|line| line["verdict"] == "quantity");
    differing
        .map(|line| {
            let because = line["because"].as_array().expect("sentences").iter();
            because
                .filter_map(Value::as_str)
                .collect::<Vec<_>>()
                .join("; ")
        })
        .collect()
}

/// All lines whose quantity differs have this reason, and there is one at least.
fn assert_reason(shop: Workshop, rows: &str, reason: &str) {
    let check = checked(shop, rows);
    let found = reasons(&check);
    assert!(!found.is_empty(), "{check:#}");
    for because in found {
        assert!(because.contains(reason), "{because}");
    }
}

/// Over whole hours Monday reaches 20 kW, Tuesday 19 and Wednesday (26 + 27)/2.
#[test]
fn demand_periods_of_another_length() {
    let tariff = format!("{FROM}demand = {{ per = \"kW\", rate_per_month = 10 }}\n");
    assert_reason(
        workshop(&tariff, &peaks()),
        "demand,2026-03-09,2026-03-12,26.5,10,265.00",
        "it agrees with demand periods of 60 min",
    );
}

/// 10 kW from 08:00 to 10:00 of a summer's day are drawn from 07:00 to 09:00 of winter time.
#[test]
fn bands_by_winter_time() {
    let tariff = format!(
        "{FROM}energy = [ {{ band = \"day\", from = \"08:00\", to = \"20:00\", rate_per_kwh = 0.2 }}, {{ band = \"night\", \
         otherwise = true, rate_per_kwh = 0.1 }} ]\n"
    );
    let mut log = "time,P,Q\n".to_owned();
    for at in 0..48 {
        let kw = if (16..20).contains(&at) { 10 } else { 0 };
        writeln!(log, "2026-07-06 {:02}:{:02},{kw},0", at / 2, at % 2 * 30).expect("text");
    }
    let shop = workshop(&tariff, &[day(0.0, 0.0, &[])])
        .replace(
            "site.toml",
            "timezone = \"UTC\"",
            "timezone = \"Europe/Berlin\"",
        )
        .with("meters/main.csv", log);
    assert_reason(
        shop,
        "energy day,2026-07-06,2026-07-07,10,0.2,2.00\nenergy night,2026-07-06,2026-07-07,10,0.1,1.00",
        "it agrees if bands follow winter time all year",
    );
}

/// Of two days at 10 kW the second is a holiday.
#[test]
fn holidays_as_ordinary_days() {
    let tariff = format!(
        "{FROM}energy = [ {{ band = \"work\", days = \"Mon-Fri\", rate_per_kwh = 0.2 }}, {{ band = \"free\", days = \
         \"Sat,Sun,holidays\", rate_per_kwh = 0.1 }} ]\n"
    );
    assert_reason(
        workshop(&tariff, &[day(10.0, 0.0, &[]); 2]),
        "energy work,2026-03-09,2026-03-11,480,0.2,96.00\nenergy free,2026-03-09,2026-03-11,0,0.1,0.00",
        "it agrees if holidays count as ordinary days",
    );
}

#[test]
fn a_day_more() {
    let tariff = format!("{FROM}energy = [ {{ band = \"all\", rate_per_kwh = 0.2 }} ]\n");
    assert_reason(
        workshop(&tariff, &[day(10.0, 0.0, &[]); 3]),
        "energy all,2026-03-09,2026-03-11,720,0.2,144.00",
        "it agrees if the day `to` is included",
    );
}

/// 8 kW and 6 kvar are 10 kVA.
#[test]
fn demand_in_the_other_unit() {
    let tariff = format!("{FROM}demand = {{ per = \"kVA\", rate_per_month = 10 }}\n");
    assert_reason(
        workshop(&tariff, &[day(8.0, 6.0, &[])]),
        "demand,2026-03-09,2026-03-10,8,10,80.00",
        "it agrees in kW",
    );
}

/// 120 kVA for three days; and an excess of 1.5 kVA over 25, the maximum of whole hours.
#[test]
fn another_capacity() {
    let capacity = |kva: u32, more: &str| {
        format!("{FROM}capacity = {{ kva = {kva}, rate_per_kva_day = 0.1{more} }}\n")
    };
    assert_reason(
        workshop(&capacity(100, ""), &peaks()),
        "capacity,2026-03-09,2026-03-12,360,0.1,36.00",
        "the invoice bills 120 kVA, the tariff 100 kVA",
    );
    assert_reason(
        workshop(&capacity(25, ", excess_rate_per_kva_day = 0.2"), &peaks()),
        "capacity,2026-03-09,2026-03-12,75,0.1,7.50\nexcess capacity,2026-03-09,2026-03-12,4.5,0.2,0.90",
        "it agrees with demand periods of 60 min",
    );
}

/// 120 kWh in each half of the day, 126 on the invoice.
#[test]
fn a_loss_factor() {
    let tariff = format!(
        "{FROM}energy = [ {{ band = \"day\", from = \"06:00\", to = \"18:00\", rate_per_kwh = 0.2 }}, {{ band = \"night\", \
         otherwise = true, rate_per_kwh = 0.1 }} ]\n"
    );
    assert_reason(
        workshop(&tariff, &[day(10.0, 0.0, &[])]),
        "energy day,2026-03-09,2026-03-10,126,0.2,25.20\nenergy night,2026-03-09,2026-03-10,126,0.1,12.60",
        "all energy on the invoice is 1.05 times that of the log: a loss factor",
    );
}

/// Standing 5.00, energy 24.00, levy 2.40 and duty 2.40: 33.80 with all of them, 31.40 without the duty, 29.00 without the levy
/// too, 24.00 of energy.
#[test]
fn what_is_taxed_and_in_which_order() {
    let tariff = |on: &str| {
        format!(
            "{FROM}standing_per_day = 5\nenergy = [ {{ band = \"all\", rate_per_kwh = 0.1 }} ]\n\
             levies = [ {{ levy = \"climate\", per = \"kWh\", rate = 0.01 }} ]\n\
             taxes = [ {{ tax = \"duty\", pct = 10, on = [\"energy\"] }}, {{ tax = \"VAT\", pct = 20{on} }} ]\n"
        )
    };
    let cases = [
        (
            ", on = [\"all\"]",
            "31.40",
            "6.28",
            "if the taxes before it are not taxed",
        ),
        (
            "",
            "33.80",
            "6.76",
            "if the taxes before it are taxed as well",
        ),
        ("", "29.00", "5.80", "if levies are not taxed"),
        ("", "24.00", "4.80", "if energy alone is taxed"),
        (
            "",
            "30.00",
            "6.00",
            "the taxed amount differs because other lines differ",
        ),
    ];
    for (on, base, amount, reason) in cases {
        let rows = format!(
            "standing,2026-03-09,2026-03-10,1,5,5.00\nenergy all,2026-03-09,2026-03-10,240,0.1,24.00\n\
             climate,2026-03-09,2026-03-10,240,0.01,2.40\nduty,2026-03-09,2026-03-10,24.00,10,2.40\n\
             VAT,2026-03-09,2026-03-10,{base},20,{amount}"
        );
        let shop = workshop(&tariff(on), &[day(10.0, 0.0, &[])]);
        assert_reason(shop, &rows, reason);
    }
}

/// 1.5 of 240 kWh are 0.6 %.
#[test]
fn the_class_of_the_meter() {
    let tariff = format!("{FROM}energy = [ {{ band = \"all\", rate_per_kwh = 0.2 }} ]\n");
    let shop = workshop(&tariff, &[day(10.0, 0.0, &[])]);
    let classed = shop.replace(
        "site.toml",
        "stamp = \"start\"",
        "stamp = \"start\"\nclass = \"1\"",
    );
    assert_reason(
        classed,
        "energy all,2026-03-09,2026-03-10,241.5,0.2,48.30",
        "the difference is within the accuracy class of the meter, 1 %",
    );
}

/// The second half of the day, 120 of 240 kWh, is marked as estimated.
#[test]
fn readings_that_the_source_estimated() {
    let tariff = format!(
        "{FROM}energy = [ {{ band = \"all\", rate_per_kwh = 0.2 }} ]\ndemand = {{ per = \"kW\", rate_per_month = 1 }}\n"
    );
    let shop = || {
        let mut log = "time,P,Q,E\n".to_owned();
        for at in 0..48 {
            let estimated = u8::from(at >= 24);
            writeln!(
                log,
                "2026-03-09 {:02}:{:02},10,0,{estimated}",
                at / 2,
                at % 2 * 30
            )
            .expect("text");
        }
        let columns = "[meter.columns]\n";
        workshop(&tariff, &[day(10.0, 0.0, &[])])
            .replace(
                "site.toml",
                columns,
                &format!("{columns}estimated_share = \"E\"\n"),
            )
            .with("meters/main.csv", log)
    };
    let energy = |kwh: f64| {
        let row = format!(
            "energy all,2026-03-09,2026-03-10,{kwh},0.2,{:.2}",
            0.2 * kwh
        );
        format!("{row}\ndemand,2026-03-09,2026-03-10,10,1,10.00")
    };
    let marked = "the source marks 120.0\u{a0}kWh of the 240.0\u{a0}kWh of these days as estimated (50.0\u{a0}%)";
    assert_reason(
        shop(),
        &energy(230.0),
        &format!("{marked}: the difference is within that"),
    );
    assert_reason(
        shop(),
        &energy(500.0),
        &format!("{marked}: the difference is more than that"),
    );
    let demand =
        "energy all,2026-03-09,2026-03-10,240,0.2,48.00\ndemand,2026-03-09,2026-03-10,11,1,11.00";
    assert_reason(
        shop(),
        demand,
        &format!("{marked}: other readings give another value"),
    );
}
