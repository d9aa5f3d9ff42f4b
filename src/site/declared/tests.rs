//! The declarations against the reader: every key is asked for, every example is read, every default is the one taken.

use std::collections::BTreeMap;

use super::{COLUMN, MACHINES, NEW_MACHINES, SITE_FILE};
use crate::model::quantity::Quantity;
use crate::read::table::asked;
use crate::{Site, read_new_machines, read_site};
use declaration::{Default, Entry, ValueKind, entries, row_example};
use message::Level;

/// A site to which the table under test is added, or in which it stands instead.
const TABLES: [(&str, &str); 6] = [
    ("site", "[site]\nname = \"test\"\n"),
    (
        "supply",
        "[supply]\nline_voltage_v = 400\nphase_limit_a = 100\n",
    ),
    ("board", "[[board]]\nid = \"DB1\"\nfed_from = \"supply\"\n"),
    (
        "schedule",
        "[[schedule]]\nname = \"day shift\"\ndays = \"Mon-Fri\"\nfrom = \"07:30\"\nto = \"16:00\"\n",
    ),
    (
        "meter",
        "[[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"meters/*.csv\"\n",
    ),
    (
        "variable",
        "[[variable]]\nname = \"heating degree days\"\nfile = \"variables.csv\"\ncolumn = \"outdoor_c\"\n",
    ),
];
/// Files of a tariff.
const FILES: [(&str, &str); 3] = [
    (
        "tariff.toml",
        "[[tariff]]\nfrom = \"2026-01-01\"\nstanding_per_day = 0.85\n",
    ),
    (
        "prices.csv",
        "time,start,price_per_kwh,price\n2026-03-09 00:00,2026-03-09 00:00,0.1,0.1\n",
    ),
    ("critical-days.csv", "date\n2026-01-12\n"),
];
const LIST: &str = "machine,circuit,connection,power_kw\nKiln,DB1,L2,3\n";

fn read(table: &str, text: &str, list: &str) -> Site {
    let folder = tempfile::tempdir().expect("a folder");
    let others = TABLES.iter().filter(|(name, _)| *name != table);
    let others: String = others.map(|(_, text)| *text).collect();
    let whole = format!("{others}{text}");
    std::fs::write(folder.path().join("site.toml"), &whole).expect("written");
    std::fs::write(folder.path().join("machines.csv"), list).expect("written");
    for (name, text) in FILES {
        std::fs::write(folder.path().join(name), text).expect("written");
    }
    let (site, messages) =
        read_site(folder.path()).unwrap_or_else(|errors| panic!("{errors}\n{whole}"));
    assert_eq!(messages.of(Level::Warning).count(), 0, "{whole}");
    site
}

/// The same without the folder, which differs from run to run.
fn shown(site: &Site) -> String {
    let mut site = site.clone();
    site.folder.clear();
    format!("{site:?}")
}

#[test]
fn every_example_is_read_and_every_key_is_asked_for() {
    let mut titles = BTreeMap::new();
    for entry in entries(&SITE_FILE) {
        read(entry.way[0].name, &entry.example(), LIST);
        if let ValueKind::Text | ValueKind::Form(_) = entry.key().kind {
            assert!(!entry.key().example.is_empty(), "{}", entry.path());
        }
        titles.insert(entry.table(), entry.path());
    }
    let (finished, never) = asked::noted();
    assert!(never.is_empty(), "declared, but never read: {never:?}");
    for (title, path) in titles {
        assert!(
            finished.contains(&title),
            "{path} is never read: {finished:?}"
        );
    }
}

#[test]
fn every_quantity_and_the_scale_of_a_column_are_read() {
    for quantity in Quantity::all() {
        let text = format!("{}columns = {{ {quantity} = \"P\" }}\n", TABLES[4].1);
        assert_eq!(
            read("meter", &text, LIST).meters[0].columns[0].quantity,
            quantity
        );
    }
    for key in COLUMN.keys {
        let scaled = format!("column = \"P1\", {} = {}", key.name, key.example).replacen(
            "column = \"P1\", column",
            "column",
            1,
        );
        let text = format!(
            "{}columns = {{ active_power_kw = {{ {scaled} }} }}\n",
            TABLES[4].1
        );
        assert_eq!(read("meter", &text, LIST).meters[0].columns[0].column, "P1");
    }
    let (_, never) = asked::noted();
    assert!(never.is_empty(), "{never:?}");
}

/// The example of an entry with another value.
fn with_value(entry: &Entry, value: &str) -> String {
    let key = entry.key();
    let (own, other) = (
        format!("{} = {}", key.name, key.example),
        format!("{} = {value}", key.name),
    );
    let example = entry.example();
    let at = example.rfind(&own).expect("the example ends with its key");
    format!("{}{other}{}", &example[..at], &example[at + own.len()..])
}

#[test]
fn a_default_that_is_written_out_changes_nothing() {
    let mut written = 0;
    for entry in entries(&SITE_FILE) {
        let Default::Value(default) = entry.key().default else {
            continue;
        };
        let own = with_value(&entry, default);
        let key = format!("{} = {default}", entry.key().name);
        let without = [
            format!(", {key}"),
            format!("{{ {key} }}"),
            format!("{key}\n"),
        ]
        .iter()
        .fold(own.clone(), |text, part| {
            let left = if part.starts_with('{') { "{}" } else { "" };
            text.replacen(part, left, 1)
        });
        assert_ne!(own, without, "{}", entry.path());
        let table = entry.way[0].name;
        // A line that is left out moves no other: the table under test comes last.
        assert_eq!(
            shown(&read(table, &own, LIST)),
            shown(&read(table, &without, LIST)),
            "{}",
            entry.path()
        );
        written += 1;
    }
    assert!(written > 30, "{written}");
}

#[test]
fn numbers_beyond_the_declared_range_are_refused() {
    for entry in entries(&SITE_FILE) {
        let ValueKind::Number(low, high) = entry.key().kind else {
            continue;
        };
        for beyond in [low - 1.0, high * 2.0 + 1.0] {
            let folder = tempfile::tempdir().expect("a folder");
            let text = with_value(&entry, &format!("{beyond:.1}"));
            let others = TABLES.iter().filter(|(name, _)| *name != entry.way[0].name);
            let others: String = others.map(|(_, text)| *text).collect();
            std::fs::write(folder.path().join("site.toml"), others + &text).expect("written");
            std::fs::write(folder.path().join("machines.csv"), LIST).expect("written");
            let errors = read_site(folder.path()).expect_err("out of range");
            let names: Vec<&str> = errors.0.all().iter().map(|message| message.name).collect();
            assert!(names.contains(&"out-of-range"), "{text}: {names:?}");
        }
    }
}

#[test]
fn the_example_of_every_column_of_the_machine_list_is_read() {
    for column in MACHINES.keys {
        let list = row_example(&MACHINES, column);
        assert_eq!(read("work", "", &list).machines.len(), 1, "{list}");
    }
    let site = read("work", "", LIST);
    for column in NEW_MACHINES.keys {
        let list = row_example(&NEW_MACHINES, column);
        let read = read_new_machines(&site, "new.csv", &list);
        assert_eq!(
            read.unwrap_or_else(|errors| panic!("{errors}\n{list}"))
                .len(),
            1
        );
    }
}
