//! Readings that were once read wrongly under "no problems found"; the totals are worked out by hand.

use serde_json::Value;

use super::{close, energy, half_hours, import, site, site_of};

const FLAT: &str = "[[tariff]]\nfrom = \"2025-01-01\"\nstanding_per_day = 1.0\n\
                    energy = [{ band = \"all\", otherwise = true, rate_per_kwh = 0.3 }]\n";

fn months(bill: &Value) -> Vec<(String, f64, bool)> {
    let months = bill["months"].as_array().expect("months").iter();
    months
        .map(|month| {
            let kwh = month["lines"][1]["quantity"].as_f64().expect("a quantity");
            (
                month["month"].as_str().expect("a month").to_owned(),
                kwh,
                month["complete"] == true,
            )
        })
        .collect()
}

fn refused(run: &crate::program::Run, name: &str, totals: [&str; 2]) {
    assert_eq!(run.status, 2, "{}", run.out);
    for text in [name, totals[0], totals[1]] {
        assert!(run.err.contains(text), "`{text}` in {}", run.err);
    }
}

/// An interval is as long as the time between its stamps: 31, 28, 31 and 30 days.
#[test]
fn a_register_read_on_the_first_of_each_month() {
    let log = "date,register kWh\n2026-01-01,0\n2026-02-01,3100\n2026-03-01,5900\n2026-04-01,9000\n2026-05-01,12000\n";
    let workshop = site(log, "", FLAT);
    let bill = workshop.json(&["energy", "SITE", "--bill", "--format", "json"]);
    let expected = [
        ("2026-01", 3100.0),
        ("2026-02", 2800.0),
        ("2026-03", 3100.0),
        ("2026-04", 3000.0),
    ];
    let found = months(&bill);
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for ((month, kwh, whole), (name, energy)) in found.iter().zip(expected) {
        assert!(month == name && close(*kwh, energy) && *whole, "{found:?}");
    }
    let result = energy(&workshop);
    assert!(close(import(&result)[0], 12_000.0));
    // Nothing is known of half-hours.
    assert_eq!(result["meters"][0]["max_demand_kw"], Value::Null);
}

/// 31 days of 96 quarter-hours at 1.25 kWh are 3720 kWh; nothing is billed beyond the last reading.
#[test]
fn a_register_log_from_the_first_to_the_first_is_one_month() {
    let first = chrono::NaiveDate::from_ymd_opt(2026, 1, 1)
        .and_then(|day| day.and_hms_opt(0, 0, 0))
        .expect("a date");
    let rows: Vec<String> = (0..=31 * 96)
        .map(|at| {
            let stamp = (first + chrono::Duration::minutes(15 * at)).format("%Y-%m-%d %H:%M");
            format!("{stamp},{:.2}\n", 1.25 * at as f64)
        })
        .collect();
    let rows = rows.concat();
    let workshop = site(&format!("time,register kWh\n{rows}"), "", FLAT);
    let bill = workshop.json(&["energy", "SITE", "--bill", "--format", "json"]);
    assert_eq!(months(&bill), [("2026-01".to_owned(), 3720.0, true)]);
    // 31 × 1.00 + 3720 × 0.30.
    assert_eq!(bill["total"], 1147.0);
}

/// The clocks went forward on 29 March 2026: that day has 23 h and its own energy.
#[test]
fn energy_by_day_across_a_change_of_the_clock() {
    let days = [
        ("2026-03-27", 310.0),
        ("2026-03-28", 311.0),
        ("2026-03-29", 300.33),
        ("2026-03-30", 313.0),
    ];
    let rows: Vec<String> = days
        .iter()
        .map(|(day, kwh)| format!("{day},{kwh}\n"))
        .collect();
    let rows = rows.concat();
    let workshop = site(&format!("date,kWh\n{rows}"), "", "");
    let result = workshop.json(&["energy", "SITE", "--by", "day", "--format", "json"]);
    let parts = result["breakdown"].as_array().expect("days");
    assert_eq!(parts.len(), days.len());
    for (part, (day, kwh)) in parts.iter().zip(days) {
        let found = part["energy_kwh"].as_f64().expect("an energy");
        assert!(
            part["key"] == day && close(found, kwh) && part["complete"] == true,
            "{part}"
        );
    }
}

