//! Energy by board and machine, what the parts cost, carbon, and two periods side by side.

use serde_json::Value;

use crate::program::{Workshop, ferry_lane, run};
use crate::sample::{sample_json, sample_run};

/// A supply at 10 kW and a board at 6 kW for two hours of a Monday; on the board a saw with a meter (2 kW), a heater
/// (3 kW declared) and, on a board below without a meter, lamps (5 kW × 0.5 declared).
fn workshop() -> Workshop {
    let meter = |id: &str, measures: &str, column: &str| {
        format!(
            "[[meter]]\nid = '{id}'\nmeasures = '{measures}'\nfiles = 'log.csv'\nstamp = 'start'\n\
             [meter.columns]\nactive_power_kw = '{column}'\n"
        )
    };
    let site = format!(
        "[site]\nname = 'parts'\ntimezone = 'UTC'\ncurrency = 'EUR'\n[supply]\nline_voltage_v = 400\n\
         phase_limit_a = 100\n[[board]]\nid = 'A'\nfed_from = 'supply'\n[[board]]\nid = 'B'\nfed_from = 'A'\n\
         {}{}{}[[tariff]]\nfrom = '2026-01-01'\nstanding_per_day = 0.5\nenergy = [\n\
         {{ band = 'early', days = 'daily', from = '00:00', to = '09:00', rate_per_kwh = 0.10 }},\n\
         {{ band = 'late', otherwise = true, rate_per_kwh = 0.25 }} ]\ntax_pct = 10\n",
        meter("main", "supply", "main"),
        meter("a", "A", "a"),
        meter("saw", "Saw", "saw")
    );
    let quarters = (8..10).flat_map(|hour| [0, 15, 30, 45].map(|quarter| (hour, quarter)));
    let rows: Vec<String> = quarters
        .map(|(hour, quarter)| format!("2026-03-09 {hour:02}:{quarter:02},10,6,2\n"))
        .collect();
    let log = format!("time,main,a,saw\n{}", rows.concat());
    Workshop::empty()
        .with("site.toml", site)
        .with(
            "machines.csv",
            "machine,circuit,connection,power_kw,utilisation_factor\nSaw,A,3ph,4,\nHeater,A,L1,3,\nLamps,B,L2,5,0.5\n",
        )
        .with("log.csv", log)
}

fn parts(result: &Value) -> Vec<(&str, f64, &str)> {
    let parts = result["breakdown"].as_array().expect("a breakdown");
    parts
        .iter()
        .map(|part| {
            let kwh = part["energy_kwh"].as_f64().expect("a number");
            let basis = part["basis"].as_str().expect("a basis");
            (part["key"].as_str().expect("a key"), kwh, basis)
        })
        .collect()
}

#[track_caller]
fn are(found: &[(&str, f64, &str)], expected: &[(&str, f64, &str)]) {
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for (found, expected) in found.iter().zip(expected) {
        assert_eq!((found.0, found.2), (expected.0, expected.2));
        assert!((found.1 - expected.1).abs() < 1e-9, "{found:?}");
    }
}

/// The board's meter leaves 4 kW beside the saw, for heater and lamps that would draw 3 + 2.5: each has 4/5.5 of it.
#[test]
fn machines_share_what_their_meter_leaves() {
    let result = workshop().json(&["energy", "SITE", "--by", "machine", "--format", "json"]);
    are(
        &parts(&result),
        &[
            ("Saw", 4.0, "measured"),
            ("Heater", 2.0 * 3.0 * 4.0 / 5.5, "estimated"),
            ("Lamps", 2.0 * 2.5 * 4.0 / 5.5, "estimated"),
            ("unmetered, supply", 8.0, "unmetered"),
        ],
    );
    // Half before nine at 0.10, half after at 0.25; the lines of the bill are 1.00 and 2.50.
    let cost = |at: usize| result["breakdown"][at]["cost"].as_f64().expect("a cost");
    assert!((cost(0) - 0.70).abs() < 1e-9 && (cost(3) - 1.40).abs() < 1e-9);
    let sum: f64 = (0..4).map(cost).sum();
    assert!((sum - 3.50).abs() < 1e-9, "{sum}");
    let costs = &result["breakdown_costs"][0];
    assert_eq!(costs["energy_cost"], 3.5);
    // A day of 0.50 and a tenth of tax on 4.00.
    assert_eq!(costs["other_charges"], 0.9);
    assert_eq!(costs["total"], result["cost"]["total"]);
}

