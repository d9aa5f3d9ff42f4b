//! What is tried costs what it costs when it is tried: the bill of a log that is altered by hand.

use serde_json::Value;

use crate::bill_clauses::{FROM, bill, day, peaks, workshop};

type Day = [(f64, f64); 48];

const BANDS: &str = "energy = [ { band = \"day\", from = \"08:00\", to = \"20:00\", rate_per_kwh = 0.3 }, { band = \"night\", \
                     otherwise = true, rate_per_kwh = 0.1 } ]\n";

fn tried(tariff: &str, days: &[Day], more: &[&str]) -> Value {
    let words = ["energy", "SITE", "--bill", "--what-if", "--format", "json"];
    workshop(tariff, days).json(&[&words[..], more].concat())
}

fn total(tariff: &str, days: &[Day]) -> f64 {
    let found = bill(&workshop(tariff, days));
    found["total"].as_f64().expect("a total")
}

/// Half-hours from one to another changed by so many kW and kvar.
fn changed(days: &[Day], halves: std::ops::Range<usize>, kw: f64, kvar: f64) -> Vec<Day> {
    let mut days = days.to_vec();
    for day in &mut days {
        for load in &mut day[halves.clone()] {
            *load = (load.0 + kw, load.1 + kvar);
        }
    }
    days
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn assert_near(found: &Value, expected: f64) {
    assert!(
        (number(found) - expected).abs() < 1e-9,
        "{found} is not {expected}"
    );
}

/// 4 kW out of twelve hours of each day, 48 kWh, are 4 kW more in the other twelve.
#[test]
fn load_shifted_out_of_a_band() {
    let tariff = format!(
        "{FROM}{BANDS}demand = {{ per = \"kVA\", rate_per_month = 5 }}\nreactive = {{ free_share_of_kwh = 0.5, rate_per_kvarh = 0.1 }}\n\
         tax_pct = 20\n"
    );
    let days = changed(&peaks(), 0..48, 0.0, 6.0);
    let found = tried(&tariff, &days, &["--shift-kw", "4"]);
    let shift = &found["shifts"][0];
    assert_eq!(shift["out_of"], "energy day", "{found:#}");
    assert_eq!(shift["out_of_hours"], "08:00–20:00");
    assert_eq!(shift["into_hours"], "00:00–08:00, 20:00–24:00");
    assert_eq!(found["shifts"].as_array().map(Vec::len), Some(1));
    assert_near(&shift["moved_kwh"], 3.0 * 48.0);
    let altered = changed(&days, 16..40, -4.0, 0.0);
    let altered = changed(&changed(&altered, 0..16, 4.0, 0.0), 40..48, 4.0, 0.0);
    assert_near(&shift["total"], total(&tariff, &altered));
    assert_near(
        &shift["saving"],
        total(&tariff, &days) - total(&tariff, &altered),
    );
    assert!(number(&shift["saving"]) > 0.0);
}

/// Of 2 kW no 4 can go; and what is exported at night is used before more is imported.
#[test]
fn no_more_is_shifted_than_is_imported() {
    let tariff = format!("{FROM}{BANDS}export = {{ blocks = [ {{ rate_per_kwh = 0.05 }} ] }}\n");
    let mut loads = day(2.0, 0.0, &[]);
    loads[..8].fill((-5.0, 0.0));
    let found = tried(&tariff, &[loads], &["--shift-kw", "4"]);
    let altered = changed(&[loads], 16..40, -2.0, 0.0);
    let altered = changed(&changed(&altered, 0..16, 2.0, 0.0), 40..48, 2.0, 0.0);
    assert_near(&found["shifts"][0]["total"], total(&tariff, &altered));
    assert_near(&found["shifts"][0]["moved_kwh"], 24.0);
}

/// Demand is charged from 07:00 to 19:00, energy is not: the other hours take the load. Without `--shift-kw` a tenth of 30 kW.
#[test]
fn load_shifted_out_of_the_hours_of_demand() {
    let tariff = format!(
        "{FROM}demand = {{ charge = \"peak\", per = \"kW\", rate_per_month = 4, from = \"07:00\", to = \"19:00\" }}\n"
    );
    let found = tried(&tariff, &peaks(), &[]);
    let shift = &found["shifts"][0];
    assert_eq!(
        (&shift["out_of"], &shift["kw"]),
        (&"demand peak".into(), &3.0.into())
    );
    // 30 kW at 08:00 are 27.
    assert_near(&shift["total"], 27.0 * 4.0);
    assert_near(&shift["saving"], 12.0);
}

/// A third of the kWh is free: of 10 kW 3.3 kvar, so that 2.7 of 6 have to go, 3 in half steps. What leads stays.
#[test]
fn capacitors_for_the_limit_of_the_contract() {
    let tariff = format!(
        "{FROM}{BANDS}reactive = {{ free_share_of_kwh = 0.33, rate_per_kvarh = 0.1 }}\ndemand = {{ per = \"kVA\", rate_per_month = 5 }}\n"
    );
    let days = [day(10.0, 6.0, &[(16, 30.0)])];
    let found = tried(&tariff, &days, &["--kvar-step", "0.5"]);
    let choice = &found["correction"];
    // 0.33 × (240 + 10) kWh = 82.5 kvarh are free; of 144 a steady bank of 2.5625 kvar takes the others.
    assert_eq!(
        (&choice["kvar"], &choice["kvar_step"]),
        (&3.0.into(), &0.5.into()),
        "{found:#}"
    );
    let with = |kvar: f64| total(&tariff, &changed(&days, 0..48, 0.0, -kvar));
    assert_near(&choice["total"], with(3.0));
    assert_near(&choice["saving"], total(&tariff, &days) - with(3.0));
    let charged = |kvar: f64| {
        let bill = bill(&workshop(&tariff, &changed(&days, 0..48, 0.0, -kvar)));
        let lines = bill["months"][0]["lines"]
            .as_array()
            .expect("lines")
            .clone();
        let reactive = lines.iter().find(|line| line["line"] == "reactive");
        number(&reactive.expect("a line")["amount"]) > 0.0
    };
    assert!(charged(2.5) && !charged(3.0));
    assert!(
        choice["caution"]
            .as_str()
            .is_some_and(|text| text.contains("harmonics"))
    );
}

/// 8 kW and 6 kvar to a power factor of 0.95: 6 − 8·tan(acos 0.95) = 3.37 kvar, 3.5 in half steps.
#[test]
fn capacitors_for_a_price_of_apparent_power() {
    let tariff = format!("{FROM}demand = {{ per = \"kVA\", rate_per_month = 5 }}\n");
    let days = [day(8.0, 6.0, &[])];
    let found = tried(&tariff, &days, &["--kvar-step", "0.5"]);
    assert_eq!(found["correction"]["kvar"], 3.5, "{found:#}");
    assert_near(
        &found["correction"]["total"],
        total(&tariff, &[day(8.0, 2.5, &[])]),
    );
}

/// One sentence for each.
#[test]
fn what_saves_nothing_is_said() {
    let tariff = format!("{FROM}energy = [ {{ band = \"all\", rate_per_kwh = 0.2 }} ]\n");
    let found = tried(&tariff, &peaks(), &[]);
    let notes = found["notes"].as_array().expect("notes");
    let begins = |words: &str| {
        notes
            .iter()
            .filter(|note| note.as_str().is_some_and(|note| note.starts_with(words)))
            .count()
    };
    assert_eq!(
        begins("Moving loads to other phases saves nothing"),
        1,
        "{notes:?}"
    );
    assert_eq!(begins("Shifting load to other hours saves nothing"), 1);
    assert_eq!(begins("Capacitors save nothing on this bill: no price"), 1);
    assert_eq!(
        (
            &found["correction"],
            found["shifts"].as_array().map(Vec::len)
        ),
        (&Value::Null, Some(0))
    );
    // Capacity is agreed for more than is drawn, whatever the power factor.
    let ample = format!(
        "{FROM}{BANDS}capacity = {{ kva = 50, rate_per_kva_day = 0.1, excess_rate_per_kva_day = 0.2 }}\n"
    );
    let found = tried(&ample, &[day(8.0, 6.0, &[])], &[]);
    assert_eq!(found["correction"], Value::Null);
    let said = found["notes"].to_string();
    assert!(said.contains("Capacitors of 5 kvar, which give"), "{said}");
    let good =
        format!("{FROM}power_factor = {{ below = 0.86, surcharge_per_kwh_per_pct = 0.005 }}\n");
    let found = tried(&good, &peaks(), &[]);
    assert!(
        found["notes"][1]
            .as_str()
            .is_some_and(|note| note.contains("already")),
        "{found:#}"
    );
    let run = workshop(&good, &peaks()).run(&[
        "energy",
        "SITE",
        "--bill",
        "--what-if",
        "--shift-kw",
        "0",
    ]);
    assert_eq!(run.status, 2);
    assert!(
        run.err.contains("expected a load from 0.001"),
        "{}",
        run.err
    );
}

/// The cheapest capacity is that of all whole ones, each billed on its own; the cheapest tariff that of two.
#[test]
fn the_cheapest_capacity_and_tariff_are_those_of_trying_all() {
    let tariff = |kva: u32| {
        format!(
            "{FROM}capacity = {{ kva = {kva}, rate_per_kva_day = 0.1, excess_rate_per_kva_day = 0.17, excess_by = \"day\" }}\ntax_pct = 20\n"
        )
    };
    let total = |kva: u32| bill(&workshop(&tariff(kva), &peaks()))["total"].as_f64();
    let all: Vec<f64> = (1..=30).filter_map(total).collect();
    let least = all.iter().copied().fold(f64::INFINITY, f64::min);
    let shop =
        workshop(&tariff(50), &peaks()).with("flat.toml", format!("{FROM}standing_per_day = 1\n"));
    let words = [
        "energy",
        "SITE",
        "--bill",
        "--what-if",
        "--tariff",
        "SITE/flat.toml",
    ];
    let found = shop.json(&[&words[..], &["--format", "json"]].concat());
    let choice = &found["capacity"];
    assert_eq!(choice["least_total"].as_f64(), Some(least), "{all:?}");
    let at = all.iter().position(|total| *total <= least).expect("one");
    assert_eq!(choice["least_kva"], at + 1);
    assert_eq!(choice["total"], 18.0);
    assert_eq!(found["tariffs"][0]["total"], 3.0);
    assert_eq!(found["tariffs"][1]["tariff"], "site.toml");
    let text = shop.run(&words);
    assert!(text.out.contains("would have cost least"), "{}", text.out);
}