/// 60 kW is the maximum from 16 March to 1 April; 90 and 80 kW lie outside.
#[test]
fn the_demand_of_an_invoice_is_that_of_its_own_days() {
    let first = chrono::NaiveDate::from_ymd_opt(2026, 3, 1)
        .and_then(|day| day.and_hms_opt(0, 0, 0))
        .expect("a date");
    let rows: Vec<String> = (0..61 * 48)
        .map(|at| {
            let stamp = (first + chrono::Duration::minutes(30 * at))
                .format("%Y-%m-%d %H:%M")
                .to_string();
            let kw = match stamp.as_str() {
                "2026-03-05 10:00" => 90,
                "2026-03-20 10:00" => 60,
                "2026-04-01 10:00" => 50,
                "2026-04-20 10:00" => 80,
                _ => 20,
            };
            format!("{stamp},{kw}\n")
        })
        .collect();
    let rows = rows.concat();
    let tariff = format!("{FLAT}demand = {{ per = \"kW\", rate_per_month = 5.0 }}\n");
    let workshop = site(
        &format!("start,kW\n{rows}"),
        "time = { zone = \"UTC\" }",
        &tariff,
    )
    .with(
        "invoice.csv",
        "line,from,to,quantity,unit,rate,amount\ndemand,2026-03-16,2026-04-02,60,kW,5,300\n",
    );
    let check = workshop.json(&[
        "energy",
        "SITE",
        "--invoice",
        "SITE/invoice.csv",
        "--format",
        "json",
    ]);
    let line = &check["lines"][0];
    assert_eq!(
        (
            &line["computed_quantity"],
            &line["computed"],
            &line["verdict"]
        ),
        (
            &Value::from(60.0),
            &Value::from(300.0),
            &Value::from("agrees")
        )
    );
    let because = line["because"][0].as_str().expect("a reason");
    assert!(because.contains("months of the calendar"), "{because}");
}

/// 84 and 60 kWh: both are billed, and the bill says so. A check meter is not.
#[test]
fn two_meters_of_one_supply_are_billed_together() {
    let a = format!(
        "start,kWh\n{}",
        half_hours(48, |at, n| format!(
            "{at},{}",
            if n % 2 == 1 { 1.0 } else { 2.5 }
        ))
    );
    let b = format!(
        "start,kWh\n{}",
        half_hours(48, |at, n| format!(
            "{at},{}",
            if n % 2 == 1 { 2.0 } else { 0.5 }
        ))
    );
    let second = "[[meter]]\nid = \"b\"\nmeasures = \"supply\"\nfiles = \"meters/b.csv\"\n";
    let keys = "files = \"meters/a.csv\"\n";
    let workshop = site_of(
        &[("a.csv", &a), ("b.csv", &b)],
        keys,
        &format!("{second}{FLAT}"),
    );
    let bill = workshop.json(&["energy", "SITE", "--bill", "--format", "json"]);
    assert_eq!(
        (&bill["meter"], months(&bill)[0].1),
        (&Value::from("main + b"), 144.0)
    );
    assert!(
        bill["notes"][0]
            .as_str()
            .is_some_and(|note| note.contains("adds them up"))
    );
    let same = site_of(
        &[("a.csv", &a), ("b.csv", &a)],
        keys,
        &format!("{second}{FLAT}"),
    );
    let bill = same.json(&["energy", "SITE", "--bill", "--format", "json"]);
    assert_eq!(
        (&bill["meter"], months(&bill)[0].1),
        (&Value::from("main"), 84.0)
    );
}

