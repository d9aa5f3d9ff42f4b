//! What a file holds and is not read: a warning in `check` and `energy` and an entry in the data problems, never silence.

use std::io::{Read as _, Write as _};

use serde_json::Value;

use super::{close, half_hours, import, site, site_of};
use crate::program::Workshop;

/// The warning is shown by both commands, and the problem is listed for the meter.
fn reported(workshop: &Workshop, name: &str, texts: &[&str]) -> Value {
    let check = workshop.run(&["check", "SITE"]);
    assert_eq!(check.status, 0, "{}", check.err);
    let energy = workshop.run(&["energy", "SITE"]);
    assert_eq!(energy.status, 0, "{}", energy.err);
    for text in texts.iter().chain([&name]) {
        assert!(check.out.contains(text), "`{text}` in {}", check.out);
        assert!(energy.err.contains(text), "`{text}` in {}", energy.err);
    }
    let result = super::energy(workshop);
    let problems = result["meters"][0]["quality"].as_array().expect("problems");
    if name != "unused-point" {
        assert!(
            problems
                .iter()
                .any(|problem| problem["kind"] == name && problem["action"] == "left-out"),
            "{problems:?}"
        );
    }
    result
}

/// Two half-hours of each meter reading, of the kinds that `types` describe.
fn espi(types: &[&str]) -> String {
    let entries = types.iter().enumerate().map(|(at, kind)| {
        format!(
            "<entry><link rel=\"self\" href=\"/UsagePoint/1/MeterReading/{at}\"/><link rel=\"related\" href=\"/ReadingType/{at}\"/><content><MeterReading/></content></entry>\
             <entry><link rel=\"self\" href=\"/ReadingType/{at}\"/><content><ReadingType>{kind}</ReadingType></content></entry>\
             <entry><link rel=\"self\" href=\"/UsagePoint/1/MeterReading/{at}/IntervalBlock/1\"/><link rel=\"up\" href=\"/UsagePoint/1/MeterReading/{at}/IntervalBlock\"/><content><IntervalBlock>\
             <IntervalReading><timePeriod><duration>1800</duration><start>1773014400</start></timePeriod><value>2000</value></IntervalReading>\
             <IntervalReading><timePeriod><duration>1800</duration><start>1773016200</start></timePeriod><value>3000</value></IntervalReading>\
             </IntervalBlock></content></entry>"
        )
    });
    let entries: String = entries.collect();
    format!(
        "<feed xmlns=\"http://www.w3.org/2005/Atom\" xmlns:e=\"http://naesb.org/espi\">\n{entries}</feed>\n"
    )
}

const WH: &str =
    "<uom>72</uom><flowDirection>1</flowDirection><accumulationBehaviour>4</accumulationBehaviour>";

fn of_espi(types: &[&str]) -> Workshop {
    let files = "files = \"meters/a*.xml\"";
    site_of(&[("a.xml", &espi(types))], files, "")
}

/// 2 kWh and 3 kWh; the unit of the second channel (119, a temperature) is none of energy.
#[test]
fn a_channel_of_an_unknown_kind() {
    let result = reported(
        &of_espi(&[WH, "<uom>119</uom>"]),
        "unread-channel",
        &["channel `1` in `meters/a.xml`", "2 values are excluded"],
    );
    assert!(close(import(&result)[0], 5.0));
}

/// A power of ten that cannot be read would change every figure.
#[test]
fn a_reading_type_that_cannot_be_read_is_refused() {
    for wrong in ["3.5", "kilo", "400"] {
        let kind = format!("{WH}<powerOfTenMultiplier>{wrong}</powerOfTenMultiplier>");
        let run = of_espi(&[&kind]).run(&["energy", "SITE"]);
        assert_eq!(run.status, 2, "{}", run.out);
        let text = format!("has the powerOfTenMultiplier `{wrong}`");
        assert!(run.err.contains(&text), "{}", run.err);
    }
}

/// Bulk quantity is a reading of a register: it went on by 1 kWh, whatever it began at.
#[test]
fn a_bulk_quantity_is_a_register() {
    let kind = WH.replace(">4<", ">1<");
    let result = super::energy(&of_espi(&[&kind]));
    assert!(close(import(&result)[0], 1.0), "{result}");
}