/// Board B has no meter: what its lamps are given is declared, and A without B is a difference with it.
#[test]
fn boards_are_told_without_those_they_feed() {
    let result = workshop().json(&["energy", "SITE", "--by", "board", "--format", "json"]);
    let lamps = 2.0 * 2.5 * 4.0 / 5.5;
    are(
        &parts(&result),
        &[
            ("A", 12.0 - lamps, "part-estimated"),
            ("B", lamps, "estimated"),
            ("unmetered, supply", 8.0, "unmetered"),
        ],
    );
    assert_eq!(result["breakdown"][0]["without"][0], "B");
    let text = workshop().run(&["energy", "SITE", "--by", "board"]);
    let shown: Vec<Vec<&str>> = text
        .out
        .lines()
        .map(|line| line.split_whitespace().collect())
        .collect();
    assert!(
        shown
            .iter()
            .any(|row| row.starts_with(&["Part", "Missing"]))
    );
    assert!(shown.iter().any(|row| row.starts_with(&["A", "B"])));
    assert!(text.out.contains("estimated: the machine's rating"));
}

/// Without its reading in one quarter-hour, what the saw drew then is in the rest of its board, and it is told.
#[test]
fn a_missing_reading_of_a_machine_stays_in_the_rest() {
    let site = workshop();
    let log = std::fs::read_to_string(site.site().join("log.csv")).expect("the log");
    let cut = log.replacen("2026-03-09 08:30,10,6,2", "2026-03-09 08:30,10,6,", 1);
    let site = site.with("log.csv", cut);
    let result = site.json(&["energy", "SITE", "--by", "machine", "--format", "json"]);
    let found = parts(&result);
    assert!((found[0].1 - 3.5).abs() < 1e-9, "{found:?}");
    assert_eq!(result["breakdown"][0]["complete"], false);
    assert_eq!(result["breakdown"][3]["complete"], true);
    let sum: f64 = found.iter().map(|part| part.1).sum();
    assert!((sum - 20.0).abs() < 1e-9);
}

/// Each way of breaking down adds up: energy to the meter's, cost to the energy lines of the bill.
#[test]
fn costs_of_the_demo_add_up_to_its_bill() {
    let ways = [
        "day", "month", "weekday", "hour", "schedule", "board", "machine", "phase",
    ];
    let by = ways.map(|way| format!(" --by {way}")).concat();
    let result = sample_json(&format!("energy sample-data/ferry-lane{by}"));
    let cents = |value: &Value| (value.as_f64().expect("an amount") * 100.0).round() as i64;
    let months = result["cost"]["months"].as_array().expect("months");
    let lines = months
        .iter()
        .flat_map(|month| month["lines"].as_array().expect("lines"));
    let energy: i64 = lines
        .filter(|line| line["unit"] == "kWh")
        .map(|line| cents(&line["amount"]))
        .sum();
    let all = result["meters"][0]["energy_kwh"].as_f64().expect("energy");
    for way in ways {
        let own = |part: &&Value| part["by"] == way && part["meter"] == "main";
        let parts = || {
            result["breakdown"]
                .as_array()
                .expect("parts")
                .iter()
                .filter(own)
        };
        let cost: i64 = parts().map(|part| cents(&part["cost"])).sum();
        assert_eq!(cost, energy, "{way}");
        let kwh: f64 = parts()
            .map(|part| part["energy_kwh"].as_f64().expect("energy"))
            .sum();
        let slack = if way == "phase" { 1e-3 } else { 1e-9 };
        assert!((kwh - all).abs() <= slack * all, "{way}: {kwh}");
    }
    // 150 g/kWh in its site.toml, told as the user's.
    let carbon = &result["carbon"];
    assert_eq!(carbon["source"], "factor of 150 g/kWh in `site.toml`");
    let kg = carbon["meters"][0]["carbon_kg"].as_f64().expect("carbon");
    assert!((kg - 0.15 * all).abs() < 1e-9 * all);
    for costs in result["breakdown_costs"].as_array().expect("costs") {
        assert_eq!(cents(&costs["energy_cost"]), energy);
        assert_eq!(costs["total"], result["cost"]["total"]);
    }
}

