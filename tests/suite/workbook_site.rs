//! A site in one workbook, and sheets of readings that are filled in by hand.

use std::fmt::Write as _;
use std::fs;
use std::io::Read;

use rust_xlsxwriter::Workbook;

use crate::program::Workshop;

type Sheets<'s> = &'s [(&'s str, &'s str)];

/// A workbook of the given sheets: lines of cells separated by bars, numbers as numbers.
fn workbook(sheets: Sheets<'_>) -> Vec<u8> {
    let mut book = Workbook::new();
    for (name, text) in sheets {
        let sheet = book.add_worksheet().set_name(*name).expect("a name");
        for (row, line) in (0..).zip(text.lines()) {
            for (column, cell) in (0..).zip(line.split('|')) {
                match cell.parse::<f64>() {
                    Ok(number) => sheet.write(row, column, number).expect("a cell"),
                    Err(_) => sheet.write(row, column, cell).expect("a cell"),
                };
            }
        }
    }
    book.save_to_buffer().expect("a workbook")
}

const SUPPLY: &str = "What|Value|Note\nSite name|Mill|\nTime zone|Europe/Berlin|\nLine-to-line voltage (V)|400|\nLimit per phase (A)|63|\nConductor colours|brown-black-grey|\n";
const BOARDS: &str = "Board|Fed from|Limit per phase (A)|Feeder length (m)|Feeder phase (mm2)\nExample: Board 9|supply|1|1|1\nDB1|supply|50|12|16\n";
const CIRCUITS: &str = "Circuit|Board|Phases|Movable|Protective device|Use|Cable length (m)|Cable phase (mm2)|Cable capacity (A)\nC1|DB1|3ph||MCB C32|power|20|6|41\nC2|DB1|brown|no|B 16|lighting||\n";
const MACHINES: &str = "Machine|Circuit|Phase|Current (A)|Utilisation factor|Schedule|Quantity\nExample: heater|C1|L1|4|1||1\nSaw|C1|3ph|6|0.5|day shift|1\nDrill|C1|black|5|||1\nHeater|C1|brown|8.7|||1\nLamps|C2|L1|0.5|||4\n";
const SCHEDULES: &str = "Schedule|Days|From|To\nday shift|Mon-Fri|07:30|16:00\n";
const READINGS: &str = "Place|Round|Date|Time|L1 (A)|L2 (A)|L3 (A)|N (A)|x_note\nsupply|1|2026-03-09|10:30|16|11|6|9|all on\nDB1|1||10:32|||||\nC1|1||10:33|14|11|6|9|\nDrill|||10:35||5|||\n";

const ALL: Sheets<'static> = &[
    ("Supply", SUPPLY),
    ("Boards", BOARDS),
    ("Circuits", CIRCUITS),
    ("Machines", MACHINES),
    ("Readings", READINGS),
    ("Schedules", SCHEDULES),
];

/// The same as a folder.
const TOML: &str = r#"[site]
name = "Mill"
timezone = "Europe/Berlin"
[supply]
line_voltage_v = 400
phase_limit_a = 63
conductor_colours = "brown-black-grey"
[[board]]
id = "DB1"
fed_from = "supply"
phase_limit_a = 50
feeder = { length_m = 12, phase_mm2 = 16 }
[[circuit]]
id = "C1"
board = "DB1"
protective_device = "C 32"
use = "power"
cable = { length_m = 20, phase_mm2 = 6, current_capacity_a = 41 }
[[circuit]]
id = "C2"
board = "DB1"
phases = "L1"
movable = false
protective_device = "B 16"
use = "lighting"
[[schedule]]
name = "day shift"
days = "Mon-Fri"
from = "07:30"
to = "16:00"
"#;
const LIST: &str = "machine,circuit,connection,current_a,utilisation_factor,schedule,quantity\nSaw,C1,3ph,6,0.5,day shift,1\nDrill,C1,L2,5,,,1\nHeater,C1,L1,8.7,,,1\nLamps,C2,L1,0.5,,,4\n";
const ROUND: &str = "time,at,l1_a,l2_a,l3_a,n_a\n2026-03-09 10:30,supply,16,11,6,9\n2026-03-09 10:33,C1,14,11,6,9\n2026-03-09 10:35,Drill,,5,,\n";

fn json(workshop: &Workshop, arguments: &[&str]) -> serde_json::Value {
    let run = workshop.run(arguments);
    assert!(run.status < 2, "{}", run.err);
    serde_json::from_str(&run.out).expect("JSON")
}