/// 81 half-hours of 2 kWh and 15 of 0.1 with 3 kWh exported: 163.5 in, 45 out.
#[test]
fn import_and_export_stand_apart() {
    let rows = half_hours(96, |at, n| {
        if (20..35).contains(&n) {
            format!("{at},0.1,3")
        } else {
            format!("{at},2,0")
        }
    });
    let workshop = site(
        &format!("start,Import (kWh),Export (kWh)\n{rows}"),
        "",
        FLAT,
    );
    let result = energy(&workshop);
    let meter = &result["meters"][0];
    let number = |key: &str| meter[key].as_f64().expect("a number");
    assert!(close(number("energy_import_kwh"), 163.5) && close(number("energy_export_kwh"), 45.0));
    assert!(close(number("energy_kwh"), 118.5));
    // 163.5 kWh in 48 h are 3.40625 kW, of 4 kW.
    assert!((number("load_factor") - 3.406_25 / 4.0).abs() < 1e-9);
    assert_eq!(result["cost"]["months"][0]["lines"][1]["quantity"], 163.5);
}

/// 24 × 999 Wh and 24 × 1234 Wh are 53.592 kWh; alone, `123,456` may be either.
#[test]
fn signs_of_thousands_are_known_or_asked_about() {
    let log = |sep: &str, cells: [&str; 2]| {
        format!(
            "start{sep}Wh\n{}",
            half_hours(48, |at, n| format!("{at}{sep}{}", cells[n % 2]))
        )
    };
    let known = site(&log(",", ["\"999\"", "\"1,234\""]), "", "");
    assert!(close(import(&energy(&known))[0], 53.592));
    let unclear = site(&log(",", ["\"123,456\"", "\"234,567\""]), "", "");
    refused(
        &unclear.run(&["energy", "SITE"]),
        "thousands-or-decimals",
        ["8592.552", "8592552"],
    );
    let semicolons = log(";", ["5.250", "7.125"]);
    let unclear = site(&semicolons, "", "");
    refused(
        &unclear.run(&["energy", "SITE"]),
        "thousands-or-decimals",
        ["297", "297000"],
    );
    let declared = site(&semicolons, "thousands = \".\"", "");
    assert!(close(import(&energy(&declared))[0], 297.0));
}

/// A has 48 × 1, 2, 3 kWh in turn, B 2 to 6: 96 and 189 kWh.
#[test]
fn meters_of_one_file_are_told_apart() {
    let rows = half_hours(48, |at, n| {
        format!("A,{at},{}\nB,{at},{}", 1 + n % 3, 2 + n % 5)
    });
    let log = format!("meter,start,kWh\n{rows}");
    let open = site(&log, "", "");
    refused(
        &open.run(&["energy", "SITE"]),
        "several-points",
        ["`A`", "`B`"],
    );
    let second =
        "[[meter]]\nid = \"b\"\nmeasures = \"supply\"\nfiles = \"meters/a.csv\"\npoint = \"B\"\n";
    let named = site(&log, "point = \"A\"", second);
    assert_eq!(import(&energy(&named)), [96.0, 189.0]);
    let columns = "point = \"B\"\n[meter.columns]\nenergy_interval_kwh = \"kWh\"";
    assert_eq!(import(&energy(&site(&log, columns, ""))), [189.0]);
    let unknown = site(&log, "point = \"C\"", "");
    refused(
        &unknown.run(&["energy", "SITE"]),
        "unknown-point",
        ["`A`", "`B`"],
    );
}

#[test]
fn names_of_zones_are_refused_in_a_declared_format() {
    let log = format!(
        "start,kWh\n{}",
        half_hours(4, |at, _| format!("{at} EST,1"))
    );
    let run = site(&log, "time = { format = \"%Y-%m-%d %H:%M %Z\" }", "").run(&["energy", "SITE"]);
    refused(&run, "time-format", ["%Z", "%z"]);
}