/// 10 kW from 8 to 10 o'clock; factors of 100, 200, 400 g/kWh for three half-hours, none for the last.
#[test]
fn carbon_goes_by_the_users_half_hours() {
    let factors =
        "time,g_per_kwh\n2026-03-09T08:00Z,100\n2026-03-09T08:30Z,200\n2026-03-09T09:00Z,400\n";
    let site = workshop()
        .replace(
            "site.toml",
            "[supply]",
            "[carbon]\nfile = 'carbon.csv'\n[supply]",
        )
        .with("carbon.csv", factors);
    let result = site.json(&["energy", "SITE", "--by", "hour", "--format", "json"]);
    let carbon = &result["carbon"];
    assert_eq!(
        carbon["source"],
        "factors of `carbon.csv`, column `g_per_kwh`"
    );
    let main = &carbon["meters"][0];
    // 5 kWh × (0.1 + 0.2 + 0.4)
    assert!((main["carbon_kg"].as_f64().expect("carbon") - 3.5).abs() < 1e-9);
    assert!((main["without_factor_kwh"].as_f64().expect("energy") - 5.0).abs() < 1e-9);
    assert!((main["mean_g_per_kwh"].as_f64().expect("a factor") - 700.0 / 3.0).abs() < 1e-9);
    let hours = result["breakdown"].as_array().expect("hours");
    assert!((hours[0]["carbon_kg"].as_f64().expect("carbon") - 1.5).abs() < 1e-9);
    assert!(hours[1]["carbon_kg"].is_null(), "half of it has no factor");
    let text = site.run(&["energy", "SITE"]).out;
    assert!(text.contains("by factors of `carbon.csv`"));
}

#[test]
fn carbon_files_are_read_to_the_cell() {
    let site = |toml: &str, csv: &str| {
        workshop()
            .replace("site.toml", "[supply]", &format!("{toml}\n[supply]"))
            .with("carbon.csv", csv)
            .run(&["energy", "SITE"])
    };
    let file = "[carbon]\nfile = 'carbon.csv'";
    let found = site(
        file,
        "time,g_per_kwh\n2026-03-09T08:00Z,many\n2026-03-09T08:30Z,1\n",
    );
    assert_eq!(found.status, 2);
    assert!(found.err.contains("(carbon-factor)"), "{}", found.err);
    assert!(
        found.err.contains("carbon.csv, row 2, column B"),
        "{}",
        found.err
    );
    let found = site(file, "time,grams\n2026-03-09T08:00Z,1\n");
    assert!(
        found.err.contains("`carbon.csv` has no column `g_per_kwh`"),
        "{}",
        found.err
    );
    let found = site(
        file,
        "time,g_per_kwh\n2026-03-09T08:00Z,1\n2026-03-09T08:01Z,1\n",
    );
    assert!(found.err.contains("(carbon-step)"), "{}", found.err);
    let found = site("[carbon]\nfile = '../carbon.csv'", "");
    assert!(
        found.err.contains("outside the site folder"),
        "{}",
        found.err
    );
    let both = workshop()
        .replace(
            "site.toml",
            "currency = 'EUR'",
            "currency = 'EUR'\ncarbon_g_per_kwh = 150",
        )
        .replace(
            "site.toml",
            "[supply]",
            "[carbon]\nfile = 'carbon.csv'\n[supply]",
        )
        .run(&["energy", "SITE"]);
    assert!(both.err.contains("(two-carbon-factors)"), "{}", both.err);
}

fn demo(more: &str) -> Value {
    sample_json(&format!("energy sample-data/ferry-lane {more}"))
}

