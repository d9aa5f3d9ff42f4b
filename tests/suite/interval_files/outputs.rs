//! What is said of estimated values, days of registers read by hand, and tables as Parquet.

use std::fs::File;

use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;

use super::{close, energy, half_hours, site};
use crate::program::Workshop;

/// 12 of 48 half-hours of 1 and 2 kWh are estimated: 18 of 72 kWh.
#[test]
fn the_bill_says_how_much_of_it_is_estimated() {
    let rows = half_hours(48, |at, n| {
        let quality = if n < 12 { "E" } else { "A" };
        format!("{at},{},{quality}", 1 + n % 2)
    });
    let tariff = "[[tariff]]\nfrom = \"2025-01-01\"\n\
                  energy = [{ band = \"all\", otherwise = true, rate_per_kwh = 0.3 }]\n";
    let supply = "[supply]\nline_voltage_v = 400\nphase_limit_a = 100\n";
    let log = format!("start,kWh,quality\n{rows}");
    let workshop = site(&log, "", &format!("{supply}{tariff}"));
    let workshop = workshop.with("machines.csv", "machine,circuit,connection,power_kw\n");
    let result = energy(&workshop);
    let share = result["meters"][0]["estimated_pct"].as_f64();
    assert!(close(share.expect("a share"), 25.0));
    let said = "marks 25.0\u{a0}% of its energy as estimated";
    for arguments in [
        &["energy", "SITE", "--bill"][..],
        &["energy", "SITE", "--bill", "--format", "json"],
    ] {
        let bill = workshop.run(arguments);
        assert!(bill.out.contains(said), "{}", bill.out);
    }
    let folder = tempfile::tempdir().expect("a folder");
    let report = folder.path().join("report");
    let run = workshop.run(&["report", "SITE", "-o", &report.to_string_lossy()]);
    assert_eq!(run.status, 0, "{}", run.err);
    let page = std::fs::read_to_string(report.join("index.html")).expect("a page");
    assert!(page.contains(said) && page.contains("Estimated ["));
}

/// 28 kWh from 5 January to 2 February and 10 kWh in ten days: 1 kWh on each day.
#[test]
fn days_of_registers_read_by_hand() {
    let workshop = Workshop::empty()
        .with(
            "site.toml",
            "[site]\nname = \"Hand\"\ntimezone = \"Europe/London\"\n[[meter]]\nid = \"oven\"\nmeasures = \"supply\"\n",
        )
        .with(
            "registers.csv",
            "date,meter,value\n2026-01-05,oven,100\n2026-02-02,oven,128\n2026-02-12,oven,138\n",
        );
    let run = workshop.run(&["energy", "SITE", "--table", "days", "--format", "csv"]);
    assert_eq!(run.status, 0, "{}", run.err);
    let mut reader = csv::Reader::from_reader(run.out.as_bytes());
    let header: Vec<String> = reader
        .headers()
        .expect("a head")
        .iter()
        .map(str::to_owned)
        .collect();
    assert_eq!(header, ["site", "meter", "date", "energy_kwh", "complete"]);
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    assert_eq!(
        (rows.len(), &rows[0][2], &rows[37][2]),
        (38, "2026-01-05", "2026-02-11")
    );
    for row in &rows {
        assert!(close(row[3].parse().expect("a number"), 1.0), "{row:?}");
        assert_eq!((&row[0], &row[1], &row[4]), ("Hand", "oven", "yes"));
    }
}

/// What a general-purpose reader finds in the Parquet file is what the CSV has, with types.
#[test]
fn a_table_as_parquet() {
    let rows = half_hours(96, |at, n| format!("{at},{}", 1 + n % 3));
    let workshop = site(&format!("start,kWh\n{rows}"), "", "");
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("days.parquet");
    let file = path.to_string_lossy().into_owned();
    let run = workshop.run(&[
        "energy", "SITE", "--table", "days", "--format", "parquet", "-o", &file,
    ]);
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    let reader = SerializedFileReader::new(File::open(&path).expect("a file")).expect("Parquet");
    let rows: Vec<Vec<(String, Field)>> = reader
        .get_row_iter(None)
        .expect("rows")
        .map(|row| row.expect("a row").into_columns())
        .collect();
    let day = |date: i32| {
        [
            ("site", Field::Str("Hand".to_owned())),
            ("meter", Field::Str("main".to_owned())),
            ("date", Field::Date(date)),
            ("energy_kwh", Field::Double(96.0)),
            ("complete", Field::Bool(true)),
        ]
        .map(|(name, field)| (name.to_owned(), field))
    };
    // 9 March 2026 is day 20 521 since 1970.
    assert_eq!(rows, [day(20_521), day(20_522)]);
    let run = workshop.run(&["energy", "SITE", "--format", "parquet"]);
    assert_eq!(run.status, 2);
    assert!(run.err.contains("-o energy.parquet"), "{}", run.err);
    let all = folder.path().join("all.parquet");
    let run = workshop.run(&[
        "energy",
        "SITE",
        "--format",
        "parquet",
        "-o",
        &all.to_string_lossy(),
    ]);
    assert_eq!(run.status, 0, "{}", run.err);
    let reader = SerializedFileReader::new(File::open(&all).expect("a file")).expect("Parquet");
    let row = reader.get_row_iter(None).expect("rows").next();
    let row = row.expect("a meter").expect("a row").into_columns();
    let field = |name: &str| {
        row.iter()
            .find(|(key, _)| key == name)
            .map(|(_, field)| field)
    };
    // Midnight of 9 March 2026, in milliseconds of UTC.
    assert_eq!(
        field("from"),
        Some(&Field::TimestampMillis(1_773_014_400_000))
    );
    assert_eq!(field("energy_kwh"), Some(&Field::Double(192.0)));
    assert_eq!(field("neutral_rms_a"), Some(&Field::Null));
}
