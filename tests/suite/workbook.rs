//! The workbook of energy, read back with a general-purpose reader.

use std::io::Cursor;

use calamine::{Data, DataType, Reader, Xlsx, open_workbook_from_rs};

use crate::program::{MACHINES, Workshop};
use crate::sample::{SampleRun, sample_json, sample_run, sample_run_on};

const WORKBOOK: &str = "energy sample-data/ferry-lane --by day --format xlsx -o energy.xlsx";

/// The demo's workbook.
fn workbook() -> Xlsx<Cursor<&'static Vec<u8>>> {
    let SampleRun { run, files } = sample_run(WORKBOOK);
    assert_eq!((run.status, run.out.as_str()), (0, ""), "{}", run.err);
    open_workbook_from_rs(Cursor::new(&files["result"])).expect("a workbook that a reader opens")
}

fn heads(rows: &calamine::Range<Data>) -> Vec<String> {
    rows.rows()
        .next()
        .expect("a head")
        .iter()
        .map(ToString::to_string)
        .collect()
}

#[test]
fn cells_have_types_and_heads_have_units() {
    let json = sample_json("energy sample-data/ferry-lane");
    let mut book = workbook();
    let meters = book.worksheet_range("meters").expect("a sheet of meters");
    let named = heads(&meters);
    let cell = |head: &str| named.iter().position(|name| name == head).expect(head);
    let main = meters.rows().nth(1).expect("a meter");
    let energy = json["meters"][0]["energy_kwh"].as_f64().expect("a number");
    assert_eq!(main[cell("Energy [kWh]")].as_f64(), Some(energy));
    let at = main[cell("Start of its demand period")]
        .get_datetime()
        .expect("a time");
    let (year, month, day, hour, minute, ..) = at.to_ymd_hms_milli();
    let at = format!("{year}-{month:02}-{day:02}T{hour:02}:{minute:02}");
    let told = json["meters"][0]["max_demand_at"].as_str().expect("a time");
    assert_eq!(at, told[..16]);
    let blocks = book
        .worksheet_range("highest-demand-periods")
        .expect("a sheet of blocks");
    assert_eq!(heads(&blocks)[4], "Demand [kW]");
    assert_eq!(
        blocks.rows().nth(1).and_then(|row| row[4].as_f64()),
        json["demand"][0]["highest_demand_periods"][0]["kw"].as_f64()
    );
    let days = book.worksheet_range("breakdown").expect("a sheet of days");
    let complete = days
        .rows()
        .skip(1)
        .filter(|row| row[5] == Data::Bool(false))
        .count();
    assert!(complete > 0, "the demo has days without all readings");
    assert!(
        meters
            .rows()
            .skip(1)
            .any(|row| row[cell("Maximum demand [kVA]")].is_empty()),
        "what is unknown is empty"
    );
}

/// The bill stands in it line by line, as numbers and dates, with the currency in the heads.
#[test]
fn the_bill_has_typed_cells() {
    let json = sample_json("energy sample-data/ferry-lane --bill");
    let mut book = workbook();
    let bill = book.worksheet_range("bill").expect("a sheet of the bill");
    let named = heads(&bill);
    assert_eq!(named[7], "Amount [GBP]");
    let months = json["months"].as_array().expect("months");
    let lines: Vec<&serde_json::Value> = months
        .iter()
        .flat_map(|month| month["lines"].as_array().expect("lines"))
        .collect();
    assert_eq!(bill.rows().skip(1).count(), lines.len());
    for (row, line) in bill.rows().skip(1).zip(lines) {
        assert_eq!(row[1].to_string(), line["line"].as_str().expect("a name"));
        for (cell, key) in [(4, "quantity"), (6, "rate"), (7, "amount")] {
            assert_eq!(row[cell].as_f64(), line[key].as_f64(), "{key}");
        }
        let from = row[2].get_datetime().expect("a date").to_ymd_hms_milli();
        let from = format!("{}-{:02}-{:02}", from.0, from.1, from.2);
        assert_eq!(from, line["from"].as_str().expect("a date"));
    }
    // No line of the demo's bill says more than its figures.
    assert_eq!(named[8], "Remark");
    assert!(bill.rows().skip(1).all(|row| row[8].is_empty()));
    let months = book.worksheet_range("bill-months").expect("a sheet");
    let total: f64 = months
        .rows()
        .skip(1)
        .map(|row| row[6].as_f64().expect("an amount"))
        .sum();
    assert!((total - json["total"].as_f64().expect("a total")).abs() < 0.005);
}