#[test]
fn a_workbook_is_a_site_like_its_folder() {
    let folder = Workshop::empty()
        .with("site.toml", TOML)
        .with("machines.csv", LIST)
        .with("readings.csv", ROUND);
    let book = Workshop::empty().with("mill.xlsx", workbook(ALL));
    for command in ["balance", "diagnose"] {
        let of = |shop: &Workshop, site: &str| json(shop, &[command, site, "--format", "json"]);
        assert_eq!(
            of(&book, "SITE/mill.xlsx"),
            of(&folder, "SITE"),
            "{command}"
        );
    }
    let place = ["--name", "Kiln", "--power-kw", "2", "--format", "json"];
    let of = |shop: &Workshop, site: &str| json(shop, &[&["place", site][..], &place].concat());
    assert_eq!(of(&book, "SITE/mill.xlsx"), of(&folder, "SITE"));
    let check = book.run(&["check", "SITE/mill.xlsx"]);
    assert_eq!(check.status, 0, "{}", check.err);
    for part in [
        "mill.xlsx, sheet `Machines` as understood",
        "black",
        "row 2, an example",
    ] {
        assert!(check.out.contains(part), "{part}\n{}", check.out);
    }
    let report = book.run(&["report", "SITE/mill.xlsx", "-o", "BESIDE/report"]);
    assert_eq!(report.status, 0, "{}", report.err);
}

#[test]
fn a_file_of_the_same_name_adds_meters() {
    let more = "[[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"log.csv\"\n[meter.columns]\ncurrent_l1_a = \"a\"\n\
                current_l2_a = \"b\"\ncurrent_l3_a = \"c\"\n";
    let log =
        "time,a,b,c\n2026-03-09 10:00,27,0,5\n2026-03-09 10:15,27,0,5\n2026-03-09 10:30,27,0,5\n";
    let shop = Workshop::empty()
        .with("mill.xlsx", workbook(ALL))
        .with("mill.toml", more)
        .with("log.csv", log);
    let result = json(&shop, &["check", "SITE/mill.xlsx", "--format", "json"]);
    assert_eq!(result["meters"][0]["id"], "main");
    let wrong = shop.with("mill.toml", more.replace("supply", "suply"));
    let run = wrong.run(&["check", "SITE/mill.xlsx"]);
    assert_eq!(run.status, 2);
    assert!(run.err.contains("mill.toml, line 3"), "{}", run.err);
}

#[test]
fn faults_point_at_sheet_and_cell() {
    let with = |name: &str, from: &str, to: &str| {
        let changed: Vec<(String, String)> = ALL
            .iter()
            .map(|(sheet, text)| {
                let text = if *sheet == name {
                    text.replace(from, to)
                } else {
                    (*text).to_owned()
                };
                ((*sheet).to_owned(), text)
            })
            .collect();
        let sheets: Vec<(&str, &str)> = changed
            .iter()
            .map(|(a, b)| (a.as_str(), b.as_str()))
            .collect();
        let run = Workshop::empty()
            .with("mill.xlsx", workbook(&sheets))
            .run(&["check", "SITE/mill.xlsx"]);
        assert_eq!(run.status, 2, "{}", run.out);
        run.err
    };
    for (error, parts) in [
        (
            with("Boards", "|50|", "|lots|"),
            ["sheet `Boards`, cell C3", "phase_limit_a"],
        ),
        (
            with("Supply", "Limit per phase (A)|63|\n", ""),
            ["sheet `Supply`, cell A1", "phase_limit_a"],
        ),
        (
            with("Circuits", "MCB C32", "MCB C33"),
            ["sheet `Circuits`, cell E2", "`C 32` or `C 40`"],
        ),
        (
            with("Circuits", "|DB1|3ph", "|DB2|3ph"),
            ["sheet `Circuits`, cell B2", "did you mean `DB1`"],
        ),
        (
            with("Machines", "Drill|C1", "Drill|C9"),
            ["sheet `Machines`, cell B4", "there is no circuit"],
        ),
        (
            with("Machines", "Drill|C1|black", "Drill|C1|blue"),
            ["sheet `Machines`, cell C4", "neutral"],
        ),
        (
            with("Boards", "Fed from", "Fed by"),
            ["sheet `Boards`, cell B1", "Fed from"],
        ),
        (
            with("Readings", "supply|1", "suply|1"),
            ["sheet `Readings`, cell A2", "did you mean `supply`"],
        ),
    ] {
        for part in parts {
            assert!(
                error.to_lowercase().contains(&part.to_lowercase()),
                "{part}\n{error}"
            );
        }
    }
    let none = Workshop::empty().with("mill.xlsx", workbook(&ALL[..1]));
    let run = none.run(&["check", "SITE/mill.xlsx"]);
    assert!(
        run.err.contains("`mill.xlsx` has no sheet `Machines`"),
        "{}",
        run.err
    );
}

