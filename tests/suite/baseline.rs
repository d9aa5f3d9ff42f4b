//! The energy beside what drives it, through the program: a log and a variable made of plain arithmetic.

use std::fmt::Write;

use chrono::{Datelike, Days, NaiveDate};
use serde_json::Value;

use crate::program::{SITE, Workshop};
use crate::sample::sample_json;
use crate::tolerance::close;

/// Monday 1 June 2026.
fn day(number: u64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 6, 1).expect("a date") + Days::new(number)
}

fn pieces(number: u64) -> f64 {
    ((number * number * 3 + number) % 17) as f64
}

/// 48 kWh on working days, 24 less on Saturdays and 36 less on Sundays, 2 for each piece, and from day 28 on
/// 12 more, on L2 from 8 to 12.
fn kwh(number: u64) -> f64 {
    let weekend =
        [0., 0., 0., 0., 0., 24., 36.][day(number).weekday().num_days_from_monday() as usize];
    48.0 - weekend + 2.0 * pieces(number)
}

fn workshop() -> Workshop {
    let mut log = String::from("time,I1,I2,I3,P1,P2,P3\n");
    let mut variables = String::from("date,pieces\n");
    for number in 0..42 {
        let date = day(number);
        writeln!(variables, "{date},{}", pieces(number)).expect("a String takes any text");
        for quarter in 0..96 {
            let kw = kwh(number) / 24.0 / 3.0;
            let more = if number >= 28 && (32..48).contains(&quarter) {
                3.0
            } else {
                0.0
            };
            let end = date.and_hms_opt(0, 0, 0).expect("midnight")
                + chrono::TimeDelta::minutes(15 * (quarter + 1));
            let end = end.format("%Y-%m-%d %H:%M");
            writeln!(log, "{end},5,5,5,{kw},{},{kw}", kw + more).expect("as above");
        }
    }
    Workshop::new()
        .with(
            "site.toml",
            format!(
                "{SITE}\n[[variable]]\nname = \"pieces made\"\nfile = \"variables.csv\"\ncolumn = \"pieces\"\nunit = \"piece\"\n"
            ),
        )
        .with("variables.csv", variables)
        .with("meters/main.csv", log)
}

const FOUR_WEEKS: [&str; 4] = ["energy", "SITE", "--baseline", "2026-06-01..2026-06-29"];

fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    FOUR_WEEKS.iter().chain(more).copied().collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

#[test]
fn a_change_after_the_baseline_is_found_to_the_kilowatt_hour() {
    let result = workshop().json(&with(&["--format", "json"]));
    let baseline = &result["baseline"];
    assert_eq!(
        (&baseline["meter"], &baseline["by"]),
        (&"main".into(), &"day".into())
    );
    assert_eq!(baseline["n"], 28);
    let terms = baseline["terms"].as_array().expect("terms");
    let expected = [
        ("each day", 48.0),
        ("Saturday", -24.0),
        ("Sunday or holiday", -36.0),
        ("pieces made", 2.0),
    ];
    for (term, (name, coefficient)) in terms.iter().zip(expected) {
        assert_eq!(term["term"], name);
        assert!(
            close(number(&term["coefficient"]), coefficient, 1e-9),
            "{term}"
        );
    }
    // Two weeks of 12 kWh a day.
    assert!(close(
        number(&baseline["since"]["difference_kwh"]),
        168.0,
        1e-9
    ));
    let periods = baseline["periods"].as_array().expect("periods");
    assert!(close(number(&periods[41]["cumulative_kwh"]), 168.0, 1e-9));
    assert_eq!(periods[41]["key"], "2026-07-12");
    // All energy over all pieces: of the first 28 days, and of the 14 since with their 168 kWh more.
    let over = |numbers: std::ops::Range<u64>, more: f64| {
        let energy = numbers.clone().map(kwh).sum::<f64>() + more;
        energy / numbers.map(pieces).sum::<f64>()
    };
    let index = &baseline["energy_index"];
    for (name, by_hand) in [
        ("baseline_kwh_per_unit", over(0..28, 0.0)),
        ("since_kwh_per_unit", over(28..42, 168.0)),
    ] {
        assert!(close(number(&index[name]), by_hand, 1e-9), "{name}");
    }
}

/// Six weeks bear one variable with five to spare? Four do not.
#[test]
fn weeks_too_few_are_refused_in_every_form() {
    let workshop = workshop();
    let why = "the baseline has 4 complete weeks with all variables; its 2 coefficients (each day, pieces made) \
               need at least 7; choose a longer baseline or fewer variables";
    let result = workshop.json(&with(&["--baseline-by", "week", "--format", "json"]));
    assert_eq!(result["no_baseline"], why);
    assert!(result.get("baseline").is_none());
    let text = workshop.run(&with(&["--baseline-by", "week"])).out;
    assert!(text.contains(&format!("No baseline: {why}")), "{text}");
}

