//! What must hold of energy and bill whatever the log says: parts make the whole, a coarser log costs the same, and a
//! week later the figures are the same.

use std::fmt::Write;

use chrono::{Days, NaiveDate, NaiveDateTime, TimeDelta};
use proptest::prelude::{ProptestConfig, Strategy, any, prop};
use proptest::{prop_assert, prop_assert_eq, proptest};
use serde_json::Value;

use crate::program::{SITE, Workshop};

/// Five minutes: three powers, or no row at all.
type Rows = Vec<Option<[f64; 3]>>;

fn start() -> NaiveDateTime {
    let day = NaiveDate::from_ymd_opt(2026, 6, 1).expect("a date");
    day.and_hms_opt(0, 0, 0).expect("midnight")
}

fn log(rows: &[Option<[f64; 3]>], from: NaiveDateTime, minutes: i64) -> String {
    let mut text = String::from("time,I1,I2,I3,P1,P2,P3\n");
    for (step, row) in (1..).zip(rows) {
        let Some([p1, p2, p3]) = row else { continue };
        let end = from + TimeDelta::minutes(minutes * step);
        let [i1, i2, i3] = [p1, p2, p3].map(|kw| 4.0 * kw);
        let end = end.format("%Y-%m-%d %H:%M");
        writeln!(text, "{end},{i1},{i2},{i3},{p1},{p2},{p3}").expect("a String takes any text");
    }
    text
}

fn workshop(log: &str, more: &str) -> Workshop {
    Workshop::new()
        .with("site.toml", SITE.replace("Europe/London", "UTC") + more)
        .with("meters/main.csv", log)
}

/// Nine days, now and then a gap.
fn nine_days() -> impl Strategy<Value = Rows> {
    (any::<u64>(), prop::collection::vec(0_usize..9 * 288, 0..6)).prop_map(|(seed, gaps)| {
        let mut state = seed | 1;
        let mut next = || {
            // A linear congruence (D. E. Knuth, MMIX): its upper bits are mixed well enough for a load.
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            // Steps of 12 W are whole watt-hours in five minutes, so that no sum lies on the edge of rounding.
            f64::from((state >> 48) as u16 % 600) * 0.012
        };
        let mut rows: Rows = (0..9 * 288)
            .map(|_| Some([next(), next(), next()]))
            .collect();
        for gap in gaps {
            let end = (gap + 40).min(rows.len() - 1);
            for row in &mut rows[gap.max(1)..end] {
                *row = None;
            }
        }
        rows
    })
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1.0)
}

fn whole(result: &Value) -> f64 {
    result["meters"][0]["energy_kwh"]
        .as_f64()
        .unwrap_or(f64::NAN)
}

const TARIFF: &str = "
[[tariff]]
from = \"2026-01-01\"
standing_per_day = 0.85
energy = [
  { band = \"day\", days = \"Mon-Fri\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.26 },
  { band = \"other\", otherwise = true, rate_per_kwh = 0.17 },
]
demand = { per = \"kW\", rate_per_month = 6.5 }
tax_pct = 20
";

/// The same log as means over half an hour, the demand block; powers in hundredths of kW make them exact enough.
fn half_hours(rows: &[Option<[f64; 3]>]) -> Rows {
    rows.chunks(6)
        .map(|six| {
            let mut sum = [0.0; 3];
            for row in six {
                for (sum, kw) in sum.iter_mut().zip((*row)?) {
                    *sum += kw / 6.0;
                }
            }
            Some(sum)
        })
        .collect()
}

/// Moves every date in the keys and times of a result by so many days.
fn shifted(value: &Value, days: u64) -> Value {
    match value {
        Value::String(text) => {
            let date = text
                .get(..10)
                .and_then(|date| date.parse::<NaiveDate>().ok());
            match date {
                Some(date) => Value::from(format!("{}{}", date + Days::new(days), &text[10..])),
                None => value.clone(),
            }
        }
        Value::Array(all) => all.iter().map(|one| shifted(one, days)).collect(),
        Value::Object(all) => all
            .iter()
            .map(|(key, one)| (key.clone(), shifted(one, days)))
            .collect(),
        _ => value.clone(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn parts_make_the_whole_however_it_is_split(rows in nine_days(), cut in 1_u64..9) {
        let workshop = workshop(&log(&rows, start(), 5), "");
        let all = whole(&workshop.json(&["energy", "SITE", "--format", "json"]));
        for by in ["day", "week", "month", "weekday", "hour", "schedule", "meter", "phase"] {
            let result = workshop.json(&["energy", "SITE", "--by", by, "--format", "json"]);
            let parts = result["breakdown"].as_array().expect("parts");
            let sum: f64 = parts.iter().filter_map(|part| part["energy_kwh"].as_f64()).sum();
            prop_assert!(near(sum, all), "by {by}: {sum} is not {all}");
        }
        let at = (start().date() + Days::new(cut)).to_string();
        let before = workshop.json(&["energy", "SITE", "--to", &at, "--format", "json"]);
        let after = workshop.json(&["energy", "SITE", "--from", &at, "--format", "json"]);
        let sum = whole(&before) + whole(&after);
        prop_assert!(near(sum, all), "cut at {at}: {sum} is not {all}");
    }

    #[test]
    fn a_log_of_demand_blocks_costs_what_its_readings_cost(rows in nine_days().prop_map(|rows| {
        // Without gaps: a block with one has no mean of its own.
        let full = |row: &Option<[f64; 3]>| row.or(Some([1.0, 2.0, 3.0]));
        rows.iter().map(full).collect::<Rows>()
    })) {
        let fine = workshop(&log(&rows, start(), 5), TARIFF);
        let coarse = workshop(&log(&half_hours(&rows), start(), 30), TARIFF);
        let bill = |workshop: &Workshop| workshop.json(&["energy", "SITE", "--bill", "--format", "json"]);
        let (fine, coarse) = (bill(&fine), bill(&coarse));
        prop_assert!(fine["total"].as_f64().is_some_and(|total| total > 0.0), "{fine}");
        prop_assert_eq!(fine, coarse);
    }

    #[test]
    fn a_week_later_the_figures_are_the_same(rows in nine_days(), weeks in 1_u64..30) {
        let days = 7 * weeks;
        let then = workshop(&log(&rows, start(), 5), "");
        let later = workshop(&log(&rows, start() + Days::new(days), 5), "");
        let result = |workshop: &Workshop| workshop.json(&["energy", "SITE", "--by", "day", "--format", "json"]);
        prop_assert_eq!(shifted(&result(&then), days), result(&later));
    }
}