const TARIFF: &str = "Charge|Name|Rate|Per|Quantity|Days|From|To|Months|Applies from\nExample: energy|day|1|kWh||||||2020-01-01\n\
    standing||0.85|day||||||2026-01-01\nenergy|day|0.21|kWh||Mon-Fri|07:00|19:00||\nenergy|other|0.15|kWh||||||\n\
    demand|peak|6.5|kVA month||Mon-Fri|08:00|20:00|11-3|\ncapacity||0.05|kVA day|100|||||\nexcess capacity||0.09|kVA day||||||\n\
    reactive||0.006|kvarh|0.33|||||\nlevy|climate|0.00775|kWh||||||\nlevy|discount|-2|%||||||\ntax|VAT|20|%||||||\n\
    export||0.05|kWh||||||\nenergy|all|0.19|kWh||||||2026-03-10\n";
const SAME_TARIFF: &str = "[[tariff]]\nfrom = \"2026-01-01\"\nstanding_per_day = 0.85\n\
    energy = [ { band = \"day\", days = \"Mon-Fri\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.21 }, { band = \"other\", \
    otherwise = true, rate_per_kwh = 0.15 } ]\n\
    demand = { charge = \"peak\", per = \"kVA\", rate_per_month = 6.5, days = \"Mon-Fri\", from = \"08:00\", to = \"20:00\", months = \"11-3\" }\n\
    capacity = { kva = 100, rate_per_kva_day = 0.05, excess_rate_per_kva_day = 0.09 }\n\
    reactive = { free_share_of_kwh = 0.33, rate_per_kvarh = 0.006 }\n\
    levies = [ { levy = \"climate\", per = \"kWh\", rate = 0.00775 }, { levy = \"discount\", per = \"%\", rate = -2 } ]\n\
    taxes = [ { tax = \"VAT\", pct = 20 } ]\nexport = { bands = [ { band = \"all\", rate_per_kwh = 0.05 } ] }\n\
    [[tariff]]\nfrom = \"2026-03-10\"\nenergy = [ { band = \"all\", rate_per_kwh = 0.19 } ]\n";

/// A row for each price is the tariff of site.toml; a mistake is shown at its cell.
#[test]
fn a_sheet_of_prices_is_a_tariff() {
    let meter = "[[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"log.csv\"\nstamp = \"start\"\n[meter.columns]\n\
        active_power_kw = \"P\"\nreactive_power_kvar = \"Q\"\n";
    let mut log = "time,P,Q\n".to_owned();
    for at in 0..96 {
        let day = 9 + at / 48;
        writeln!(
            log,
            "2026-03-{day:02} {:02}:{:02},{},6",
            at % 48 / 2,
            at % 2 * 30,
            8 + at % 7
        )
        .expect("text");
    }
    let book = |tariff: &str| {
        let sheets: Vec<(&str, &str)> = ALL.iter().copied().chain([("Tariff", tariff)]).collect();
        Workshop::empty()
            .with("mill.xlsx", workbook(&sheets))
            .with("mill.toml", meter)
            .with("log.csv", &log)
    };
    let folder = Workshop::empty()
        .with("site.toml", format!("{TOML}{meter}{SAME_TARIFF}"))
        .with("machines.csv", LIST)
        .with("log.csv", &log);
    let bill = ["--bill", "--format", "json"];
    let own = json(
        &book(TARIFF),
        &[&["energy", "SITE/mill.xlsx"][..], &bill].concat(),
    );
    let same = json(&folder, &[&["energy", "SITE"][..], &bill].concat());
    assert_eq!(own, same);
    assert!(own["total"].as_f64().is_some_and(|total| total > 0.0));
    for (from, to, parts) in [
        (
            "demand|peak",
            "demnd|peak",
            ["cell A6", "did you mean `demand`"],
        ),
        ("6.5|kVA month", "6.5|kWh", ["cell D6", "kva month"]),
        ("|0.21|", "|cheap|", ["cell C4", "rate_per_kwh"]),
        ("|07:00|", "|7 o'clock|", ["cell G4", "quarter-hour"]),
    ] {
        let run = book(&TARIFF.replace(from, to)).run(&["check", "SITE/mill.xlsx"]);
        assert_eq!(run.status, 2, "{}", run.out);
        for part in parts {
            let text = run.err.to_lowercase();
            assert!(
                text.contains(&part.to_lowercase()) && text.contains("sheet `tariff`"),
                "{part}\n{}",
                run.err
            );
        }
    }
}