#[test]
fn tables_workbook_and_page_have_the_baseline() {
    let workshop = workshop();
    let csv = workshop
        .run(&with(&["--table", "cusum", "--format", "csv"]))
        .out;
    let lines: Vec<&str> = csv.lines().collect();
    assert_eq!(lines.len(), 43, "{csv}");
    assert!(
        lines[0].starts_with("site,key,day_type,in_baseline,energy_kwh,expected_kwh,low_95_kwh")
    );
    assert!(
        lines[6].contains(",2026-06-06,Saturday,yes,"),
        "{}",
        lines[6]
    );
    assert!(
        lines[42].contains(",2026-07-12,Sunday or holiday,no,"),
        "{}",
        lines[42]
    );
    let index = workshop
        .run(&with(&["--table", "energy-index", "--format", "csv"]))
        .out;
    assert!(
        index.starts_with("site,variable,unit,baseline_kwh_per_unit,since_kwh_per_unit\n")
            && index.contains(",pieces made,kWh/piece,"),
        "{index}"
    );
    let report = workshop.run(&[
        "report",
        "SITE",
        "-o",
        "BESIDE/report",
        "--baseline",
        "2026-06-01..2026-06-29",
    ]);
    assert_eq!(report.status, 0, "{}", report.err);
    let read = |name: &str| {
        std::fs::read_to_string(workshop.beside("report").join(name)).expect("it is written")
    };
    assert!(read("cusum.svg").contains(">since<"));
    assert!(read("energy-by-variable.svg").contains(">pieces made [piece per day]<"));
    let page = read("index.html");
    assert!(
        page.contains("Since the baseline: +168.0\u{a0}kWh"),
        "no sentence about the change"
    );
    assert!(page.contains("Cumulative difference from the baseline (CUSUM) [kWh]"));
}

/// The Wednesday of the second week takes 30 kWh more on L3 from 18 to 21.
#[test]
fn a_day_that_stands_out_of_what_is_expected_is_told() {
    let mut log = std::fs::read_to_string(workshop().site().join("meters/main.csv")).expect("read");
    for (hour, minute) in (18..21).flat_map(|hour| [15, 30, 45, 60].map(|minute| (hour, minute))) {
        let (hour, minute) = (hour + minute / 60, minute % 60);
        let stamp = format!("2026-06-10 {hour:02}:{minute:02},");
        let at = log.find(&stamp).expect("the row is there");
        let end = at + log[at..].find('\n').expect("it ends");
        let mut cells: Vec<String> = log[at..end].split(',').map(ToOwned::to_owned).collect();
        let kw: f64 = cells[6].parse().expect("a number");
        cells[6] = (kw + 10.0).to_string();
        log.replace_range(at..end, &cells.join(","));
    }
    let result = workshop()
        .with("meters/main.csv", log)
        .json(&with(&["--format", "json"]));
    let found = result["unusual_days"].as_array().expect("days");
    let one = found
        .iter()
        .find(|day| day["date"] == "2026-06-10")
        .unwrap_or_else(|| panic!("{found:#?}"));
    assert_eq!(one["day_type"], "working-day");
    assert_eq!(one["phase"]["name"], "L3");
    let hours = &one["hours"];
    // Of the day's pieces too: what it makes is more than the usual day's all day long, or less.
    assert!(
        number(&hours["from_hour"]) <= 18.0 && number(&hours["to_hour"]) >= 21.0,
        "{hours}"
    );
    assert!(number(&one["score"]) > 3.5);
}

/// The demo declares its baseline: the first two weeks, by the kind of day and degree days.
#[test]
fn the_demo_has_taken_as_much_as_its_weather_explains() {
    let result = sample_json("energy sample-data/ferry-lane");
    let baseline = &result["baseline"];
    assert_eq!(baseline["n"], 14);
    let terms = baseline["terms"].as_array().expect("terms");
    let heating = terms.last().expect("a term");
    assert_eq!(heating["term"], "heating degree days");
    // Colder days take more, whatever chance does.
    assert!(number(&heating["low_95"]) > 0.0, "{heating}");
    // The loads are the same in all four weeks: zero lies in the interval of the change.
    let since = &baseline["since"];
    assert!(
        number(&since["low_95_kwh"]) < 0.0 && number(&since["high_95_kwh"]) > 0.0,
        "{since}"
    );
    // The day with the gap cannot be compared.
    assert_eq!(since["left_out"], 1);
}