#[test]
fn the_name_of_the_time_column_says_which_end_it_is() {
    for (head, start) in [
        ("From,To", true),
        ("Interval start,x", true),
        ("time,x", false),
        ("Interval end,x", false),
    ] {
        let log = format!(
            "{head},kWh\n{}",
            half_hours(48, |at, n| format!("{at},{at},{}", n % 7))
        );
        let workshop = site(&log, "", "");
        let from = energy(&workshop)["meters"][0]["from"]
            .as_str()
            .expect("a time")
            .to_owned();
        assert_eq!(
            from,
            if start {
                "2026-03-09T00:00:00Z"
            } else {
                "2026-03-08T23:30:00Z"
            },
            "{head}"
        );
        let check = workshop.run(&["check", "SITE"]).out;
        let said = if start {
            "a time is the start of the interval"
        } else {
            "a time is the end of the interval"
        };
        assert!(check.contains(said), "{check}");
    }
}

/// The 100 quarter-hours of 25 October 2026, sorted by their labels: 1 to 100 add up to 5050.
#[test]
fn an_autumn_hour_sorted_by_its_labels_keeps_both_passes() {
    let mut rows: Vec<String> = (0..100)
        .map(|at| {
            let minute = 15 * at;
            let label = if minute < 120 { minute } else { minute - 60 };
            format!("2026-10-25 {:02}:{:02},{}", label / 60, label % 60, at + 1)
        })
        .collect();
    rows.sort_by(|a, b| a[..16].cmp(&b[..16]));
    let result = energy(&site(&format!("start,kWh\n{}\n", rows.join("\n")), "", ""));
    assert!(close(import(&result)[0], 5050.0));
    assert_eq!(result["meters"][0]["coverage_pct"], 100.0);
}

/// 48 × 1 kWh, and a later file with 24 × 1.5 kWh: 48 by the first, 60 by the last.
#[test]
fn corrected_values_count_where_that_is_declared() {
    let logs = [
        (
            "a1.csv",
            format!(
                "start,energy_interval_kwh\n{}",
                half_hours(48, |at, _| format!("{at},1"))
            ),
        ),
        (
            "a2.csv",
            format!(
                "start,energy_interval_kwh\n{}",
                half_hours(24, |at, _| format!("{at},1.5"))
            ),
        ),
    ];
    let logs: Vec<(&str, &str)> = logs
        .iter()
        .map(|(name, log)| (*name, log.as_str()))
        .collect();
    for (keys, kwh) in [
        ("", 48.0),
        ("corrections = \"first\"\n", 48.0),
        ("corrections = \"last\"\n", 60.0),
    ] {
        let result = energy(&site_of(
            &logs,
            &format!("files = \"meters/a*.csv\"\n{keys}"),
            "",
        ));
        assert!(close(import(&result)[0], kwh), "{keys}");
        let note = result["meters"][0]["quality"][0]["note"]
            .as_str()
            .expect("a note");
        assert!(
            note.contains("24 kWh by the first, 36 kWh by the last"),
            "{note}"
        );
    }
}

/// The demo's register counted what its gaps hide.
#[test]
fn the_bill_says_what_the_register_counted() {
    let bill = crate::sample::sample_json("energy sample-data/ferry-lane --bill");
    let notes = bill["notes"].to_string();
    assert!(
        notes.contains("the register of meter `main` counted 7\u{202f}293.5"),
        "{notes}"
    );
}

#[test]
fn a_site_without_a_supply_has_energy_and_says_what_else_needs_one() {
    let log = format!(
        "start,energy_interval_kwh\n{}",
        half_hours(48, |at, _| format!("{at},1"))
    );
    let workshop = site(&log, "", "");
    assert_eq!(import(&energy(&workshop)), [48.0]);
    refused(
        &workshop.run(&["balance", "SITE"]),
        "needs-supply",
        ["[supply]", "line_voltage_v"],
    );
}