/// The XML of the parts of a workbook.
fn parts(bytes: &[u8]) -> String {
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).expect("an archive");
    let mut text = String::new();
    for index in 0..archive.len() {
        let mut part = archive.by_index(index).expect("a part");
        let mut content = Vec::new();
        part.read_to_end(&mut content).expect("memory");
        text.push_str(&String::from_utf8_lossy(&content));
    }
    text
}

#[test]
fn the_starter_workbook_has_choices_notes_and_examples_and_is_read_as_it_stands() {
    let shop = Workshop::empty();
    let run = shop.run(&["new", "BESIDE/mill", "--workbook"]);
    assert_eq!(run.status, 0, "{}", run.err);
    let path = shop.beside("mill.xlsx");
    let bytes = fs::read(&path).expect("the workbook");
    let text = parts(&bytes);
    for part in [
        "<dataValidation ",
        "brown-black-grey",
        "L1,L2,L3",
        "Example: Heater",
        "Current (A)",
        "rms; negative",
    ] {
        assert!(text.contains(part), "{part}");
    }
    let check = shop.run(&["check", "BESIDE/mill.xlsx"]);
    assert_eq!((check.status, check.err.as_str()), (0, ""), "{}", check.out);
    assert!(
        check
            .out
            .starts_with("mill: 0 boards, 0 circuits, 0 machines"),
        "{}",
        check.out
    );
    let again = shop.run(&["new", "BESIDE/mill.xlsx", "--workbook"]);
    assert_eq!(again.status, 2);
    assert!(again.err.contains("is there already"), "{}", again.err);
    assert_eq!(fs::read(&path).expect("the workbook"), bytes);
}

#[test]
fn a_blank_sheet_of_readings_has_every_place_and_is_read_back() {
    let shop = Workshop::empty()
        .with("site.toml", TOML)
        .with("machines.csv", LIST);
    let blank = shop.run(&["readings", "SITE"]);
    assert_eq!(blank.status, 0, "{}", blank.err);
    let places: Vec<&str> = blank
        .out
        .lines()
        .skip(1)
        .map(|line| line.split(',').next().unwrap_or_default())
        .collect();
    assert_eq!(places, ["supply", "DB1", "C1", "C2"]);
    let all = shop.run(&["readings", "SITE", "--machines"]).out;
    assert_eq!(all.lines().count(), 9, "{all}");
    for file in ["BESIDE/sheet.xlsx", "BESIDE/sheet.html"] {
        let run = shop.run(&["readings", "SITE", "-o", file]);
        assert_eq!(run.status, 0, "{}", run.err);
        assert_eq!(shop.run(&["readings", "SITE", "-o", file]).status, 2);
    }
    let page = fs::read_to_string(shop.beside("sheet.html")).expect("the page");
    assert!(
        page.contains("C 32") && page.contains("limit 50") && page.contains("black"),
        "{page}"
    );
    let book = fs::read(shop.beside("sheet.xlsx")).expect("the workbook");
    let filled = blank
        .out
        .replace("C1,,,,", "C1,1,2026-03-09,10:30,14")
        .replace("14,,,", "14,11,6,9");
    for (name, content) in [
        ("readings.csv", blank.out.clone().into_bytes()),
        ("Readings.xlsx", book),
    ] {
        let run = shop.run(&["check", "SITE"]);
        assert_eq!(run.status, 0, "{}", run.err);
        fs::write(shop.site().join(name), content).expect("written");
        let run = shop.run(&["check", "SITE"]);
        assert_eq!(run.status, 0, "{}", run.err);
        assert!(run.out.contains("has no reading"), "{}", run.out);
        fs::remove_file(shop.site().join(name)).expect("removed");
    }
    let shop = shop.with("READINGS.csv", filled);
    let result = json(&shop, &["check", "SITE", "--format", "json"]);
    assert_eq!(result["rounds"], 1);
    let two = shop.with("readings.ods", "x");
    let run = two.run(&["check", "SITE"]);
    assert_eq!(run.status, 2);
    assert!(
        run.err.contains("READINGS.csv, readings.ods"),
        "{}",
        run.err
    );
}
