//! What a change of the input must do to the result, whatever the figures are: phases renamed, currents doubled,
//! a log cut in two, its rows turned round, resampled, told by another clock.

use std::fmt::Write;

use serde_json::Value;

use crate::program::Workshop;

/// Two weeks of five-minute means, made of plain arithmetic; the stamps close the intervals.
fn rows() -> Vec<(i64, [f64; 6])> {
    let first = 1_772_409_600; // 2026-03-02T00:00:00Z, a Monday
    (1..=14 * 288)
        .map(|step: i64| {
            let value = |a: i64, b: i64| ((step * a + step * step * b) % 97) as f64 / 4.0;
            let amps = [value(7, 1) + 2.0, value(13, 3) + 1.0, value(29, 5) + 4.0];
            let [p1, p2, p3] = amps.map(|amps| amps * 0.2);
            (first + 300 * step, [amps[0], amps[1], amps[2], p1, p2, p3])
        })
        .collect()
}

fn text(rows: &[(i64, [f64; 6])], columns: [usize; 6]) -> String {
    let mut text = String::from("time,I1,I2,I3,P1,P2,P3\n");
    for (at, values) in rows {
        let at = chrono::DateTime::from_timestamp(*at, 0).expect("a time");
        write!(text, "{}", at.format("%Y-%m-%d %H:%M")).expect("a String takes any text");
        for column in columns {
            write!(text, ",{}", values[column]).expect("as above");
        }
        text.push('\n');
    }
    text
}

const AS_THEY_ARE: [usize; 6] = [0, 1, 2, 3, 4, 5];

fn workshop(log: &str) -> Workshop {
    Workshop::new()
        .replace(
            "site.toml",
            "format = \"%Y-%m-%d %H:%M\" }",
            "format = \"%Y-%m-%d %H:%M\", zone = \"UTC\" }",
        )
        .with("meters/main.csv", log)
}

fn original() -> Workshop {
    workshop(&text(&rows(), AS_THEY_ARE))
}

fn meter(workshop: &Workshop) -> Value {
    workshop.json(&["energy", "SITE", "--format", "json"])["meters"][0].clone()
}

