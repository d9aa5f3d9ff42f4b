//! An invoice beside the bill: the program's own lines agree, and planted mistakes are named.

use serde_json::Value;

use crate::program::{Workshop, ferry_lane, same_as_before};
use crate::sample::sample_run;

/// For 6.3 kW from 8 to 10 of a Monday.
const TARIFF: &str = "\n[[tariff]]\nfrom = \"2026-01-01\"\nstanding_per_day = 0.5\n\
    energy = [ { band = \"early\", to = \"09:00\", rate_per_kwh = 0.2 }, { band = \"late\", from = \"09:00\", rate_per_kwh = 0.1 } ]\n\
    demand = { per = \"kW\", rate_per_month = 10 }\n";

fn workshop() -> Workshop {
    Workshop::new().with("site.toml", format!("{}{TARIFF}", crate::program::SITE))
}

/// An invoice of the Monday with these rows, checked.
fn checked(rows: &str) -> Value {
    let rows: Vec<String> = rows
        .lines()
        .map(|row| {
            let (name, rest) = row.split_once(',').expect("a name and figures");
            format!("{name},2026-03-09,2026-03-10,{rest}\n")
        })
        .collect();
    let text = format!("line,from,to,quantity,rate,amount\n{}", rows.concat());
    workshop().with("../invoice.csv", text).json(&[
        "energy",
        "SITE",
        "--invoice",
        "BESIDE/invoice.csv",
        "--format",
        "json",
    ])
}

fn verdicts(check: &Value) -> Vec<(&str, &str)> {
    let lines = check["lines"].as_array().expect("lines").iter();
    lines
        .map(|line| {
            let text = |key: &str| line[key].as_str().expect("a text");
            (text("line"), text("verdict"))
        })
        .collect()
}

fn because(check: &Value, line: usize) -> String {
    let sentences = check["lines"][line]["because"]
        .as_array()
        .expect("sentences");
    let sentences: Vec<&str> = sentences.iter().filter_map(Value::as_str).collect();
    sentences.join("; ")
}

/// What the bill gives is what the invoice check takes.
#[test]
fn the_own_bill_as_an_invoice_agrees() {
    let site = ferry_lane();
    let bill = &sample_run("energy sample-data/ferry-lane --bill --format csv").run;
    let workshop = Workshop::new().with("../invoice.csv", &bill.out);
    let path = workshop.beside("invoice.csv");
    let found = crate::program::run(&[
        "energy",
        &site.to_string_lossy(),
        "--invoice",
        &path.to_string_lossy(),
        "--format",
        "json",
    ]);
    let check: Value = serde_json::from_str(&found.out).expect("JSON");
    assert_eq!(check["difference"], 0.0);
    let verdicts = verdicts(&check);
    assert_eq!(verdicts.len(), 10);
    assert!(
        verdicts.iter().all(|(_, verdict)| *verdict == "agrees"),
        "{verdicts:?}"
    );
}

/// Early and late: 6.3 kWh each, 1.26 and 0.63; 6.3 kW at 10 are 63.00; a day at 0.50. In all 65.39.
#[test]
fn every_verdict() {
    let check = checked(
        "standing,1,0.5,0.50\nenergy early,6.3,0.2,1.27\nenergy late,7.1,0.1,0.71\ndemand,6.3,11,69.30\nservice,1,2,2.00",
    );
    assert_eq!(
        verdicts(&check),
        [
            ("standing", "agrees"),
            ("energy early", "rounding"),
            ("energy late", "quantity"),
            ("demand", "rate"),
            ("service", "not-in-tariff"),
        ]
    );
    assert_eq!(
        (&check["invoiced"], &check["computed"]),
        (&73.78.into(), &65.39.into())
    );
    assert!(
        because(&check, 2).contains("the log has no readings for 91.7 % of the time"),
        "{}",
        because(&check, 2)
    );
    assert!(because(&check, 3).contains("no line of the tariff has this rate"));
    assert!(because(&check, 4).contains("it has: standing, energy early, energy late, demand"));
    let short = checked("energy early,6.3,0.2,1.26\nenergy late,6.3,0.1,0.63\nstanding,1,0.5,0.50");
    assert_eq!(verdicts(&short).last(), Some(&("demand", "not-on-invoice")));
    assert_eq!(short["difference"], -63.0);
}

/// Bands changed about, a rate of another band, an amount that is not quantity × rate.
#[test]
fn differences_are_explained() {
    let check = checked(
        "energy early,5.3,0.2,1.06\nenergy late,7.3,0.2,1.46\ndemand,6.3,10,63.00\nstanding,1,0.5,0.55",
    );
    assert!(because(&check, 0).contains("the total energy of these days agrees"));
    assert!(because(&check, 1).contains("it is the rate of `energy early`"));
    assert!(because(&check, 3).contains("on the invoice, quantity × rate is 0.50, not 0.55"));
    assert_eq!(check["lines"][3]["verdict"], "amount");
}

/// The invoice of the demo: winter time kept after the clocks went forward, a rate that no line has, a line too many.
#[test]
fn the_invoice_of_the_demo() {
    let line = "energy sample-data/ferry-lane --invoice sample-data/ferry-lane-invoice.csv";
    let found = &sample_run(line).run;
    assert_eq!(found.status, 0, "{}", found.err);
    assert!(
        found.out.contains("if bands follow winter time all year"),
        "{}",
        found.out
    );
    same_as_before("invoice_of_the_demo", &found.out);
}

/// Everything that is wrong is told at its cell, and nothing is computed.
#[test]
fn an_invoice_that_cannot_be_read() {
    let text = "line,from,to,quantity,rate,amount\nstanding,9 March,2026-03-10,1,0.5,0.50\ntax,2026-03-09,2026-03-09,1,20,1\n\
                energy early,2026-03-09,2026-03-10,6.3 kWh,0.2,\n";
    let found = workshop().with("../invoice.csv", text).run(&[
        "energy",
        "SITE",
        "--invoice",
        "BESIDE/invoice.csv",
    ]);
    assert_eq!((found.status, found.out.as_str()), (2, ""));
    same_as_before("invoice_that_cannot_be_read", &found.err);
    let wrong = workshop()
        .with("../invoice.csv", "line,from,too,amout\n")
        .run(&["energy", "SITE", "--invoice", "BESIDE/invoice.csv"]);
    assert_eq!(wrong.status, 2);
    same_as_before("invoice_with_wrong_columns", &wrong.err);
}