/// A workbook of two sheets, the second of which is lost.
#[test]
fn a_sheet_that_cannot_be_read() {
    let mut book = rust_xlsxwriter::Workbook::new();
    for name in ["January", "February"] {
        let sheet = book.add_worksheet();
        sheet.set_name(name).expect("a name");
        sheet.write(0, 0, "Start").expect("a header");
        sheet.write(0, 1, "interval kWh").expect("a header");
        for row in 0..4_u32 {
            let time = format!("2026-01-05 {row:02}:00");
            sheet.write(row + 1, 0, time).expect("a time");
            sheet.write(row + 1, 1, 2.0).expect("a number");
        }
    }
    let sound = book.save_to_buffer().expect("memory can be written");
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(sound)).expect("a workbook");
    let mut damaged = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for at in 0..archive.len() {
        let mut entry = archive.by_index(at).expect("a part");
        let name = entry.name().expect("a name").into_owned();
        if name.ends_with("sheet2.xml") {
            continue;
        }
        let mut text = Vec::new();
        entry.read_to_end(&mut text).expect("its text");
        damaged
            .start_file(name, zip::write::SimpleFileOptions::default())
            .expect("memory can be written");
        damaged.write_all(&text).expect("memory can be written");
    }
    let damaged = damaged
        .finish()
        .expect("memory can be written")
        .into_inner();
    let workshop = site_of(&[], "files = \"meters/a.xlsx\"", "").with("meters/a.xlsx", damaged);
    let texts = ["sheet `February` of `meters/a.xlsx` cannot be read"];
    let result = reported(&workshop, "unread-sheet", &texts);
    assert!(close(import(&result)[0], 8.0));
}

/// Export begins after the rows by which the columns are understood.
#[test]
fn a_column_that_is_empty_at_first() {
    let rows = half_hours(900, |at, row| {
        let export = if row < 700 {
            String::new()
        } else {
            "0.5".to_owned()
        };
        format!("{at},1.5 kWh,{export}")
    });
    let log = format!("start,interval import,interval export kWh\n{rows}");
    let result = reported(
        &site(&log, "", ""),
        "unread-column",
        &[
            "column `interval export kWh` of `meters/a.csv` has 200 numbers",
            "line 702",
        ],
    );
    assert!(close(import(&result)[0], 1350.0));
}

/// The file has another meter, which the site does not have.
#[test]
fn a_meter_of_a_file_that_the_site_does_not_use() {
    let of = |point: &str, value: &str| {
        let values = format!("{value},").repeat(48);
        format!("200,{point},E1,1,E1,N1,S,kWh,30,\n300,20260309,{values}A,,,\n")
    };
    let log = format!(
        "100,NEM12,202601010000,A,B\n{}{}900\n",
        of("NORTH", "1"),
        of("SOUTH", "2")
    );
    reported(
        &site(&log, "point = \"NORTH\"", ""),
        "unused-point",
        &["`SOUTH` with 96 kWh"],
    );
}

/// Without a header, the row of the day on which an hour is repeated has two values more: 50 kWh, and 48 on the others.
#[test]
fn the_longest_day_of_a_table_without_names() {
    let day = |date: &str, count: usize| format!("{date}{}\n", ",1".repeat(count));
    let log = [("20251025", 48), ("20251026", 50), ("20251027", 48)]
        .map(|(date, count)| day(date, count));
    let workshop = site(&log.concat(), "unit = \"kWh\"", "");
    assert!(close(import(&super::energy(&workshop))[0], 146.0));
    let odd = [
        day("20251025", 48),
        day("20251026", 49),
        day("20251027", 48),
    ]
    .concat();
    let run = site(&odd, "unit = \"kWh\"", "").run(&["energy", "SITE"]);
    assert_eq!(run.status, 2, "{}", run.out);
    assert!(
        run.err
            .contains("a row of `meters/a.csv` has 49 values, others have 48"),
        "{}",
        run.err
    );
}