fn number(value: &Value, key: &str) -> f64 {
    value[key]
        .as_f64()
        .unwrap_or_else(|| panic!("no {key} in {value}"))
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

/// Figures that no phase's name enters.
const OF_ALL_PHASES: [&str; 9] = [
    "energy_kwh",
    "max_demand_kw",
    "load_factor",
    "neutral_rms_a",
    "neutral_max_a",
    "current_unbalance_mean_pct",
    "current_unbalance_p95_pct",
    "coverage_pct",
    "interval_s",
];

#[test]
fn renaming_the_phases_renames_the_figures_of_phases_and_no_others() {
    let plain = meter(&original());
    let turned = meter(&workshop(&text(&rows(), [2, 0, 1, 5, 3, 4])));
    for key in OF_ALL_PHASES {
        let (a, b) = (number(&turned, key), number(&plain, key));
        assert!(near(a, b), "{key}: {a} is not {b}");
    }
    for key in ["energy_kwh_by_phase", "phase_rms_a", "phase_max_a"] {
        for phase in 0..3 {
            let (a, b) = (&turned[key][(phase + 1) % 3], &plain[key][phase]);
            assert!(
                near(a.as_f64().expect(key), b.as_f64().expect(key)),
                "{key}"
            );
        }
    }
}

#[test]
fn doubled_readings_double_currents_and_energy_and_leave_ratios() {
    let plain = meter(&original());
    let doubled = meter(&original().replace(
        "site.toml",
        "files = \"meters/main.csv\"",
        "files = \"meters/main.csv\"\nratio = 2.0",
    ));
    for key in [
        "energy_kwh",
        "max_demand_kw",
        "neutral_rms_a",
        "neutral_max_a",
    ] {
        assert!(
            near(number(&doubled, key), 2.0 * number(&plain, key)),
            "{key}"
        );
    }
    assert!(near(
        number(&doubled, "load_factor"),
        number(&plain, "load_factor")
    ));
    // The mean unbalance leaves out intervals near idle, of which twice the current has fewer.
    assert_eq!(doubled["max_demand_at"], plain["max_demand_at"]);
}

/// What the bill comes to and what a baseline expects double with the readings; standing charges, shares and scores do
/// not know by what they were multiplied.
#[test]
fn doubled_readings_double_costs_and_what_is_expected_and_leave_the_scores() {
    let priced = || {
        original().append(
            "site.toml",
            "[[tariff]]\nfrom = \"2026-01-01\"\nstanding_per_day = 0.5\n\
             energy = [ { band = \"all\", rate_per_kwh = 0.25 } ]\ndemand = { per = \"kW\", rate_per_month = 2 }\n\
             [baseline]\nfrom = \"2026-03-02\"\nto = \"2026-03-13\"\nby = \"day\"\n",
        )
    };
    let energy = |workshop: &Workshop| workshop.json(&["energy", "SITE", "--format", "json"]);
    let plain = energy(&priced());
    let doubled = energy(&priced().replace(
        "site.toml",
        "files = \"meters/main.csv\"",
        "files = \"meters/main.csv\"\nratio = 2.0",
    ));
    let days = |result: &Value| result["cost_by_day"].as_array().expect("days").clone();
    let pairs: Vec<(Value, Value)> = days(&plain).into_iter().zip(days(&doubled)).collect();
    assert!(pairs.len() >= 14);
    for (one, two) in &pairs {
        for key in ["energy", "demand"] {
            // Half a hundredth of each amount, and half a thousandth of each quantity at 2 a unit.
            let apart = number(two, key) - 2.0 * number(one, key);
            assert!(apart.abs() <= 0.015 + 0.003 + 1e-9, "{key}: {one} {two}");
        }
        assert_eq!(one["standing"], two["standing"]);
    }
    let (one, two) = (&plain["baseline"], &doubled["baseline"]);
    let residuals = [one, two].map(|baseline| number(baseline, "residual_kwh"));
    assert!(near(residuals[1], 2.0 * residuals[0]));
    for key in ["r_squared", "cv_rmse_pct", "autocorrelation"] {
        assert!(near(number(two, key), number(one, key)), "{key}");
    }
    let terms = |baseline: &Value| baseline["terms"].as_array().expect("terms").clone();
    for (one, two) in terms(one).iter().zip(terms(two)) {
        for key in ["coefficient", "standard_error", "low_95", "high_95"] {
            assert!(near(number(&two, key), 2.0 * number(one, key)), "{key}");
        }
    }
    for key in ["difference_kwh", "low_95_kwh", "high_95_kwh"] {
        assert!(
            near(number(&two["since"], key), 2.0 * number(&one["since"], key)),
            "{key}"
        );
    }
}

#[test]
fn a_log_in_two_files_is_the_log() {
    let plain = meter(&original());
    let all = rows();
    for cut in [1, 777, 2016, all.len() - 1] {
        let (early, late) = all.split_at(cut);
        // Named so that the later part is found first.
        let parted = original()
            .replace("site.toml", "meters/main.csv", "meters/part-*.csv")
            .with("meters/part-a.csv", text(late, AS_THEY_ARE))
            .with("meters/part-b.csv", text(early, AS_THEY_ARE));
        assert_eq!(meter(&parted), plain, "cut at {cut}");
    }
}

#[test]
fn rows_from_late_to_early_are_the_log() {
    let plain = meter(&original());
    let mut turned = rows();
    turned.reverse();
    let turned = meter(&workshop(&text(&turned, AS_THEY_ARE)));
    for key in OF_ALL_PHASES {
        let (a, b) = (number(&turned, key), number(&plain, key));
        assert!(near(a, b), "{key}: {a} is not {b}");
    }
}

/// Means of whole demand blocks have the energy and the demand of the readings they are made of.
#[test]
fn a_log_of_means_over_a_demand_block_has_the_same_energy_and_demand() {
    let plain = meter(&original());
    let all = rows();
    let means: Vec<(i64, [f64; 6])> = all
        .chunks(6)
        .map(|six| {
            let mean =
                |column: usize| six.iter().map(|(_, values)| values[column]).sum::<f64>() / 6.0;
            (six[5].0, [0, 1, 2, 3, 4, 5].map(mean))
        })
        .collect();
    let coarse = meter(&workshop(&text(&means, AS_THEY_ARE)));
    assert_eq!(coarse["interval_s"], 1800);
    for key in ["energy_kwh", "max_demand_kw", "load_factor", "coverage_pct"] {
        let (a, b) = (number(&coarse, key), number(&plain, key));
        assert!(near(a, b), "{key}: {a} is not {b}");
    }
    assert_eq!(coarse["max_demand_at"], plain["max_demand_at"]);
    // A mean of currents is never above the largest of them, nor its mean square above theirs.
    assert!(number(&coarse, "neutral_rms_a") < number(&plain, "neutral_rms_a"));
}

/// Lagos is an hour ahead of UTC all the year, Honolulu ten behind: blocks of half an hour stay what they are.
#[test]
fn another_clock_tells_other_times_and_the_same_figures() {
    let plain = meter(&original());
    for (zone, offset) in [("Africa/Lagos", "+01:00"), ("Pacific/Honolulu", "-10:00")] {
        let moved = original().replace("site.toml", "Europe/London", zone);
        let moved = meter(&moved);
        for key in OF_ALL_PHASES {
            assert!(
                near(number(&moved, key), number(&plain, key)),
                "{key} in {zone}"
            );
        }
        assert_eq!(
            (&moved["from"], &moved["to"]),
            (&plain["from"], &plain["to"])
        );
        let at = moved["max_demand_at"].as_str().expect("a time");
        assert!(at.ends_with(offset), "{at}");
        let instant = |text: &str| chrono::DateTime::parse_from_rfc3339(text).expect("a time");
        let there = plain["max_demand_at"].as_str().expect("a time");
        assert_eq!(instant(at), instant(there));
    }
}

/// All stamps a week later, in a zone without clock changes: only the times move.
#[test]
fn a_week_later_the_same_figures() {
    let utc = |workshop: Workshop| workshop.replace("site.toml", "Europe/London", "UTC");
    let plain = meter(&utc(original()));
    let later: Vec<(i64, [f64; 6])> = rows()
        .into_iter()
        .map(|(at, values)| (at + 7 * 86_400, values))
        .collect();
    let later = meter(&utc(workshop(&text(&later, AS_THEY_ARE))));
    for key in OF_ALL_PHASES {
        assert!(near(number(&later, key), number(&plain, key)), "{key}");
    }
    let instant = |value: &Value| {
        chrono::DateTime::parse_from_rfc3339(value.as_str().expect("a time")).expect("a time")
    };
    assert_eq!(
        (instant(&later["max_demand_at"]) - instant(&plain["max_demand_at"])).num_days(),
        7
    );
}

/// The plan is another name for the same plan: its neutral and its number of moves stay.
#[test]
fn renaming_the_phases_of_log_and_list_leaves_the_plan_as_good() {
    let plain = original().json(&["balance", "SITE", "--format", "json"]);
    let machines = crate::program::MACHINES
        .replace(",L2,", ",Lx,")
        .replace(",L1,", ",L2,")
        .replace(",Lx,", ",L3,");
    let turned = workshop(&text(&rows(), [2, 0, 1, 5, 3, 4]))
        .with("machines.csv", machines)
        .replace("site.toml", "phases = \"L1\"", "phases = \"L2\"")
        .json(&["balance", "SITE", "--format", "json"]);
    for side in ["before", "after"] {
        for key in [
            "neutral_rms_a",
            "neutral_p95_a",
            "neutral_max_a",
            "current_unbalance_pct",
        ] {
            let (a, b) = (number(&turned[side], key), number(&plain[side], key));
            assert!(near(a, b), "{side} {key}: {a} is not {b}");
        }
    }
    let count = |plan: &Value| plan["moves"].as_array().expect("a list").len();
    assert_eq!(count(&turned), count(&plain));
}