/// 120 kWh in four weeks and 40 kWh in ten days: read by hand, in a file of their own.
#[test]
fn registers_read_by_hand() {
    let registers = "date,meter,value\n2026-01-05,oven,100\n2026-02-02,oven,220\n2026-02-12,oven,260\n2026-01-05,press,999990\n2026-02-02,press,40\n";
    let meters = "[[meter]]\nid = \"oven\"\nmeasures = \"supply\"\n\n[[meter]]\nid = \"press\"\nmeasures = \"supply\"\nregister_digits = 6\n";
    let workshop = crate::program::Workshop::empty()
        .with(
            "site.toml",
            format!("[site]\nname = \"Hand\"\ntimezone = \"Europe/London\"\n{meters}"),
        )
        .with("registers.csv", registers);
    let result = workshop.json(&["energy", "SITE", "--by", "month", "--format", "json"]);
    // 999 990 to 1 000 000 and on to 40.
    assert_eq!(import(&result), [160.0, 50.0]);
    let first = &result["breakdown"][0];
    // 27 of 28 days up to the end of January.
    let found = first["energy_kwh"].as_f64().expect("an energy");
    assert!(
        first["key"] == "2026-01" && close(found, 120.0 * 27.0 / 28.0),
        "{first}"
    );
}

#[test]
fn a_site_is_made_around_a_log() {
    let rows = half_hours(48, |at, n| {
        format!("A,{at},{}\nB,{at},{}", 1 + n % 3, 2 + n % 5)
    });
    let workshop =
        crate::program::Workshop::empty().with("a.csv", format!("meter,start,kWh\n{rows}"));
    let made = workshop.run(&[
        "new",
        "BESIDE/made",
        "--from",
        "SITE/a.csv",
        "--timezone",
        "Europe/London",
    ]);
    assert_eq!(made.status, 0, "{}", made.err);
    let result = workshop.json(&["energy", "BESIDE/made", "--format", "json"]);
    assert_eq!(import(&result), [96.0, 189.0]);
}

/// The same log, packed with a second one into a zip archive, and as a sheet of a workbook with dates.
#[test]
fn logs_inside_other_files() {
    use std::io::Write as _;
    let log = |kwh: &str| {
        format!(
            "start,kWh\n{}",
            half_hours(48, |at, n| format!(
                "{at},{}",
                if n == 5 { "2" } else { kwh }
            ))
        )
    };
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, kwh) in [("north.csv", "1"), ("south.csv", "3")] {
        zip.start_file(name, zip::write::SimpleFileOptions::default())
            .expect("memory can be written");
        zip.write_all(log(kwh).as_bytes())
            .expect("memory can be written");
    }
    let zip = zip.finish().expect("memory can be written").into_inner();
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    let time = rust_xlsxwriter::Format::new().set_num_format("yyyy-mm-dd hh:mm");
    sheet.write(0, 0, "Half-hourly report").expect("a cell");
    sheet
        .write(2, 0, "Start")
        .and_then(|sheet| sheet.write(2, 1, "kWh"))
        .expect("a header");
    for row in 0..48_u32 {
        let serial = 46_090.0 + f64::from(row) / 48.0;
        sheet
            .write_with_format(3 + row, 0, serial, &time)
            .expect("a date");
        sheet
            .write(3 + row, 1, if row == 5 { 2.0 } else { 1.0 })
            .expect("a number");
    }
    let book = book.save_to_buffer().expect("memory can be written");
    let workshop = crate::program::Workshop::empty()
        .with("logs.zip", zip)
        .with("log.xlsx", book);
    let of = |file: &str| {
        import(&workshop.json(&[
            "energy",
            &format!("SITE/{file}"),
            "--format",
            "json",
            "--timezone",
            "UTC",
        ]))
    };
    assert_eq!(of("logs.zip"), [49.0, 143.0]);
    assert_eq!(of("log.xlsx"), [49.0]);
}