fn energies(result: &Value, meter: &str) -> Vec<f64> {
    let parts = result["breakdown"].as_array().expect("parts").iter();
    let own = parts.filter(|part| part["meter"] == meter);
    own.map(|part| part["energy_kwh"].as_f64().expect("energy"))
        .collect()
}

/// Two whole weeks of the demo, each also asked for by itself.
#[test]
fn a_week_beside_the_week_before() {
    let week = "--from 2026-03-16 --to 2026-03-23 --by day";
    let before = demo("--from 2026-03-09 --to 2026-03-16 --by day");
    let own = demo(week);
    let both = demo(&format!("{week} --compare week"));
    assert_eq!(energies(&both, "main"), energies(&own, "main"));
    let parts = both["breakdown"].as_array().expect("parts");
    let main: Vec<&Value> = parts
        .iter()
        .filter(|part| part["meter"] == "main")
        .collect();
    assert_eq!(main.len(), 7);
    let pairs = energies(&own, "main")
        .into_iter()
        .zip(energies(&before, "main"));
    for (part, (now, then)) in main.iter().zip(pairs) {
        let other = &part["compared"];
        let number = |key: &str| other[key].as_f64().expect("a number");
        assert!((number("energy_kwh") - then).abs() < 1e-9);
        assert!((number("difference_kwh") - (now - then)).abs() < 1e-9);
        assert!((number("difference_pct") - 100.0 * (now / then - 1.0)).abs() < 1e-9);
    }
    assert_eq!(main[0]["compared"]["key"], "2026-03-09");
    assert_eq!(both["comparison"]["other_to"], "2026-03-16");
    let dates = demo(&format!("{week} --compare 2026-03-09..2026-03-16"));
    assert_eq!(dates["breakdown"], both["breakdown"]);
}

/// The last whole week of the demo is that before Easter Monday; the week before lost three hours of its Wednesday.
#[test]
fn only_whole_parts_are_compared() {
    let result = demo("--by weekday --compare week");
    assert_eq!(result["comparison"]["from"], "2026-03-30");
    let parts = result["breakdown"].as_array().expect("parts");
    let of = |meter: &str| -> Vec<bool> {
        let own = parts.iter().filter(|part| part["meter"] == meter);
        own.map(|part| part["compared"]["difference_kwh"].is_null())
            .collect()
    };
    let not_compared = of("main").into_iter().filter(|alone| *alone).count();
    assert_eq!(not_compared, 1);
    assert!(of("saw").into_iter().all(|alone| !alone));
    let text = &sample_run("energy sample-data/ferry-lane --by weekday --compare week")
        .run
        .out;
    assert!(text.starts_with(
        "Mon 30 Mar 2026 to Sun 5 Apr 2026 compared with Mon 23 Mar 2026 to Sun 29 Mar 2026
"
    ));
    assert_eq!(
        text.matches("not compared: readings missing").count(),
        1,
        "{text}"
    );
    let easter = "holidays in the selected period: Fri 3 Apr 2026; in the other: none";
    assert!(text.contains(easter), "{text}");
    // As a whole the main meter's week before is not whole, that of the boat shed is.
    let result = demo("--compare week");
    let parts = result["breakdown"].as_array().expect("parts");
    let compared = |meter: &str| {
        let part = parts.iter().find(|part| part["meter"] == meter);
        part.expect("the meter")["compared"]["difference_kwh"].is_number()
    };
    assert!(!compared("main") && compared("boat shed"));
}

#[test]
fn periods_that_cannot_be_compared_are_refused() {
    let site = ferry_lane();
    let site = site.to_str().expect("a path");
    let refused = |more: &[&str]| {
        let found = run(&[&["energy", site], more].concat());
        assert_eq!(found.status, 2, "{}", found.out);
        found.err
    };
    let month = [
        "--from",
        "2026-03-09",
        "--to",
        "2026-03-30",
        "--compare",
        "week",
    ];
    assert!(refused(&month).contains("the two periods overlap"));
    assert!(
        refused(&["--compare", "2025-03-01..2025-03-08"])
            .contains("has no reading in the selected period")
    );
    assert!(refused(&["--compare", "fortnight"]).contains("expected day, week, month, year"));
}