/// No name of a machine, board or meter becomes a formula.
#[test]
fn nothing_in_it_runs() {
    let list = MACHINES.replace("\nsaw,", "\n=1+1,");
    assert_ne!(list, MACHINES);
    let workshop = Workshop::new()
        .with("machines.csv", list.as_bytes())
        .replace("site.toml", "id = \"main\"", "id = \"@SUM(A1)\"");
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("energy.xlsx");
    let found = workshop.run(&[
        "energy",
        "SITE",
        "--format",
        "xlsx",
        "-o",
        &path.to_string_lossy(),
    ]);
    assert_eq!(found.status, 0, "{}", found.err);
    let bytes = std::fs::read(&path).expect("a workbook");
    let mut book: Xlsx<_> = open_workbook_from_rs(Cursor::new(bytes)).expect("a workbook");
    for name in book.sheet_names() {
        let formulas = book.worksheet_formula(&name).expect("a sheet");
        assert!(formulas.rows().flatten().all(String::is_empty), "{name}");
    }
    let blocks = book
        .worksheet_range("highest-demand-periods")
        .expect("a sheet of blocks");
    let row = blocks.rows().nth(1).expect("a block");
    assert_eq!(row[1], Data::String("@SUM(A1)".to_owned()));
    assert!(row[8].to_string().starts_with("=1+1, "), "{}", row[8]);
}

/// Every row says its site, every sheet of rows can be filtered, and the first sheets have contents and charts.
#[test]
fn tables_name_their_site_and_have_filters_and_charts() {
    let mut book = workbook();
    assert_eq!(book.sheet_names()[..2], ["contents", "charts"]);
    for name in &book.sheet_names()[2..] {
        let rows = book.worksheet_range(name).expect("a sheet");
        assert_eq!(heads(&rows)[0], "Site", "{name}");
        let site = Data::String("Ferry Lane Joinery".to_owned());
        assert!(rows.rows().skip(1).all(|row| row[0] == site), "{name}");
    }
    for sheet in ["days", "months", "load-profile", "quality"] {
        assert!(
            book.sheet_names().iter().any(|name| name == sheet),
            "{sheet}"
        );
    }
    let bytes = &sample_run(WORKBOOK).files["result"];
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).expect("an archive");
    let mut part = |name: &str| {
        let mut text = String::new();
        let mut file = archive.by_name(name).expect("a part of the workbook");
        std::io::Read::read_to_string(&mut file, &mut text).expect("a text");
        text
    };
    for (number, words) in [
        (1, ["Load profile", "'load-profile'!$C$2:$C$97"]),
        (2, ["Monthly energy", "months!$D$2"]),
        (3, ["Load duration curve", "'load-duration'!"]),
    ] {
        let chart = part(&format!("xl/charts/chart{number}.xml"));
        for word in words {
            assert!(chart.contains(word), "{word} in {chart}");
        }
    }
    assert!(part("xl/worksheets/sheet3.xml").contains("<autoFilter"));
    assert!(part("xl/sharedStrings.xml").contains("Times are local (Europe/London)"));
}

#[test]
fn a_workbook_wants_a_file() {
    let found = Workshop::new().run(&["energy", "SITE", "--format", "xlsx"]);
    assert_eq!(found.status, 2);
    assert!(found.err.contains("-o energy.xlsx"), "{}", found.err);
}

#[test]
fn the_same_site_gives_the_same_workbook() {
    let again = sample_run_on("1", WORKBOOK);
    assert!(again.files["result"] == sample_run(WORKBOOK).files["result"]);
}
